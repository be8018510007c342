"""Reads price files: any table of times and prices, at a step up to an hour, as meter logs are read.

What a price file leaves out or says twice is refused, as a guessed price would be worth nothing.
"""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pandas as pd

from pondheat.core import units, value_parsers
from pondheat.core.errors import OtherCurrency
from pondheat.core.files import read_input, why_not_read
from pondheat.core.number_format import counted
from pondheat.core.tables import grids, time_formats, timestamps
from pondheat.core.tables.containers import unpacked
from pondheat.core.tables.header_lines import split
from pondheat.core.tables.numbers import likely_decimal_mark, to_floats, ungrouped
from pondheat.core.tables.read_log import OptionNames, ReadingsFault, ReadLog, rows_text
from pondheat.core.tables.rows import MISSING_WORDS, Lines, read_table, require_plausible_span
from pondheat.core.tables.shapes import reshaped
from pondheat.core.tables.stray_rows import is_summary
from pondheat.core.units import Unreadable
from pondheat.money import price_columns, price_series
from pondheat.money.price_series import PriceSeries
from pondheat.money.stated_in_file import OF_TARIFF, ZoneOption

_NO_TIME = "{}, row {}: “{}” is not a time: write 2025-01-03T04:30Z."
# A zone with the clock that these offsets of winter and summer tell, as in “MTU (CET/CEST)”.
_CLOCKS = {
    frozenset(("+00:00", "+01:00")): "Europe/London",
    frozenset(("+01:00", "+02:00")): "Europe/Berlin",
    frozenset(("+02:00", "+03:00")): "Europe/Helsinki",
}
_ENDS = re.compile(r"\b(?:end|ends|ending|ende|fin|einde)\b")


def read(
    path: Path,
    currency: units.Currency,
    timezone: str | None = None,
    dates: str | None = None,
    of: str | None = None,
    asked: ZoneOption = OF_TARIFF,
) -> PriceSeries:
    """Read prices from a table with times and a price, whose column is named as in `price_columns.PRICES`.

    A time is the start of its step unless its header says otherwise, with its offset from UTC
    (``2025-01-03T04:30Z``), or by the clock of `timezone` (IANA name, or “UTC”), in any spelling that a meter log may
    have. A second time is the end of each step, which may then be longer than the shortest. dates: “day first” or
    “month first”, where the dates don't show it; of: the region or product to read, where a column names several;
    asked: how the caller's reader gives the zone. The unit is that of the header (``price [p/kWh]``, ``EUR/MWh``), of a
    column of units, or of the cells (“£0.25”); without one prices are [money/kWh], if their size leaves no doubt. Other
    columns are ignored. Raises `Unreadable` with row and reason, `OtherCurrency` where the unit is another currency's.
    """
    path = Path(path)
    asks = OptionNames(
        "prices_dates = ", "prices_of = ", f"another {asked.name}", "gives several prices for", " in the tariff"
    )
    read_log = ReadLog(asks=asks)
    try:
        return _series(_table(path, read_log), currency, timezone, dates, of, read_log, asked)
    except Unreadable as wrong:
        kind = OtherCurrency if isinstance(wrong, OtherCurrency) else Unreadable
        raise kind(str(wrong) if path.name in str(wrong) else f"{path.name}: {wrong}") from None


def _table(path: Path, read_log: ReadLog) -> Lines:
    """The rows of a file that have a time and a price; raises `Unreadable` for others than totals."""
    try:
        data = read_input(path)
    except OSError as wrong:
        raise Unreadable(f"The price file {path} could not be read: {why_not_read(wrong)}") from None
    lines = read_table(unpacked(data, path.name, None, read_log, option=None), path.name, read_log, prices=True)
    text = lines.data.decode("utf-8", "replace").split("\n")
    header = [split(one, lines.separator) for one in lines.preamble.split("\n")]
    for repair in read_log.repairs:
        for row in repair.rows:
            fields = split(text[row - 1], lines.separator)
            remark = len(fields) == 1 and fields[0][:1].isalpha()
            if not (remark or is_summary(fields[0]) or fields in header):
                raise Unreadable(f"{path.name}, row {row}: a time and a price are needed, not “{text[row - 1][:40]}”.")
    return lines


def _series(
    lines: Lines,
    currency: units.Currency,
    timezone: str | None,
    dates: str | None,
    of: str | None,
    read_log: ReadLog,
    asked: ZoneOption,
) -> PriceSeries:
    """The prices of a table."""
    name, near = lines.name, " ".join([lines.preamble, *lines.headers])
    lines = reshaped(
        _named_times_first(lines), timezone or asked.default or "UTC", read_log,
        dates=dates, device=of, unit=None, kind=None, energy=False,
    )  # fmt: skip
    if lines.own_times:
        dates = None
        lines.headers = [f"price {near}" if head.startswith("use") else head for head in lines.headers]
    if lines.own_times and (timezone or asked.default) is None:
        raise Unreadable(
            f"{name}: its periods are counted from midnight, but in which zone? Write "
            'prices_timezone = "Europe/London" (or "UTC") into the tariff.'
        )
    times = _time_columns(lines, dates, read_log)
    starts_text = _joined(lines, times.at)
    lines = _timed(lines, times, starts_text, read_log)
    formats = times.formats
    if dates is None:
        formats = timestamps.settled_by_dates(
            lines.column_text(times.at[0]), lines.row, formats, lines.sample(), times.at[0], name, read_log.asks
        )
    zone, offsets = _zone(lines, times, timezone, asked)
    clock = _CLOCKS.get(frozenset(offsets.values()))
    told_by_header = zone is None and asked.default is not None and clock is not None
    zone = zone or (clock if told_by_header else asked.default)
    starts = _instants(_joined(lines, times.at), lines, formats, zone, clock, asked)
    _require_offsets(starts, offsets, zone, name, asked)
    require_plausible_span(starts.astype("datetime64[s]"), lines.row)
    taken = {*times.at, *times.end_at}
    at, choice = _price_column(lines, taken, currency)
    published = _published(lines.column_text(at), starts)
    if not published.all():
        starts = starts[published]
        lines.keep(published)
        said = f"{counted(int((~published).sum()), 'row', 'rows')} at the end have no price yet, left out."
        choice = f"{choice} {said}".strip()
    prices, note = _prices(lines, at, taken, currency)
    note += [choice] if choice else []
    timestamps.describe_time(times, lines.headers, read_log)
    notes = [one for one in read_log.interpretation if not one.startswith("Columns are separated")] + note
    notes += [f"Times are by the clock of {zone}, as the header names {'/'.join(offsets)}."] if told_by_header else []
    if times.end_at:
        ends = _instants(_joined(lines, times.end_at), lines, formats, zone, clock, asked, empty=True)
        if times.end_at[0] == times.at[0]:  # one date: 00:00 ends its day
            ends = np.where(ends < starts, ends + 86_400, ends)
        starts, prices = price_series.by_steps(starts, ends, prices, lines.row, name)
    elif _ENDS.search(" ".join(lines.headers[at] for at in times.at).lower()):
        starts = starts - int(np.diff(np.unique(starts)).min(initial=price_series.HOUR))
        notes.append("Times are the ends of the steps, as the header says.")
    return price_series.validated(starts, prices, name, currency, tuple(notes))


def _named_times_first(lines: Lines) -> Lines:
    """The start and end that headers name as such come first; other times, such as of publication, are left out."""
    sample = lines.sample()
    dated = [
        at
        for at in range(len(lines.headers))
        if any(time_formats.time_format_of(fields[at])[0] not in ("", time_formats.CLOCK_ONLY) for fields in sample)
    ]
    changing = [at for at in dated if len({fields[at] for fields in sample}) > 1]
    named = {at: price_columns.column_name(lines.headers[at]) for at in dated}
    starts, ends = ([at for at in dated if named[at] in known] for known in (price_columns.TIMES, price_columns.ENDS))
    first = starts[:1] + ends[:1] if starts else changing or dated  # one that never changes is that of the whole file
    if dated == first:
        return lines
    order = [*first, *(at for at in range(len(lines.headers)) if at not in dated)]
    columns = [lines.column_text(at) for at in order]
    return grids.of_columns(lines, [lines.headers[at] for at in order], columns, lines.row, own_times=False)


def _time_columns(lines: Lines, dates: str | None, read_log: ReadLog) -> timestamps.TimeColumns:
    """The columns of the times; where there are none, raises `Unreadable` for the first cell of one named so."""
    try:
        return timestamps.find_time_columns(lines.sample(), lines.headers, dates, lines.name, read_log.asks)
    except ReadingsFault:
        for at, head in enumerate(lines.headers):
            if price_columns.column_name(head) in price_columns.TIMES:
                for row, cell in zip(lines.row, lines.column_text(at)):
                    if not time_formats.time_format_of(cell)[0]:
                        raise Unreadable(_NO_TIME.format(lines.name, row, cell[:40])) from None
        raise


def _joined(lines: Lines, at: tuple[int, ...]) -> np.ndarray:
    """The cells of a time's columns as one text, one for each row."""
    return np.array([" ".join(cells) for cells in zip(*(lines.column_text(one) for one in at))], object)


def _timed(lines: Lines, times: timestamps.TimeColumns, text: np.ndarray, read_log: ReadLog) -> Lines:
    """Rows without totals, means and repeated headers; raises `Unreadable` for other rows without a time."""
    plain = tuple(time_formats.TimeFormat(one.format, one.unit, one.aware) for one in times.formats)
    other = tuple(one.swapped() for one in times.formats)
    bad = np.flatnonzero(np.isnat(time_formats.parse(text, plain)) & np.isnat(time_formats.parse(text, other)))
    if not len(bad):
        return lines
    heads = {lines.headers[at] for at in times.at}
    for at in bad:
        if not is_summary(text[at]) and not heads & {text[at], *lines.fields(int(at))}:
            raise Unreadable(_NO_TIME.format(lines.name, lines.row[at], text[at][:40]))
    read_log.interpretation.append(
        f"{counted(len(bad), 'row', 'rows')} of totals or heads left out: {rows_text(lines.row[bad])}."
    )
    lines.keep(~np.isin(np.arange(len(lines.row)), bad))
    return lines


def _zone(
    lines: Lines, times: timestamps.TimeColumns, timezone: str | None, asked: ZoneOption
) -> tuple[str | None, dict[str, str]]:
    """The zone of the times' clock, also where the header or a line above the table names it; and the short names of
    zones there, such as “CET”, with their offsets."""
    above = time_formats.ZONE_ABOVE.search(lines.preamble)
    said = " ".join(lines.headers[at] for at in times.at) + (f" {above[1]}" if above else "")
    named = {one.upper(): time_formats.ZONE_NAMES[one.upper()] for one in time_formats.NAMED_ZONE.findall(said)}
    if above and above[1].strip() in value_parsers.zone_names():
        found = above[1].strip()
    elif set(named.values()) == {"+00:00"}:
        found = "UTC"
    else:
        return timezone, named
    if timezone is not None and timezone != found:
        raise Unreadable(
            f"{lines.name}: its header says {found}, but {asked.said} {asked.form.format(timezone)}. Which is it? "
            f"{asked.verb} {asked.form.format(found)}, or take {found} out of the file."
        )
    return found, {}


def _require_offsets(starts: np.ndarray, named: dict[str, str], zone: str | None, name: str, asked: ZoneOption) -> None:
    """Raise `Unreadable` where the clocks of a zone never show a time of the short names in the header."""
    if not named or zone is None:
        return
    moments = pd.DatetimeIndex(starts.astype("datetime64[s]"), tz="UTC").tz_convert(value_parsers.time_zone(zone))
    shown = {f"{one[:3]}:{one[3:]}" for one in set(moments.strftime("%z"))}
    if not shown <= set(named.values()):
        raise Unreadable(
            f"{name}: its header says {', '.join(sorted(named))}, but the clocks of {zone} show another time. "
            f"{asked.verb} the {asked.name} of the file's own clock, or take that out of the header."
        )


def _instants(
    texts: np.ndarray,
    lines: Lines,
    formats: tuple[time_formats.TimeFormat, ...],
    timezone: str | None,
    of_header: str | None,
    asked: ZoneOption,
    empty: bool = False,
) -> np.ndarray:
    """Seconds since 1970 UTC, one for each of the lines; times without an offset are by the clock of `timezone`.

    of_header: zone that the header tells, suggested where there is no other, or another skips a time; empty: whether a
    cell may hold no time; it then has the smallest integer.
    """
    name, row = lines.name, lines.row
    aware = time_formats.parse(texts, tuple(one for one in formats if one.aware or one.unit))
    naive = time_formats.parse(texts, tuple(one for one in formats if not (one.aware or one.unit)))
    local = np.flatnonzero(np.isnat(aware) & ~np.isnat(naive))
    nothing = np.flatnonzero(np.isnat(aware) & np.isnat(naive))
    if len(nothing) and not empty:
        at = nothing[0]
        raise Unreadable(_NO_TIME.format(name, row[at], texts[at][:40]))
    if len(local) and timezone is None:
        at = local[0]
        raise Unreadable(
            f"{name}, row {row[at]}: “{texts[at]}” carries no zone: end it with Z for UTC or +01:00, say; or "
            f'write prices_timezone = "{of_header or "Europe/London"}" (or "UTC") into the tariff.'
        )
    found = aware.astype("datetime64[s]").astype(np.int64)
    if len(local) and timezone is not None:
        clock = pd.DatetimeIndex(naive[local].astype("datetime64[s]"))
        zone = value_parsers.time_zone(timezone)
        # Of an hour shown twice the later one is winter's, in files that run backwards the first.
        again = pd.Series(clock).duplicated(keep="last" if clock[0] > clock[-1] else "first").to_numpy()
        moments = clock.tz_localize(zone, ambiguous=~again, nonexistent="NaT")
        if moments.isna().any():
            at = local[int(np.flatnonzero(moments.isna())[0])]
            other = f"Is {asked.form.format(of_header or 'UTC')} meant?"
            hint = "Correct it, or the zone in the header." if of_header == timezone else other
            wrong = f"{name}, row {row[at]}: {texts[at]} does not exist in {timezone}, the clocks skip it."
            raise Unreadable(f"{wrong} {hint}")
        found[local] = moments.as_unit("s").asi8
    return found


def _price_column(lines: Lines, taken: set[int], currency: units.Currency) -> tuple[int, str]:
    """Position of the column of prices, and a note on the choice; taken: positions of the columns of times."""
    sample = lines.sample()
    numeric = [
        at
        for at in range(len(lines.headers))
        if at not in taken
        and (
            price_columns.column_name(lines.headers[at]) in price_columns.PRICES
            or sum(bool(price_columns.apart(fields[at])[0]) for fields in sample) > len(sample) / 2
        )
    ]
    return price_columns.price_column(lines, numeric, currency)


def _published(cells: np.ndarray, starts: np.ndarray) -> np.ndarray:
    """Whether each row has a price, or an empty cell before another price; the latest may not be published yet."""
    empty = np.array([cell.casefold() in MISSING_WORDS - {"nan"} for cell in cells])
    return (starts <= starts[~empty].max()) if empty.any() and not empty.all() else np.ones(len(cells), bool)


def _prices(lines: Lines, at: int, taken: set[int], currency: units.Currency) -> tuple[np.ndarray, list[str]]:
    """The prices of a column [money/kWh], and how they were read; taken: positions of the columns of times."""
    cells = lines.column_text(at)
    parts = [price_columns.apart(cell) for cell in cells]
    bare = [ungrouped(number) for number, _ in parts]
    numbers = to_floats(pd.Series(bare, dtype=object), likely_decimal_mark(bare) or ",")
    wrong = np.flatnonzero(~np.isfinite(numbers))
    if len(wrong):
        raise Unreadable(
            f"{lines.name}, row {lines.row[wrong[0]]}: “{cells[wrong[0]][:40]}” is not a price: write a number, as in "
            "24.5."
        )
    said = price_columns.stated_units(lines, at, taken, currency)
    for text in sorted({unit for _, unit in parts}):
        first = next(row for row, (_, unit) in zip(lines.row, parts) if unit == text)
        unit = price_columns.unit_in_text(text, currency, f"row {first}") if text else None
        if text and unit is None or not text and len({unit for _, unit in parts}) > 1 and not said:
            raise Unreadable(
                f"{lines.name}, row {first}: “{cells[lines.row == first][0][:40]}” is not a price like the others: "
                "write them all in one unit, as in 24.5."
            )
        said += [unit] if unit else []
    factor, stated = price_columns.factor_of(said, lines.name, currency)
    prices = factor * numbers
    if not stated:
        price_series.require_sure_size(prices, price_columns.label(lines, at), lines.name, currency)
    judged = "" if stated else ", judged by their size"
    notes = [f"The prices are in {price_columns.label(lines, at)}, {_unit_text(factor, currency)}{judged}."]
    if np.abs(prices).max() < 0.01 and currency.code in units.CURRENCIES:
        notes.append(f"Check the unit: all the prices are below 1 {currency.hundredth}/kWh.")
    return prices, notes


def _unit_text(factor: float, currency: units.Currency) -> str:
    """A unit of price by what it is in money/kWh."""
    money, energy = (currency.hundredth, factor * 100) if round(factor * 1e5) in (1000, 1) else (currency.sign, factor)
    return f"{money}/{'kWh' if energy > 0.5 else 'MWh'}"
