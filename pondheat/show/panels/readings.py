"""Readings: a week of an invented counter with one thing wrong in it, raw and mended."""

from __future__ import annotations

import html
from dataclasses import dataclass

import numpy as np
import pandas as pd

from pondheat.core import units
from pondheat.core.places import DATA
from pondheat.meter.reading import energy_use, meter_file
from pondheat.show import figures
from pondheat.show.arithmetic import Chain
from pondheat.show.controls import Choice
from pondheat.show.panels import Panel, known
from pondheat.show.ponds import invented
from pondheat.show.tables import show_table, show_text

LOGS = DATA / "readings"
ZONE = "Europe/London"
RATING = 6000.0  # W, of the invented pond's heater
DAYS, SEED = 7, 13
TOP = 1000.0  # kWh, at which a counter with three digits before the point starts again
MEAN = 3.0  # kW, of the invented week
BEFORE, AFTER = 4, 5  # table rows before and after the odd one
SPAN = 20  # hours of the chart on each side of it


@dataclass(frozen=True)
class LogEvent:
    """An event in a counter's log.

    first: the week's first day; start: counter then [kWh]; hour: of the event in the week; readings: number affected.
    """

    name: str
    first: str
    start: float
    hour: int
    readings: int = 1


EVENTS = {
    "back": LogEvent("the clocks go back", "2025-10-23", 212.0, 73),
    "forward": LogEvent("the clocks go forward", "2026-03-26", 212.0, 73),
    "gap": LogEvent("a day without readings", "2026-02-09", 212.0, 60, 24),
    "roll-over": LogEvent("the counter rolls over after its nines", "2026-02-09", 780.0, 74),
    "stuck": LogEvent("the logger hangs for twelve hours", "2026-02-09", 212.0, 60, 12),
    "misread": LogEvent("one reading has a wrong digit", "2026-02-09", 212.0, 74),
    "new meter": LogEvent("the meter is replaced", "2026-02-09", 212.0, 74),
    "nothing": LogEvent("nothing is wrong", "2026-02-09", 212.0, 74),
}


def log(key: str) -> pd.DataFrame:
    """An invented week of hourly readings with one event: at [instant], wall [clock time], shown [kWh].

    The use is steady with a daily cycle and a little noise; the clock hour that occurs twice is recorded once.
    """
    event = EVENTS[key]
    at = pd.date_range(event.first, periods=24 * DAYS + 1, freq="h", tz=ZONE)
    rng = np.random.default_rng(SEED)
    use = MEAN * (1 + 0.1 * np.cos(2 * np.pi * np.arange(24 * DAYS) / 24) + 0.02 * rng.standard_normal(24 * DAYS))
    counted = event.start + np.append(0.0, np.cumsum(use))
    odd = slice(event.hour, event.hour + event.readings)
    if key == "stuck":
        counted[odd] = counted[event.hour - 1]
    if key == "misread":
        counted[odd] += 300.0  # a 4 taken for a 7
    if key == "new meter":
        counted[event.hour :] -= counted[event.hour] - use[event.hour - 1]
    rows = pd.DataFrame({"at": at, "wall": at.tz_localize(None), "shown": np.round(counted % TOP, 1)})
    if key == "gap":
        rows = rows.drop(index=range(odd.start, odd.stop))
    return rows.drop_duplicates("wall").reset_index(drop=True)


class SpotIt(Panel):
    """A week of hourly counter readings with a chosen event, raw and mended."""

    LOW, HIGH = -2.0, 8.0  # kWh, ends of the scale

    def __init__(self):
        super().__init__(
            "readings",
            {
                "fault": Choice(
                    "What has happened to this log?", {key: one.name for key, one in EVENTS.items()}, "back"
                ),
            },
            caution="electricity",
        )

    def redraw(self, fault):
        """Read the log; the mended power next to the steps of the counter."""
        self.rows, self.key = log(fault), fault
        written = "".join(f"{row.wall:%Y-%m-%d %H:%M},{row.shown:.1f}\n" for row in self.rows.itertuples())
        self.made = meter_file.read(f"time,counter [kWh]\n{written}".encode(), ZONE, clock="local", rating=RATING)
        use, at = self.made.use, pd.DatetimeIndex(self.rows["at"])
        ends = use.index + pd.to_timedelta(use["hours"], "h")
        # the rows of each interval's two readings
        self.first, self.last = at.get_indexer(use.index), at.get_indexer(pd.DatetimeIndex(ends), "nearest")
        self.power = (use["kwh"] / use["hours"]).to_numpy()
        self.step = self.rows["shown"].diff().to_numpy()  # unmended
        self.odd = self._odd()
        return self._figure(), self._text()

    def _odd(self) -> int:
        """The row of the event."""
        if self.key == "nothing":
            return EVENTS[self.key].hour
        wall = self.rows["wall"].diff().dt.total_seconds()
        if self.key in ("gap", "forward"):
            return int(wall.argmax())
        if self.key == "roll-over":
            return int(np.nanargmin(self.step))
        if self.key == "back":
            return int(self.rows["at"].diff().dt.total_seconds().argmax())
        return EVENTS[self.key].hour + (EVENTS[self.key].readings if self.key == "stuck" else 0)

    def _figure(self) -> figures.Figure:
        wall = (self.rows["wall"] - self.rows["wall"][0]) / pd.Timedelta("1h")
        low, high = wall[self.odd] - SPAN, wall[self.odd] + SPAN
        inside = [row for row in range(1, len(wall)) if low <= wall[row - 1] and wall[row] <= high]
        raw = _stairs([(wall[row] - 1, wall[row], self.step[row]) for row in inside])
        kept = [
            (wall[a], wall[b], kw)
            for a, b, kw in zip(self.first, self.last, self.power)
            if low <= wall[a] and wall[b] <= high
        ]
        series = {"repaired, kW": _stairs(kept), "as recorded": (raw[0], np.clip(raw[1], self.LOW, self.HIGH))}
        ticks = {
            hour: _when(self.rows["wall"][0] + pd.Timedelta(hours=hour))
            for hour in range(int(np.ceil(low / 12) * 12), int(high) + 1, 12)
        }
        return figures.lines(
            series,
            self.name,
            "Use between readings, kWh an hour (more is cut off)",
            (low, high),
            ticks,
            (self.LOW, self.HIGH),
            where=lambda hours: _when(self.rows["wall"][0] + pd.Timedelta(hours=hours).round("min")),
        )

    def _draw_below(self, figure: figures.Figure | None) -> None:
        self.chart.value = self.table()

    def table(self) -> str:
        """The readings around the event, raw and mended, as an HTML table."""
        use = self.made.use
        mended = {
            int(row): values
            for row, *values in zip(self.last, use["kwh"].to_numpy(), use["hours"].to_numpy(), self.power)
        }
        lines = []
        for row in range(max(1, self.odd - BEFORE), min(len(self.rows), self.odd + AFTER)):
            wall, shown = self.rows["wall"][row], self.rows["shown"][row]
            kwh, hours, kw = mended.get(row, [np.nan] * 3)
            known = (
                f"{units.digits(kwh, 1)} in {units.digits(hours)} h: {units.digits(kw, 1)} kW"
                if row in mended
                else "left out"
                if row not in self._spanned()
                else "in the line below"
            )
            odd = "→ " if row == self.odd and self.key != "nothing" else ""
            lines.append(
                f"<tr><th scope='row'>{odd}{_when(wall)}</th><td>{shown:05.1f}</td>"
                f"<td>{units.digits(self.step[row], 1)}</td><td>{html.escape(known)}</td></tr>"
            )
        return (
            "<table class='ph-steps'><thead><tr><th scope='col'>read at</th><th scope='col'>counter</th>"
            "<th scope='col'>step, kWh</th><th scope='col'>repaired, kWh</th></tr></thead>"
            f"<tbody>{''.join(lines)}</tbody></table>"
        )

    def _spanned(self) -> set[int]:
        return {row for a, b in zip(self.first, self.last) for row in range(a + 1, b)}

    @property
    def raw(self) -> float:
        """Last reading less the first [kWh]."""
        return float(self.rows["shown"].iloc[-1] - self.rows["shown"].iloc[0])

    @property
    def mended(self) -> float:
        """Use of all mended intervals [kWh]."""
        return self.made.totals["kwh"]

    def _text(self) -> str:
        steps = self.step[1:]
        largest = steps[np.argmax(np.abs(steps))]
        text = (
            f"As recorded: {units.digits(self.raw)} kWh from the first reading to the last; the largest step "
            f"{units.digits(largest, 1)} kWh. Repaired: {units.digits(self.mended)} kWh in "
            f"{units.digits(self.made.totals['hours'])} hours, at most {units.digits(self.power.max(), 1)} kW."
        )
        said = " ".join(one.sentence for one in self.made.repairs)
        return f"{text} {said or 'Nothing needed repair.'}"

    def arithmetic(self):
        """Use before, across and after the event, and their sum."""
        chain = Chain()
        use = self.made.use["kwh"].to_numpy()
        place = int(np.searchsorted(self.last, self.odd))  # the first interval that ends at the event or later
        parts = [
            ("before", float(use[:place].sum())),
            ("across", float(use[place]) if place < len(use) else 0.0),
            ("after", float(use[place + 1 :].sum())),
        ]
        for text, row in (("Counter before", self.odd - 1), ("Counter then", self.odd)):
            chain.given(text, float(self.rows["shown"][row]), "kWh", "the invented log")
        chain.add("Repaired, before, across and after", parts, "kWh", f"shown above as {units.digits(self.mended)} kWh")
        return chain


def _when(moment: pd.Timestamp) -> str:
    return f"{moment.day} {moment:%b %H:%M}"


def _stairs(spans: list[tuple[float, float, float]]) -> tuple[np.ndarray, np.ndarray]:
    """Points of a line that is level within each span (start, end, value)."""
    made = np.array([point for start, end, value in spans for point in ((start, value), (end, value))])
    return made[:, 0], made[:, 1]


def panel() -> SpotIt:
    """The panel of this page."""
    return SpotIt()


SITUATION = {"hour": 1.5, "heater": 0.0}
QUESTION = "The night the clocks go back, the step from 01:00 to 02:00 is about twice its neighbours, because …"
OPTIONS = {
    "cold": "those are the coldest hours: the heater works hardest",
    "mistake": "the meter counted one hour twice, by mistake",
    "two hours": "there are two hours between those two readings",
}
RIGHT = "two hours"
WORDS = {
    "cold": "Heaters do work hardest in the coldest hours. But cold comes slowly: the hours next to it would use "
    "nearly as much, and they don't.",
    "mistake": "When the clocks go back, something is counted twice. But not by the meter, which has no clock: we "
    "write the times beside it.",
}


def print_by_rate() -> None:
    """Show the use in a shipped counter log, and its energy and cost by the garden pond's rates, as a table."""
    pond = invented()
    made = meter_file.read(LOGS / "garden_pond_counter.csv", ZONE)
    found, cost = energy_use.statistics(made.use, ZONE), energy_use.cost_by_rate(made.use, known(pond.tariff))
    by_rate = [
        ("cheap" if name == "night" else "dear", units.digits(row["kwh"]), units.money(row["money"], pond.currency, 0))
        for name, row in cost.by_rate.iterrows()
    ]
    first, last = made.use.index[0], made.use.index[-1]
    show_table(
        f"An invented log of the garden pond, {first.day} to {last.day} {last:%B %Y}",
        ("hours", "kWh", "cost"),
        [*by_rate, ("total", units.digits(found.kwh), units.money(cost.energy_money, pond.currency, 0))],
    )
    show_text(
        (
            "",
            f"On average {units.digits(found.mean)} W over {units.digits(found.hours)} hours, at most "
            f"{units.digits(found.highest)} W, from {_when(found.highest_from)}. The standing charge is not included.",
        )
    )
