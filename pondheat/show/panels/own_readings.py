"""The reader's own meter file, uploaded or named by its path, read in the background and summarised."""

from __future__ import annotations

import datetime as dt
import html
import math
import re
from pathlib import Path
from typing import Any

import ipywidgets
import numpy as np

from pondheat.analysis.comparison_files import READING
from pondheat.analysis.printable import printable_name, without_controls
from pondheat.core import units
from pondheat.core.tables.read_log import ReadingsFault
from pondheat.core.units import Unreadable
from pondheat.meter.reading import energy_use, meter_file
from pondheat.meter.reading.energy_use import CostByRate, UseStatistics
from pondheat.meter.reading.meter_file import Readings
from pondheat.show import figures
from pondheat.show.controls import Choice, Text, fold
from pondheat.show.file_control import File
from pondheat.show.panels import known
from pondheat.show.panels.background_task import BackgroundTask
from pondheat.show.ponds import invented

ZONE = "Europe/London"
BY_ITSELF = ""  # the option to leave it to the file
ASKED = {
    "kind": (
        "What the numbers are",
        {
            BY_ITSELF: "as the file says",
            "counter": "a running counter",
            "interval": "the use of each interval",
            "power": "power in W or kW",
        },
    ),
    "dates": (
        "How dates are written",
        {BY_ITSELF: "as the file says", "day first": "the day first, 31/12", "month first": "the month first, 12/31"},
    ),
    "stamps": (
        "Which end of its interval a time is",
        {BY_ITSELF: "as the file says", "start": "its start", "end": "its end"},
    ),
}
_OPTION = re.compile(r"""\s*(\w+)\s*=\s*(?:"([^"]*)"|“([^”]*)”|'([^']*)'|([^\s,;"'“”]+))\s*(?:[,;]|$|(?=\s))""")
REPAIRS_SHOWN = 40


def options_of(text: str) -> dict[str, Any]:
    """Reading options typed as `unit="kWh", voltage=230`, by name. Raises ReadingsFault.

    >>> options_of('unit="kWh", column=2')
    {'unit': 'kWh', 'column': 2}
    """
    given: dict[str, Any] = {}
    at = 0
    while text[at:].strip():
        found = _OPTION.match(text, at)
        if not found:
            raise ReadingsFault(
                f"“{text[at:].strip()[:40]}” was not understood. Write it as the question does, for "
                'example unit="kWh" or voltage=230.'
            )
        name, value = found[1], next(part for part in found.groups()[1:] if part is not None)
        if name not in READING:
            raise ReadingsFault(f"“{name[:40]}” isn't an answer here. You can give: {', '.join(READING)}.")
        given[name] = int(value) if value.isdecimal() else _number(value)
        at = found.end()
    return given


def _number(text: str) -> float | str:
    try:
        return float(text)
    except ValueError:
        return text


class OwnReadings(BackgroundTask):
    """The reader's own meter file: how it was read, what was mended, and the energy used, when and at what cost."""

    def __init__(self):
        self.tariff = known(invented().tariff)
        self.file = File("Your meter's file (CSV or text)")
        self.path = Text("Or its path on this computer; a large file is read faster this way", "Read it")
        self.zone = Text("Time zone of its clock", "Use it", ZONE)
        self.asked = {name: Choice(label, choices, BY_ITSELF) for name, (label, choices) in ASKED.items()}
        self.more = Text('Other answers, written as it asks for them, such as unit="kWh"', "Use it")
        self.source: Path | bytes | None = None
        left = ipywidgets.VBox([self.file, self.path, self.zone]).add_class("ph-left")
        self.answers = ipywidgets.VBox([*self.asked.values(), self.more]).add_class("ph-left")
        self.answers.layout.display = "none"  # until there is a file
        super().__init__([ipywidgets.Box([left, self.answers]).add_class("ph-pair")])
        self.file.observe(self._uploaded, "turn")
        self.path.observe(self._path_given, "turn")
        for control in (self.zone, self.more):
            control.observe(lambda _: self.read(), "turn")
        for choice in self.asked.values():
            choice.observe(lambda _: self.read(), "value")

    def _uploaded(self, _change) -> None:
        self.source, self.name = self.file.content, printable_name(self.file.value)
        self.read()

    def _path_given(self, _change) -> None:
        typed = self.path.value.strip().strip("\"'“”")
        if not typed:
            self.say("Type where the file is, for example C:\\Users\\me\\meter.csv or ~/meter.csv.")
            return
        self.source = Path(typed).expanduser()
        self.name = printable_name(self.source)
        self.read()

    def read(self) -> None:
        """Read the file given last with the present answers; running work is dropped."""
        self.stop("")
        if self.source is None:
            return
        self.answers.layout.display = ""
        try:
            options: dict[str, Any] = {name: choice.value for name, choice in self.asked.items() if choice.value}
            options |= options_of(self.more.value)
        except ReadingsFault as error:
            self.show_error(error)
            return
        source, zone, name = self.source, self.zone.value.strip(), self.name

        def work(progress):
            made = meter_file.read(source, zone, **options, progress=progress)
            found = energy_use.statistics(made.use, zone)
            cost = energy_use.cost_by_rate(made.use, self.tariff)
            currency = self.tariff.currency
            return f"{name}: {sentence(made, found, cost, currency)}", result_html(made, found, cost, currency)

        self.start(name, work)

    def error_text(self, error: Exception) -> str:
        """Messages of the log reader are shown unchanged."""
        return str(error) if isinstance(error, (ReadingsFault, Unreadable)) else super().error_text(error)


# --- what is shown ----------------------------------------------------------------------------------------------------


def sentence(made: Readings, found: UseStatistics, cost: CostByRate, currency: units.Currency) -> str:
    """Energy, period, mean power and cost in a few words."""
    mended = {0: "Nothing needed repair.", 1: "One thing was repaired."}.get(
        len(made.repairs), f"{len(made.repairs)} things were repaired."
    )
    return (
        f"{units.digits(found.kwh, 1)} kWh in {units.digits(found.hours)} hours, from {_when(made.use.index[0])}; "
        f"{units.digits(found.mean)} W on average. At the garden pond's invented rates that is "
        f"{units.money(cost.energy_money, currency)}. {mended}"
    )


def result_html(made: Readings, found: UseStatistics, cost: CostByRate, currency: units.Currency) -> str:
    """All results for a meter file, as HTML."""
    repairs = [one.sentence + (f" ({units.digits(one.kwh, 1)} kWh)" if one.kwh else "") for one in made.repairs]
    if len(repairs) > REPAIRS_SHOWN:
        repairs[REPAIRS_SHOWN:] = [f"And {len(repairs) - REPAIRS_SHOWN} more."]
    spread = [
        ("Mean", f"{units.digits(found.mean)} W"),
        ("Median, by time", f"{units.digits(found.median)} W"),
        ("Highest", f"{units.digits(found.highest)} W, from {_when(found.highest_from)}"),
        ("Lowest", f"{units.digits(found.lowest)} W, from {_when(found.lowest_from)}"),
    ]
    rates = [
        (name, f"{units.digits(row['kwh'], 1)} kWh", units.money(row["money"], currency))
        for name, row in cost.by_rate.iterrows()
    ]
    hours = [
        (f"{hour:02d}:00", f"{units.digits(row['power'])} W", f"{units.digits(row['kwh'], 1)} kWh")
        for hour, row in found.by_hour.iterrows()
    ]
    days = [
        (
            date,
            f"{units.digits(row['kwh'], 1)} kWh",
            f"{units.digits(row['hours'], 1)} of {units.digits(row['day_hours'])} h",
        )
        for date, row in found.by_day.iterrows()
    ]
    parts = [
        _list("How the file was read", made.interpretation),
        _list("What was repaired", repairs or ["Nothing."]),
        "<h4>Power</h4>",
        _table(("", "power"), spread),
    ]
    parts += [figure.html() for figure in charts(found)]
    parts += [
        fold("By hour of the day", _table(("hour", "mean power", "energy"), hours)),
        fold("By day", _table(("day", "energy", "metered"), days)),
        "<h4>Cost by rate, at the garden pond's invented tariff</h4>",
        _table(("rate", "energy", "cost"), rates),
        _list("", cost.notes),
    ]
    return f'<div class="ph-words">{"".join(parts)}</div>'


def charts(found: UseStatistics) -> list[figures.Figure]:
    """Mean power by hour of the day and, if there are several days, energy by day."""
    watts = found.by_hour["power"].to_numpy() / 1000
    known = np.flatnonzero(np.isfinite(watts))
    made = []
    if len(known) > 1:
        made.append(
            figures.lines(
                {"mean": (list(known), list(watts[known]))},
                "own-hours",
                "Mean power by hour of the day, kW",
                (0, 23),
                {hour: f"{hour:02d}:00" for hour in (0, 6, 12, 18)},
                (0, _top(watts[known].max())),
                where=lambda hour: f"{int(hour):02d}:00",
            )
        )
    kwh = found.by_day["kwh"].to_numpy()
    if len(kwh) > 1:
        places = np.unique(np.linspace(0, len(kwh) - 1, min(len(kwh), 4)).round().astype(int))
        made.append(
            figures.lines(
                {"each day": (list(range(len(kwh))), list(kwh))},
                "own-days",
                f"Energy by day, kWh, {_day(found.by_day.index[0])} to {_day(found.by_day.index[-1])}",
                (0, len(kwh) - 1),
                {int(at): _day(found.by_day.index[at], "") for at in places},
                (0, _top(kwh.max())),
                where=lambda at: _day(found.by_day.index[int(at)]),
            )
        )
    return made


def _top(most: float) -> float:
    """A round number above `most` for the end of a scale."""
    most = max(1.05 * most, 0.1)
    power = 10 ** math.floor(math.log10(most))
    return next(step * power for step in (1, 1.5, 2, 3, 4, 5, 6, 8, 10) if step * power >= most)


def _day(date: str, year: str = " %Y") -> str:
    day = dt.date.fromisoformat(date)
    return f"{day.day} {day.strftime(f'%b{year}')}"


def _when(moment) -> str:
    return f"{moment.day} {moment:%B %Y %H:%M}"


def _list(title: str, lines) -> str:
    head = f"<h4>{html.escape(title)}</h4>" if title else ""
    return f"{head}<ul>{''.join(f'<li>{html.escape(without_controls(line))}</li>' for line in lines)}</ul>"


def _table(heads, rows) -> str:
    cells = "".join(
        f"<tr><th scope='row'>{html.escape(str(first))}</th>"
        f"{''.join(f'<td>{html.escape(text)}</td>' for text in rest)}</tr>"
        for first, *rest in rows
    )
    head = "".join(f"<th scope='col'>{html.escape(text)}</th>" if text else "<td></td>" for text in heads)
    return f"<table class='ph-steps'><thead><tr>{head}</tr></thead><tbody>{cells}</tbody></table>"
