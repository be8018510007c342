"""A power cut at one pond: hours of oxygen and hours of warmth, from the worst evening or any hour."""

from __future__ import annotations

import html
import math
from dataclasses import replace

import pandas as pd

from pondheat.analysis import assessment
from pondheat.analysis import power_cut as cuts
from pondheat.analysis.power_cut import PowerCut
from pondheat.core import units
from pondheat.core.display_units import localise, quantity, temperature, temperature_difference
from pondheat.core.number_format import counted
from pondheat.core.ranges import OutOfRange, require
from pondheat.core.sources import PRACTICE
from pondheat.fish.temperature import CUSTOMARY_RATE
from pondheat.season.weather.record import WeatherError
from pondheat.season.weather.weather import Weather
from pondheat.sheet.pond_sheet import Sheet
from pondheat.show import figures
from pondheat.show.arithmetic import Chain
from pondheat.show.controls import Choice, Control, Slider, Text, fold, status
from pondheat.show.panels import Panel, known
from pondheat.show.panels.power_cut_steps import FALL, add_oxygen, add_warmth
from pondheat.show.ponds import invented
from pondheat.text.power_cut_text import UNHEATED, assumptions, ice_text

WORST, TYPED = "worst", "typed"
BOTH, OPEN, COVERED = "both", "open", "covered"
NAMES = {False: "open", True: "cover on"}
STATES = {False: "open", True: "with its cover on"}
SHORTER = (cuts.DAYS, 5, 3, 1)  # days to try: a short weather record may hold no more after the hour of the cut
SPANS = (24.0, 48.0, 72.0, 120.0, 240.0)  # hours, possible ends of the axis
MIXED = (
    "We assume the water is well mixed. Without a pump a real pond forms layers, and the surface cools sooner "
    "than its depth."
)


class PowerFails(Panel):
    """A pond without power; questions about the cover are asked only if the sheet has one.

    sheet: by default the invented garden pond; record: weather, by default that of the sheet.
    """

    def __init__(self, sheet: Sheet | None = None, record: Weather | None = None):
        self.sheet, self.record = sheet or invented(), record
        cover = self.sheet.pond.cover
        self.found: dict[bool, PowerCut] = {}
        self._worst: dict[bool, pd.Timestamp] = {}
        self._runs: dict[tuple[str, bool, float | None, float | None], PowerCut] = {}
        controls: dict[str, Control] = {
            "when": Choice(
                "The power fails",
                {WORST: "on the worst evening of the season", TYPED: "at a date and hour I type"},
                WORST,
            ),
            "start": Text("Date and hour (2026-01-15 18:00)", "Use it"),
            "fish": Text("Mass of all the fish together, with its unit (12 kg, or 26 lb)", "Use it"),
        }
        if cover is not None:
            controls["lid"] = Choice("The cover", {BOTH: "off and on, side by side", OPEN: "off", COVERED: "on"}, BOTH)
            if cover.kind in cuts.LIDS:
                controls["lid_air_height"] = Slider(
                    "Air under the lid, mean height; 0 leaves it out", 0, 0, 1, 0.05, "m"
                )
        super().__init__("power-cut", controls, caution="power_cut")
        controls["start"].observe(lambda _: setattr(controls["when"], "value", TYPED), "turn")

    def redraw(self, when, start, fish, lid=OPEN, lid_air_height=0.0):
        """The water temperature over time, and hours of oxygen with hours of warmth."""
        self.fish_kg = self._mass(fish)
        sides = {BOTH: (False, True), OPEN: (False,), COVERED: (True,)}[lid]
        begin = self._worst_evening(sides[0]) if when == WORST else start.strip()
        if not begin:
            raise OutOfRange("Type a date and an hour, such as 2026-01-15 18:00, and press Use it.")
        self.found = {covered: self._run(begin, covered, lid_air_height) for covered in sides}
        self.when = when
        return replace(self._course(), draw_below=self._hours), self._text()

    # --- calculation

    def _weather(self) -> Weather:
        if self.record is None:
            self.record = assessment.weather_of(self.sheet)
        return self.record

    def _worst_evening(self, covered: bool) -> pd.Timestamp:
        if covered not in self._worst:
            record = self._weather()
            try:
                self._worst[covered] = cuts.worst_start(self.sheet, record, covered=covered)
            except (OutOfRange, WeatherError) as error:
                raise OutOfRange(f"No worst evening can be found. {error} Or type a date and an hour.") from None
        return self._worst[covered]

    def _run(self, begin: pd.Timestamp | str, covered: bool, lid_air_height: float) -> PowerCut:
        """One power cut, over as many days as the weather record allows."""
        height = lid_air_height if covered else None
        key = str(begin), covered, self.fish_kg, height
        for days in SHORTER:
            if key in self._runs:
                break
            try:
                self._runs[key] = cuts.power_cut(
                    self.sheet,
                    self._weather(),
                    start=begin,
                    covered=covered,
                    fish_kg=self.fish_kg,
                    days=days,
                    lid_air_height=height,
                )
            except WeatherError:
                if days == SHORTER[-1]:
                    raise
        return self._runs[key]

    @staticmethod
    def _mass(typed: str) -> float | None:
        """The mass of the fish [kg]; None where nothing is typed."""
        if not typed.strip():
            return None
        kg = units.parse(typed, "kg")
        try:
            require(fish_kg=kg)
        except OutOfRange as error:
            raise OutOfRange(str(error).replace("fish_kg", "the mass of the fish")) from None
        return kg

    @property
    def first(self) -> PowerCut:
        """The power cut of the open pond, or of the covered one if only that is shown."""
        return next(iter(self.found.values()))

    # --- charts

    def _course(self) -> figures.Figure:
        reached = [hours for cut in self.found.values() for hours in cut.hours_to.values() if math.isfinite(hours)]
        held = len(self.first.water_temps)
        span = min(_end(max([*reached, SPANS[2]])), held)
        series = {
            NAMES[covered]: (list(range(int(span) + 1)), [cut.start_temp, *cut.water_temps.iloc[: int(span)]])
            for covered, cut in self.found.items()
        }
        begin = self.first.start_temp
        marks = {begin - fall: f"[{fall:g} K] colder" for fall in cuts.FALLS if begin - fall > 0}
        warmest = max(max(values) for _, values in series.values())
        before = -0.2 * span  # room for the labels of the marks, clear of the lines
        title = "Water temperature without power, °C, by hours from the cut"
        return figures.lines(
            series,
            f"{self.name}-course",
            title,
            (before, span),
            _ticks(span),
            (0.0, max(5.0, math.ceil(warmest + 0.5))),
            marks,
            celsius=True,
            where=lambda hours: f"after {counted(int(hours), 'hour', 'hours')}",
        )

    def _hours(self) -> figures.Figure:
        rows: dict[str, float | None] = {}
        if self.fish_kg is None:
            rows["Oxygen"] = None
        else:
            lasts, best = self._oxygen_hours()
            rows["Oxygen in the water"] = lasts
            if best > lasts:
                rows["Oxygen with the air under the lid, at best"] = best
        for covered, cut in self.found.items():
            rows[f"Warmth, {NAMES[covered]}: until {temperature_difference(FALL)} colder"] = cut.hours_to[FALL]
        finite = [hours for hours in rows.values() if hours is not None and math.isfinite(hours)]
        most = _end(max([*finite, SPANS[0]]))
        written = {
            name: "not known: give the fish"
            if hours is None
            else f"more than {_days(self.first)}"
            if math.isinf(hours)
            else f"{units.significant(hours, 2)} h"
            for name, hours in rows.items()
        }
        drawn = {name: (math.nan, 0.0, 0.0) if hours is None else (hours, 0.0, hours) for name, hours in rows.items()}
        air = tuple(name for name in rows if name.startswith("Oxygen"))
        return figures.ranges(
            drawn, f"{self.name}-hours", "Hours of oxygen, and hours of warmth", (0.0, most), _ticks(most), written, air
        )

    # --- text

    def _text(self) -> str:
        cut = self.first
        worst = "The worst evening of the season: the" if self.when == WORST else "The"
        text = (
            f"{worst} power fails on {cut.start.day} {cut.start:%B %Y} at {cut.start:%H:%M}, the water at "
            f"{temperature(cut.start_temp, 1)}. " + " ".join(_falls(one) for one in self.found.values())
        )
        frozen = [
            f"{NAMES[covered].capitalize()}: {ice}" for covered, one in self.found.items() if (ice := ice_text(one))
        ]
        text = " ".join([*frozen, text])
        rates = [
            f"{quantity(units.significant(max(one.fastest_rate, 0.0), 2), 'delta_degC')} {STATES[covered]}"
            for covered, one in self.found.items()
        ]
        text += (
            f" The greatest fall within 24 hours is {' and '.join(rates)}; the usual limit is "
            f"{temperature_difference(CUSTOMARY_RATE.value)} a day ({PRACTICE})."
        )
        if (days := _days(cut)) != f"{cuts.DAYS} days":
            text += f" The weather record holds only {days} after that hour."
        if not cuts.heated(self.sheet):
            text += f" {UNHEATED}"
        return f"{text} {self._oxygen_text()}"

    def _oxygen_text(self) -> str:
        if self.fish_kg is None:
            return "For hours of oxygen type the mass of all the fish: we don't guess it."
        lasts, best = self._oxygen_hours()
        text = (
            f"If nothing but the fish breathes, water full of oxygen lasts {float(f'{self.fish_kg:.3g}'):g} kg of fish "
            f"for about {units.significant(lasts, 2)} h."
        )
        if best > lasts:
            text += (
                f" With the air under the lid it would be {units.significant(best, 2)} h at best, if the still "
                "water took that up in time; we do not know that it does."
            )
        sooner = [STATES[covered] for covered, cut in self.found.items() if cut.hours_to[FALL] < lasts]
        if not sooner:
            return f"{text} The oxygen runs out before the water is {temperature_difference(FALL)} colder."
        return (
            f"{text} {' and '.join(sooner).capitalize()}, the water is {temperature_difference(FALL)} colder before "
            "its oxygen is gone; but fish can wait for warmth, not for air."
        )

    def _oxygen_hours(self) -> tuple[float, float]:
        """Hours of oxygen in the water alone, and at best with the air under a lid; the mass of fish must be known."""
        return known(self.first.water_oxygen_hours), max(known(cut.oxygen_hours) for cut in self.found.values())

    def sentence(self) -> str:
        """The sentence at the present values, or that there is no result yet."""
        return super().sentence() or "No power cut could be worked out yet; the panel says what is missing."

    def _move(self, values: dict) -> None:
        try:
            super()._move(values)
        except ValueError:  # shown above the sentence, which then belongs to earlier values
            if self._sentence:
                self.words.value = status(f"Still for what could be read last: {self._sentence}")
            raise
        record = self._weather()
        notes = [MIXED, f"Weather: {record.place}, {record.kind}."]
        for cut in self.found.values():
            # warmth, rate and the note on unheated ponds are in the sentence, the caution is below
            notes += [line for line in assumptions(cut) if line != UNHEATED]
        items = "".join(f"<li>{html.escape(localise(line))}</li>" for line in dict.fromkeys(notes))
        self.words.value = status(self.sentence()) + fold(
            "What is counted, and what is not", f"<ul class='ph-words'>{items}</ul>"
        )

    def arithmetic(self):
        """From the heat loss to the hours of warmth, then from the oxygen in the water to the hours of oxygen."""
        if not self.found:
            return None
        chain, pond = Chain(), self.sheet.pond
        for covered, cut in self.found.items():
            add_warmth(chain, NAMES[covered], cut, pond.volume)
        if self.fish_kg is not None:
            add_oxygen(chain, self.first, pond.volume, self.fish_kg)
        return chain


def _days(cut: PowerCut) -> str:
    """The number of days a cut was followed, in words."""
    days = len(cut.water_temps) // cuts.DAY
    return "1 day" if days == 1 else f"{days} days"


def _falls(cut: PowerCut) -> str:
    """The falls in water temperature of one cut, in words."""
    reached = ", ".join(
        f"{temperature_difference(fall)} after {units.significant(hours, 2)} h"
        for fall, hours in cut.hours_to.items()
        if math.isfinite(hours)
    )
    missed = next(
        (
            f"{temperature_difference(fall)} within {_days(cut)}"
            for fall, hours in cut.hours_to.items()
            if math.isinf(hours)
        ),
        "",
    )
    if not reached:
        return f"{STATES[cut.covered].capitalize()} it does not fall by {missed}."
    falls = f"falls by {reached}{f', but not by {missed}' if missed else ''}"
    return f"{STATES[cut.covered].capitalize()} it {falls}."


def _end(hours: float) -> float:
    """The shortest axis [hours] that holds so many hours."""
    return next((span for span in SPANS if span >= hours), SPANS[-1])


def _ticks(span: float) -> dict[float, str]:
    """Labels of an axis of hours."""
    step = 6 if span <= 24 else 12 if span <= 72 else 24 if span <= 120 else 48
    return {float(hour): f"{hour} h" for hour in range(0, int(span) + 1, step)}


def panel() -> PowerFails:
    """The panel for the invented garden pond."""
    return PowerFails()
