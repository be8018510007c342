"""One reader for the tables that loggers, suppliers and people write of their meters: `read`.

What each thing is taken for is said, every repair is listed with its rows, what could be read two ways is asked back.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pandas as pd

from pondheat.core import value_parsers
from pondheat.core.ranges import choose, require
from pondheat.core.units import digits as shown
from pondheat.meter.reading import cells as cell_reader
from pondheat.meter.reading import columns as columns
from pondheat.meter.reading import counter as counters
from pondheat.meter.reading import intervals as lengths
from pondheat.meter.reading import kinds as kinds
from pondheat.meter.reading import repairs as repairs
from pondheat.meter.reading import rows as text
from pondheat.meter.reading import timestamps as times
from pondheat.meter.reading.read_log import Ledger, ReadingsFault, Repair, where

_MOST_UNREAD = 0.3


@dataclass(frozen=True, eq=False)
class Readings:
    """A meter file as read.

    use: index `start` (time zone of the reader), kwh [kWh], hours [h], and water_temp [°C] where the file has it; took:
    sentences, what each thing was taken for; repairs: what was mended, each with rows and its share of the difference;
    kind: one of `meter.reading.columns.KINDS`; totals: kwh, kwh_in_file, hours, rows, rows_in_file.
    kwh − kwh_in_file is the sum of the repairs' kwh.
    """

    use: pd.DataFrame
    took: tuple[str, ...]
    repairs: tuple[Repair, ...]
    kind: str
    totals: dict[str, float]

    def text(self) -> str:
        """All of it in words, a sentence a line."""
        first, last = self.use.index[0], self.use.index[-1] + pd.Timedelta(hours=self.use["hours"].iloc[-1])
        lines = [
            f"{shown(self.totals['kwh'], 3)} kWh in {shown(self.totals['hours'], 1)} hours, "
            f"{first:%Y-%m-%d %H:%M} to "
            f"{last:%Y-%m-%d %H:%M}, {shown(self.totals['rows'])} intervals.",
            "",
            "What was taken for what:",
            *self.took,
            "",
            "Repairs:" if self.repairs else "Nothing had to be mended.",
        ]
        for one in self.repairs:
            lines.append(one.sentence + (f" ({shown(one.kwh, 3)} kWh)" if one.kwh else ""))
        if self.totals["kwh"] != self.totals["kwh_in_file"]:
            lines.append(f"The file's own numbers come to {shown(self.totals['kwh_in_file'], 3)} kWh.")
        return "\n".join(lines)


def read(
    source: Path | bytes | str,
    timezone: str,
    *,
    kind: str | None = None,
    dates: str | None = None,
    stamps: str | None = None,
    clock: str | None = None,
    unit: str | None = None,
    column: str | int | None = None,
    temp_column: str | int | None = None,
    decimal: str | None = None,
    rating: float | None = None,
    voltage: float | None = None,
    power_factor: float = 1.0,
    flashes_per_kwh: float | None = None,
    calorific_value: float | None = None,
    correction_factor: float = 1.0,
    digits: float | None = None,
    progress: Callable[[float], None] | None = None,
) -> Readings:
    """A table of meter readings, whatever wrote it, as energy by interval.

    source: path or bytes; timezone: IANA name, of the clock the file was written by. Where the file does not tell:
    kind: one of `meter.reading.columns.KINDS`; dates: “day first” or “month first”; stamps: “start” or “end” of the
    interval; clock: “local”, “standard” (winter time all year) or “utc”; unit: of the meter's column; column,
    temp_column: name or number from 1; decimal: “point” or “comma”. rating: of the heater, in watts, to judge what
    cannot be; voltage: [V], power_factor: [–], for a current; flashes_per_kwh: [–]; calorific_value: [MJ/m³] and
    correction_factor: [–], for gas; digits: [–], of the counter before the point. progress: called with the share
    done, from 0 to 1; what it raises ends the reading.
    Raises ReadingsFault (what, where, what to give), `core.units.Unreadable` and `OutOfRange` for options that cannot be.
    """

    def tell(share: float) -> None:
        if progress is not None:
            progress(share)

    require(
        power=rating,
        voltage=voltage,
        power_factor=power_factor,
        flashes_per_kwh=flashes_per_kwh,
        calorific_value=calorific_value,
        correction_factor=correction_factor,
        digits=digits,
    )
    value_parsers.time_zone(timezone)
    for option, given, known in (("stamps", stamps, lengths.STAMPS), ("clock", clock, times.CLOCKS)):
        if given is not None:
            choose(option, given, known)
    ledger = Ledger()
    tell(0.0)
    data, name = text.read_bytes(source)
    lines = text.lines_of(data, name, ledger)
    tell(0.1)
    if not len(lines.row):
        raise ReadingsFault(f"{name} holds no readings.")
    sample = lines.sample()
    when = times.find(sample, lines.headers, dates, name)
    roles = columns.roles(
        sample,
        lines.headers,
        {*when.at, *when.end_at},
        kind=kind,
        unit=unit,
        column=column,
        temp_column=temp_column,
        decimal=decimal,
        name=name,
        ledger=ledger,
    )
    when = cell_reader.day_before_month(lines, when, dates, sample, name)
    cells = cell_reader.read_cells(lines, when, roles, lambda share: tell(0.1 + 0.5 * share))
    times.say(when, lines.headers, ledger)
    rows = _rows(lines, when, roles, cells, timezone, clock, ledger)
    tell(0.75)
    counts = kinds.counts_on(rows.value, roles, rows.row, kind is not None, ledger)
    per_unit = kinds.to_kwh_or_watts(
        roles,
        voltage=voltage,
        power_factor=power_factor,
        ledger=ledger,
        flashes_per_kwh=flashes_per_kwh,
        calorific_value=calorific_value,
        correction_factor=correction_factor,
    )
    power = roles.quantity in ("power", "current")
    rows = repairs.once(rows, counts or power, per_unit, ledger)
    rows = repairs.known(rows, counts, roles.value.label, ledger)
    tell(0.8)
    if counts:
        in_file = float(rows.value[-1] - rows.value[0]) * per_unit
        made = counters.of_counter(rows, per_unit, digits, rating, ledger)
    else:
        made = _of_intervals(rows, per_unit, power, timezone, _stamps(stamps, lines, when, ledger), ledger)
        in_file = float(made.kwh.sum()) - sum(one.kwh for one in ledger.repairs)
        made = repairs.sound(made, rating, ledger)
    if not len(made.kwh):
        raise ReadingsFault("No interval is left whose use is known.")
    repairs.note_temperature(made, ledger)
    tell(0.95)
    use = _frame_of(made, timezone)
    totals = {
        "kwh": float(made.kwh.sum()),
        "kwh_in_file": in_file,
        "hours": float(made.hours.sum()),
        "rows": float(len(made.kwh)),
        "rows_in_file": float(len(lines.row)),
    }
    tell(1.0)
    return Readings(use, tuple(ledger.took), tuple(ledger.repairs), _name_of(roles.quantity, counts), totals)


# --- rows ---------------------------------------------------------------------------------------------------------


def _rows(
    lines: text.Lines,
    when: times.TimeColumns,
    roles: columns.Roles,
    cells: cell_reader.Cells,
    timezone: str,
    clock: str | None,
    ledger: Ledger,
) -> repairs.Rows:
    """Rows in order of time, with instants; what could not be read is listed and left out."""
    value, row = cells.numbers[roles.value.at], lines.row
    untimed = np.isnat(cells.naive) | (np.isnat(cells.end) if cells.end is not None else False)
    if untimed.mean() > _MOST_UNREAD:
        at = int(np.flatnonzero(untimed)[0])
        raise ReadingsFault(
            f"Row {row[at]}: “{' '.join(lines.fields(at)[place] for place in when.at)[:40]}” is no "
            "time "
            f"written as {when.writings[0].example() or 'a count of seconds'}, nor are "
            f"{int(untimed.sum()) - 1}"
            " more. Write times as 2025-10-01 18:30."
        )
    for column in roles.columns():
        wrong = cells.unread[column.at]
        if len(wrong) > _MOST_UNREAD * len(row):
            raise ReadingsFault(
                f"Row {wrong[0][0]}, {column.label}: “{wrong[0][1][:40]}” is not a number, nor are "
                f"{len(wrong) - 1} more."
            )
        if wrong:
            rows_of = [one for one, _ in wrong]
            ledger.add(
                "unreadable",
                f"{len(wrong)} cells of {column.label} are not numbers (“{wrong[0][1][:20]}”) "
                "and count "
                f"as missing: {where(rows_of)}.",
                rows_of,
            )
    keep = ~untimed if untimed.any() else np.s_[:]
    made = repairs.Rows(
        cells.naive[keep],
        value[keep],
        row[keep],
        cells.numbers[roles.temp.at][keep] if roles.temp else None,
        cells.end[keep] if cells.end is not None else None,
    )
    rest = [cells.numbers[one.at][keep] if one else None for one in (roles.voltage, roles.factor)]
    if untimed.any():
        at = int(np.flatnonzero(untimed)[0])
        ledger.add(
            "time",
            f"{int(untimed.sum())} rows have no time that can be read "
            f"(“{' '.join(lines.fields(at)[place] for place in when.at)[:40]}”) and are left out: "
            f"{where(row[untimed])}.",
            row[untimed],
        )
    if not len(made.row):
        raise ReadingsFault("No row has a time that can be read.")
    if len(made.at) > 2 and (np.diff(made.at) < np.timedelta64(0)).mean() > 0.5:
        ledger.add("order", "The rows run from the newest to the oldest and were turned round.")
        made, rest = made.take(np.s_[::-1]), [None if one is None else one[::-1] for one in rest]
    made = _placed(made, when, lines.headers, timezone, clock, ledger)
    if rest[0] is not None or rest[1] is not None:
        volts, share = (1.0 if one is None else one for one in rest)
        made.value = made.value * volts * share
    if roles.temp:
        made.temp = kinds.temp_scale(roles.temp, made.temp, made.row, ledger)
    return repairs.in_order(made, ledger)


def _placed(
    rows: repairs.Rows, when: times.TimeColumns, headers: list[str], timezone: str, clock: str | None, ledger: Ledger
) -> repairs.Rows:
    """Rows whose times are instants."""
    said = " ".join(headers[at] for at in when.at).lower()
    naive = rows.at
    if when.writings[0].aware:
        clock = "utc"
        ledger.took.append("The times carry their own offset from universal time.")
    elif clock is None and (found := re.search(r"\b(utc|gmt|zulu)\b", said)):
        clock = "utc"
        ledger.took.append(f"The times are universal time, as the header says ({found[1].upper()}).")
    elif clock is None and re.search(r"\b(standard|winter)\b", said):
        clock = "standard"
        ledger.took.append(f"The times are the winter time of {timezone} all year, as the header says.")
    else:
        ledger.took.append(
            {
                "utc": "The times are universal time, as given.",
                "standard": f"The times are the winter time of {timezone} all year, as given.",
            }.get(clock, f"The times are taken as the clock on the wall in {timezone}.")
        )
    rows.at = times.instants(naive, rows.row, timezone, clock or "local", ledger)
    if rows.end is not None:
        rows.end = times.instants(rows.end, rows.row, timezone, clock or "local", Ledger())
    if clock in (None, "local"):
        times.say_clocks(rows.at, naive, timezone, ledger)
    return rows


# --- use ----------------------------------------------------------------------------------------------------------


def _stamps(stamps: str | None, lines: text.Lines, when: times.TimeColumns, ledger: Ledger) -> str:
    """Whether times name the start or the end of their interval, and a sentence on it."""
    if when.end_at:
        return "start"
    said = " ".join(lines.headers[at] for at in when.at).lower()
    ends = re.search(r"\b(end|ending|ends|until|to)\b", said)
    begins = re.search(r"\b(start|starting|from|begin|beginning)\b", said)
    if stamps is not None:
        ledger.took.append(f"Times are the {stamps}s of the intervals, as given.")
    elif bool(ends) != bool(begins):
        stamps = "end" if ends else "start"
        ledger.took.append(f"Times are the {stamps}s of the intervals, as the header says (“{(ends or begins)[1]}”).")
    else:
        stamps = "start"
        ledger.took.append('Times are taken as the starts of the intervals; give stamps="end" if they are the ends.')
    return stamps


def _of_intervals(
    rows: repairs.Rows, per_unit: float, power: bool, timezone: str, stamps: str, ledger: Ledger
) -> repairs.Intervals:
    """Energy of rows that stand for intervals, or of power that holds through them."""
    start, hours = lengths.of_rows(rows, timezone, stamps, ledger)
    kwh = rows.value * per_unit * (hours / 1000 if power else 1.0)
    made = repairs.Intervals(start, hours, kwh, rows.row, rows.temp)
    known = np.isfinite(kwh)
    return made if known.all() else made.take(known)


def _name_of(quantity: str, counts: bool) -> str:
    return next(name for name, meant in columns.KINDS.items() if meant == (quantity, counts))


def _frame_of(made: repairs.Intervals, timezone: str) -> pd.DataFrame:
    index = pd.DatetimeIndex(made.start.astype("datetime64[us]"), tz="UTC").tz_convert(
        value_parsers.time_zone(timezone)
    )
    use = pd.DataFrame({"kwh": made.kwh, "hours": made.hours}, index=index.rename("start"))
    if made.temp is not None:
        use["water_temp"] = made.temp
    return use
