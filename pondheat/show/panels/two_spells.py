"""Two spells: a line through open nights; then two fortnights compared by six estimators with intervals."""

from __future__ import annotations

import csv
import datetime as dt
from dataclasses import replace

import numpy as np
import pandas as pd

from pondheat.analysis import assessment
from pondheat.analysis.results import times_of
from pondheat.core import units
from pondheat.core.number_format import counted
from pondheat.meter.reading import meter_file
from pondheat.meter.savings import period_comparison, planning
from pondheat.meter.savings.alignment import align
from pondheat.meter.savings.estimators import METHODS
from pondheat.meter.savings.night_readings import COVERED, FORGOTTEN, OPEN
from pondheat.season.schedule import covered_share
from pondheat.sheet.pond_sheet import Sheet
from pondheat.show import figures
from pondheat.show.arithmetic import Chain
from pondheat.show.controls import Choice, Slider
from pondheat.show.panels import Panel
from pondheat.show.panels.night_line import NightLine
from pondheat.show.panels.readings import LOGS, ZONE
from pondheat.show.ponds import invented
from pondheat.show.tables import show_table, show_text

OPEN_LOG, COVERED_LOG = "garden_pond_open.csv", "garden_pond_covered_one_forgotten.csv"
FIRST_OPEN, FIRST_COVERED, NIGHTS = dt.date(2026, 1, 5), dt.date(2026, 1, 19), 14
NAMES = (
    "Fair: against the model",
    "Fair: a line through the weather",
    "Totals",
    "Per day",
    "Per degree and day",
    "The same, without the blower",
)  # in the order of `meter.savings.estimators.METHODS`
MODEL, LINE, TOTALS, DAY, DEGREE, HEAT = range(6)
HANDLED = {FORGOTTEN[0]: "left out", FORGOTTEN[1]: "counted as an open one", FORGOTTEN[2]: "kept as covered"}
TO_SHOW = (0.1, 0.15, 0.2, 0.3, 0.5)  # savings for which nights are counted


def nights(first: dt.date, count: int) -> list[dt.date]:
    """`count` consecutive dates from `first`."""
    return [first + dt.timedelta(days=k) for k in range(count)]


class TwoSpells(Panel):
    """An open fortnight and a covered one, whole or in part, in the weather the logs were invented for."""

    LOW, HIGH = -20.0, 100.0  # %, ends of the scale

    def __init__(self):
        sheet = invented()
        self.sheet = replace(sheet, start=FIRST_OPEN, end=FIRST_COVERED + dt.timedelta(days=NIGHTS), start_temp=15.0)
        self.place = assessment.boundary_conditions(self.sheet, assessment.weather_of(self.sheet))
        self.use = pd.concat([meter_file.read(LOGS / name, ZONE).use for name in (OPEN_LOG, COVERED_LOG)])
        super().__init__(
            "spells",
            {
                "open_nights": Slider(
                    "Open nights used (the last ones before the cover)", NIGHTS, 3, NIGHTS, 1, "nights"
                ),
                "covered_nights": Slider("Covered nights used (the first ones)", NIGHTS, 3, NIGHTS, 1, "nights"),
                "load": Slider("An air blower in the shed on the same meter", 0, 0, 300, 25, "W"),
                "forgotten": Choice("A night when the cover seems to have been forgotten is …", HANDLED, FORGOTTEN[0]),
            },
            caution="gas_exchange",
        )

    def redraw(self, open_nights, covered_nights, load, forgotten):
        """The saving by each estimator from the chosen nights; load: of the blower [W], known and constant."""
        use = self.use.assign(kwh=self.use["kwh"] + load / 1000 * self.use["hours"])
        aligned = align(
            use,
            self.sheet.pond,
            times_of(self.place.hours),
            self.place.air,
            base_load=load,
            pump_heat=self.sheet.pump_heat,
        )
        self.found = period_comparison.compare(
            aligned,
            covered=nights(FIRST_COVERED, round(covered_nights)),
            cover_times=(self.sheet.cover_plan.on, self.sheet.cover_plan.off),
            forgotten=forgotten,
            open_nights=nights(FIRST_OPEN, NIGHTS)[NIGHTS - round(open_nights) :],
        )
        rows = {
            name: tuple(100 * share for share in (one.saving, one.low, one.high))
            for name, one in zip(NAMES, self.found.outcomes)
        }
        written = {name: self._written(*row) for name, row in rows.items()}
        figure = figures.ranges(
            rows,
            self.name,
            "What the cover saved by each method, with its likely range",
            (self.LOW, self.HIGH),
            {share: f"{share} %" for share in (0, 25, 50, 75, 100)},
            written,
            tuple(name for name, way in zip(NAMES, METHODS) if way.fair),
        )
        return figure, self._text()

    @staticmethod
    def _written(saving: float, low: float, high: float) -> str:
        if not np.isfinite(saving):
            return "too few nights"
        band = f"{units.digits(low)} to {units.digits(high)}" if np.isfinite(low) else "anything"
        return f"{units.digits(saving)} % ({band})"

    def saving(self, way: int) -> float:
        """The saving by one of the six estimators [%]."""
        return 100 * self.found.outcomes[way].saving

    def _text(self) -> str:
        alone = 100 * (self.found.weather_alone - 1)
        text = (
            f"{self.found.verdict} Totals say {units.digits(self.saving(TOTALS))} %, per degree and day "
            f"{units.digits(self.saving(DEGREE))} %. The weather alone means a covered night needs "
            f"{units.digits(abs(alone))} % {'less' if alone < 0 else 'more'} than an open one."
        )
        forgotten = self.found.nights.days.index[self.found.nights.days["forgotten"]]
        if len(forgotten):
            dates = " and ".join(f"{day.day} {day:%B}" for day in forgotten)
            handled = HANDLED[self.controls["forgotten"].value]
            text += f" The night of {dates} used as much as an open one; it is {handled}."
        return text

    def _compared(self) -> pd.DataFrame:
        """The nights used, with the label each is counted under."""
        days = self.found.nights.days.copy()
        handled = self.controls["forgotten"].value
        if handled == FORGOTTEN[0]:
            return days[~days["forgotten"]]
        if handled == FORGOTTEN[1]:
            days.loc[days["forgotten"], "label"] = OPEN
        return days

    def arithmetic(self):
        """The first fair estimator: what the covered nights would have used without the cover, less what they used."""
        days = self._compared()
        open_days, covered_days = (days[days["label"] == label] for label in (OPEN, COVERED))
        chain = Chain()
        used = chain.given(
            f"Heat used in {counted(len(open_days), 'open night', 'open nights')}",
            float(open_days["used"].sum()),
            "kWh",
            "the meter, allowing for stored heat",
        )
        need = chain.given(
            "What the model says they needed",
            float(open_days["open_need"].sum()),
            "kWh",
            "the pond's sheet and the weather",
        )
        real = chain.given(
            "Used for each kWh of the model", used / need, "dimensionless", "the model is scaled by this"
        )
        covered_need = chain.given(
            f"Model's need of {counted(len(covered_days), 'covered night', 'covered nights')}, if left open",
            float(covered_days["open_need"].sum()),
            "kWh",
            "the same model",
        )
        would = chain.times(
            "So they would have used", (covered_need, "kWh"), (real, "dimensionless"), "kWh", "both lines above"
        )
        took = chain.given("They used", float(covered_days["used"].sum()), "kWh", "the meter")
        saved = chain.add("Saved", [("would have used", would), ("used", -took)], "kWh", "the two lines above")
        chain.times(
            "As a share",
            (saved, "kWh"),
            (100 / would, "percent/kWh"),
            "percent",
            f"shown above as {units.digits(self.saving(MODEL))} %",
        )
        return chain


def panel() -> NightLine:
    """The panel of this page."""
    return NightLine()


def six_ways() -> TwoSpells:
    """The second panel of this page."""
    return TwoSpells()


SITUATION = {"hour": 22.0, "has_cover": True, "covered": 0.5}
QUESTION = "Open nights, then milder covered ones. If you compare the average nights, the saving comes out …"
OPTIONS = {
    "small": "too small: in mild weather there's less for a cover to save",
    "right": "about right: averages of a fortnight even the weather out",
    "large": "too large: the mild weather is counted as the cover's work",
}
RIGHT = "large"
WORDS = {
    "small": "A cover does save fewer kWh on a mild night. But the open pond would have used fewer as well, and the "
    "average of the cold open nights takes no account of that.",
    "right": "Averages do even out windy and calm nights. But all the covered nights were milder, and averaging "
    "doesn't change that.",
}
ON = "That's right. Now fit a line through the open nights: it says what they'd have used in milder weather."


def truth() -> dict[str, str]:
    """The true properties of the covered log, from `truth.csv`."""
    lines = (LOGS / "truth.csv").read_text(encoding="utf-8").splitlines()
    return next(row for row in csv.DictReader(lines[1:]) if row["file"] == COVERED_LOG)


def print_truth() -> None:
    """Show the true saving in the invented logs and the estimates."""
    true, shown = truth(), six_ways()
    saving = 100 * float(true["saving_in_covered_nights"])
    forgotten = dt.date.fromisoformat(true["forgotten_nights"])
    rows = []
    for name, one in zip(NAMES, shown.found.outcomes):
        holds = "contains it" if one.low <= saving / 100 <= one.high else "misses it"
        rows.append((name, f"{100 * one.saving:.0f} %", holds))
    show_table(
        f"Built into this invented log: a cover that saves {saving:.0f} %, forgotten on {forgotten.day} {forgotten:%B}",
        ("estimated by", "saving", "likely range"),
        rows,
        texts=(2,),
    )


def print_plan() -> None:
    """Show how many nights show a saving of each size given this log's scatter, and two weeks whose totals mislead."""
    shown = six_ways()
    first, count = shown.found.outcomes[MODEL], int((~shown.found.nights.days["forgotten"]).sum())
    rows = []
    for share in TO_SHOW:
        needed = planning.nights_needed((first.high - first.low) / 2, count, share)
        rows.append((f"{100 * share:.0f} %", f"{needed} nights" if needed else "more than a winter"))
    show_table("How many nights to log, half of them covered", ("to show a saving of", "log about"), rows)
    order = planning.order_of("blocks of two", 12, seed=1)
    front = planning.passing_front(_winter(shown.sheet))
    show_text(
        ("An order drawn at random:", f"{', '.join(order[::2])}; two nights each."),
        (
            "Without any cover,",
            f"in this weather: the week from {front.second.day} {front.second:%B} needs {100 * front.claimed:.0f} % "
            f"less than the week from {front.first.day} {front.first:%B}.",
        ),
    )


def _winter(sheet: Sheet) -> planning.Site:
    """The pond in the three cold months, for planning."""
    cold = replace(sheet, start=dt.date(2025, 12, 1), end=dt.date(2026, 2, 28))
    place = assessment.boundary_conditions(cold, assessment.weather_of(cold))
    covered = covered_share(times_of(place.hours), cold.cover_plan.on, cold.cover_plan.off)
    return planning.Site(
        cold.pond,
        times_of(place.hours),
        place.air,
        covered,
        cold.set_point[0][1],
        cold.heater,
        pump_heat=cold.pump_heat,
    )
