"""Open and covered nights of an invented winter, with a line through them that the reader fits by hand."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace

import ipywidgets
import numpy as np
import pandas as pd

from pondheat.analysis import assessment
from pondheat.analysis.results import times_of
from pondheat.core import units
from pondheat.core.display_units import temperature_difference
from pondheat.heat.balance import moment
from pondheat.meter.reading.energy_use import night_of
from pondheat.meter.savings.degree_line import savings_of_nights
from pondheat.season.schedule import covered_share
from pondheat.sheet.pond_sheet import Sheet
from pondheat.show.arithmetic import Chain
from pondheat.show.controls import Slider
from pondheat.show.line_fit import BEST, OWN, WITH_COVERED, LineFit
from pondheat.show.panels import Panel
from pondheat.show.ponds import invented

FIRST, LAST = dt.date(2025, 11, 1), dt.date(2026, 3, 31)
NIGHTS, SEED = 14, 2  # a draw whose line is much like the whole winter's; a test draws sixty
COLD = (11.0, 24.0)  # K that the water is warmer than the air in the open nights: room for milder ones
MILDER, MOST_MILDER = 4.0, 6.0  # K, of the covered nights
SAID_AT = (10.0, 20.0)  # K at which a line is read aloud


def winter_nights(sheet: Sheet) -> pd.DataFrame:
    """Each night of the winter, from noon to noon, had the pond been open and had it been covered.

    Columns: night (its name), warmer [K] of the water over the air, wind [m/s] in the open, open and covered [kWh] that
    the heater takes to hold the water at its set point, to a tenth as a meter shows them.
    """
    sheet = replace(sheet, start=FIRST, end=LAST)
    place = assessment.boundary_conditions(sheet, assessment.weather_of(sheet))
    index, water = times_of(place.hours), sheet.set_point[0][1]
    share = covered_share(index, sheet.cover_plan.on, sheet.cover_plan.off)
    hours = pd.DataFrame({"warmer": water - place.air.air_temp, "wind": place.air.wind_speed}, index=index)
    for name, covered in (("open", np.zeros(len(index))), ("covered", share)):
        net = moment(sheet.pond, place.air, np.full(len(index), water), covered)["net"]
        hours[name] = (net - sheet.pump_heat) / 1000
    by_night = hours[place.counted].groupby(night_of(index[place.counted]))
    means, sums = by_night[["warmer", "wind"]].mean(), by_night[["open", "covered"]].sum()
    nights = means.join(sums.clip(lower=0.0).round(1))[by_night.size() == 24]
    nights.insert(0, "night", [f"{day.day} {day:%B}" for day in times_of(nights)])
    return nights


def drawn_nights(nights: pd.DataFrame, seed: int) -> pd.DataFrame:
    """A fortnight of cold nights, one drawn at random from each fourteenth of them in order of cold."""
    cold, rng = nights[nights["warmer"].between(*COLD)], np.random.default_rng(seed)
    slices = np.array_split(np.argsort(cold["warmer"].to_numpy()), NIGHTS)
    return cold.iloc[np.sort([rng.choice(part) for part in slices])]


def milder_nights(nights: pd.DataFrame, opened: pd.DataFrame, milder: float) -> pd.DataFrame:
    """For each open night another one that is milder by so much [K], or as near to it as the winter has one."""
    left, chosen = nights["warmer"].drop(opened.index), []
    for wanted in np.sort(opened["warmer"].to_numpy()) - milder:
        chosen.append((left - wanted).abs().idxmin())
        left = left.drop(chosen[-1])
    return nights.loc[sorted(chosen)]


class NightLine(Panel):
    """A line through open nights, moved by hand; then the best one, and what it says of covered nights."""

    def __init__(self):
        self.winter = winter_nights(invented())
        self.open_nights = drawn_nights(self.winter, SEED)
        self.covered_nights = milder_nights(self.winter, self.open_nights, MILDER)
        self._milder = MILDER
        self.fit = LineFit("nights", self._used(self.open_nights, "open"), self._used(self.covered_nights, "covered"))
        super().__init__(
            "night-line",
            {"milder": Slider("Covered nights milder by", MILDER, 0, MOST_MILDER, 1, "delta_degC")},
            caution="gas_exchange",
        )
        styles, pair, error, _, _, *foot = self.children
        self.steps = ipywidgets.VBox([pair])
        self.children = (styles, self.fit, self.steps, error, *foot)
        self.fit.observe(self._again, ["ends", "stage"])
        self._again()

    @staticmethod
    def _used(nights: pd.DataFrame, kind: str) -> pd.DataFrame:
        return nights[["night", "warmer", "wind"]].assign(used=nights[kind])

    def _again(self, _change=None) -> None:
        self.steps.layout.display = "" if self.fit.stage == WITH_COVERED else "none"
        self._move({name: control.value for name, control in self.controls.items()})

    def _move(self, values: dict) -> None:
        super()._move(values)
        self.fit.says = self.words.value

    def redraw(self, milder):
        """The covered nights that are milder by so much [K]; the picture is the line's own."""
        if milder != self._milder:
            self._milder, self.covered_nights = milder, milder_nights(self.winter, self.open_nights, milder)
            self.fit.draw(self._used(self.covered_nights, "covered"))
        opened, covered = self.fit.opened, self.fit.covered
        self.savings = savings_of_nights(opened["warmer"], opened["used"], covered["warmer"], covered["used"])
        self.true_saving = 1 - float(covered["used"].sum() / self.covered_nights["open"].sum())
        return None, (self._own_text, self._best_text, self._covered_text)[self.fit.stage]()

    def miss(self, of_best: bool = False) -> float:
        """By how much the reader's line, or the best one, typically misses an open night [kWh]."""
        line = self.fit.best if of_best else self.fit.own
        return line.typical_miss(self.fit.opened["warmer"], self.fit.opened["used"])

    def _own_text(self) -> str:
        cold, colder = (f"{units.digits(self.fit.own.at(warmer))} kWh" for warmer in SAID_AT)
        squares = self.fit.own.squares(self.fit.opened["warmer"], self.fit.opened["used"])
        return (
            f"Your line reads {cold} where the water is {temperature_difference(SAID_AT[0])} warmer than the air and "
            f"{colder} at {temperature_difference(SAID_AT[1])}; it typically misses a night by "
            f"{units.digits(self.miss(), 1)} kWh (sum of squares {units.digits(squares)})."
        )

    def _best_text(self) -> str:
        best, own = self.miss(of_best=True), self.miss()
        close = "yours does as well" if own - best < 0.05 else f"yours by {units.digits(own, 1)} kWh"
        opened, misses = self.fit.opened, self.fit.misses(self.fit.best)
        furthest = int(np.abs(misses).argmax())
        night, wind = opened.iloc[furthest], float(opened["wind"].mean())
        return (
            f"The best line typically misses a night by {units.digits(best, 1)} kWh, {close}. The meter isn't to "
            f"blame: nights differ in wind, sun and cloud. {night['night']} is "
            f"{units.digits(abs(misses[furthest]))} kWh {'above' if misses[furthest] > 0 else 'below'} the line, with "
            f"{units.digits(night['wind'], 1)} m/s of wind; the average night had {units.digits(wind, 1)} m/s."
        )

    def _covered_text(self) -> str:
        covered, savings = self.fit.covered, self.savings
        warmer = float(covered["warmer"].mean())
        line, average, degree, true = (
            f"{units.digits(100 * share)} %"
            for share in (savings.by_line, savings.by_average, savings.per_degree, self.true_saving)
        )
        return (
            f"At the covered nights' average of {temperature_difference(warmer, 1)} the open line reads "
            f"{units.digits(self.fit.best.at(warmer))} kWh, and they used {units.digits(covered['used'].mean())} kWh: "
            f"the line says the cover saved {line}. Average night against average night would say {average}, use per "
            f"degree {degree}. These nights are invented, so we know: {true}."
        )

    def arithmetic(self):
        """The steps to the typical miss, or from the open line to the saving."""
        chain, opened, covered = Chain(), self.fit.opened, self.fit.covered
        if self.fit.stage != WITH_COVERED:
            line = self.fit.own if self.fit.stage == OWN else self.fit.best
            count = chain.given("Open nights", len(opened), "dimensionless", "nights of an invented winter")
            squares = chain.given(
                "Their misses, squared and added up",
                line.squares(opened["warmer"], opened["used"]),
                "kWh**2",
                "the table: used less what the line says",
            )
            chain.given("Their mean", squares / count, "kWh**2", "both lines above")
            shown = units.digits(self.miss(of_best=self.fit.stage == BEST), 1)
            chain.given("Its square root", float(np.sqrt(squares / count)), "kWh", f"shown above as {shown} kWh")
            return chain
        line, warmer = self.fit.best, float(covered["warmer"].mean())
        rise = chain.times(
            "Rise of the open line to the covered nights' weather",
            (warmer, "delta_degC"),
            (line.per_kelvin, "kWh/delta_degC"),
            "kWh",
            "their average difference; least squares through the open nights",
        )
        would = chain.add(
            "An open night in that weather", [("at no difference", line.at_zero), ("rise", rise)], "kWh", "the line"
        )
        took = chain.given("They used", float(covered["used"].mean()), "kWh", "mean of the covered nights")
        saved = chain.add("Saved a night", [("open", would), ("covered", -took)], "kWh", "the two lines above")
        chain.times(
            "As a share",
            (saved, "kWh"),
            (100 / would, "percent/kWh"),
            "percent",
            f"shown above as {units.digits(100 * self.savings.by_line)} %",
        )
        return chain
