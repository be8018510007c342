"""The cells of a meter file as arrays of times and numbers: at once where all is well written, else as text."""

from __future__ import annotations

import io
import re
from dataclasses import dataclass

import numpy as np
import pandas as pd

from pondheat.meter.reading import columns as columns
from pondheat.meter.reading import rows as text
from pondheat.meter.reading import timestamps as times
from pondheat.meter.reading.read_log import ReadingsFault

_CHUNK = 250_000  # lines between two reports of progress, about a thirtieth of a second
_WORDS = sorted(
    {form for word in text.WORDS for form in (word, word.upper(), word.title(), word.capitalize())}
    | {"NaN", "N/a", "n/A"}
)
_YEARS = (np.datetime64("1970-01-02"), np.datetime64("2150-01-01"))


@dataclass
class Cells:
    """Columns of the file in arrays; unread holds the first cells that are neither a number nor a known word."""

    naive: np.ndarray
    end: np.ndarray | None
    numbers: dict[int, np.ndarray]
    unread: dict[int, list[tuple[int, str]]]


def day_before_month(lines: text.Lines, when: times.TimeColumns, dates, sample, name: str) -> times.TimeColumns:
    """Where the sample does not tell day from month, all dates are looked through; `ReadingsFault` if none tells."""
    if dates or not times.undecided(when.writings, sample, when.at[0]):
        return when
    for at in range(len(lines.row)):
        found = re.match(r"(\d{1,2})[-/](\d{1,2})[-/]", lines.fields(at)[when.at[0]])
        if found and (int(found[1]) > 12) != (int(found[2]) > 12):
            if int(found[1]) > 12:
                return when
            return times.TimeColumns(when.at, when.end_at, tuple(one.exchanged() for one in when.writings))
    raise ReadingsFault(
        f"Row {lines.row[0]}: is “{lines.fields(0)[when.at[0]]}” day/month or month/day? No date of "
        f"{name} "
        'has a number above 12 to tell. Give dates="day first" or dates="month first".'
    )


def read_cells(lines: text.Lines, when: times.TimeColumns, roles: columns.Roles, tell) -> Cells:
    """The columns that have a part, read in pieces; `tell` is called with the share done."""
    wanted = roles.columns()
    count = len(lines.row)
    made = Cells(
        np.empty(count, "datetime64[us]"),
        np.empty(count, "datetime64[us]") if when.end_at else None,
        {one.at: np.empty(count) for one in wanted},
        {one.at: [] for one in wanted},
    )
    # pandas reads whole columns of ISO times fastest by that name; it takes shorter ones too, hence the lengths.
    iso = (
        len(when.at) == 1
        and not when.end_at
        and when.writings[0].format.startswith("%Y-%m-%d")
        and lines.alike(when.at[0])
    )
    for first in range(0, count, _CHUNK):
        last = min(first + _CHUNK, count)
        frame = _frame(lines, first, last, when, wanted, iso)
        made.naive[first:last] = _moments(frame, when.at, when.writings)
        if made.end is not None:
            made.end[first:last] = _moments(frame, when.end_at, when.writings)
        for one in wanted:
            made.numbers[one.at][first:last] = _numbers(frame[one.at], one, lines.row[first:last], made.unread[one.at])
        tell(last / count)
    return made


def _frame(
    lines: text.Lines, first: int, last: int, when: times.TimeColumns, wanted: list[columns.Column], iso: bool
) -> pd.DataFrame:
    """Some lines as a table: numbers and times where all are well written, else as text."""
    blob, width = lines.blob(first, last), len(lines.headers)
    used = sorted({*when.at, *when.end_at, *(one.at for one in wanted)})
    options = dict(
        sep=lines.separator,
        header=None,
        names=[str(at) for at in range(width)],
        engine="c",
        lineterminator="\n",
        index_col=False,
        usecols=[str(at) for at in used],
        keep_default_na=False,
        skip_blank_lines=False,
        quoting=0 if lines.quoted else 3,
        encoding="utf-8",
        encoding_errors="replace",
    )
    decimals = {one.decimal for one in wanted}
    if len(decimals) == 1:
        dated = dict(parse_dates=[str(when.at[0])], date_format="ISO8601") if iso else {}
        try:
            types = {str(one.at): np.float64 for one in wanted}
            types |= {str(at): object for at in (*when.at, *when.end_at) if not iso}
            frame = pd.read_csv(
                io.BytesIO(blob),
                dtype=types,
                na_values={str(one.at): _WORDS for one in wanted},
                decimal=decimals.pop(),
                **dated,
                **options,
            )
            if len(frame) == last - first:
                return frame.set_axis(used, axis=1)
        except (ValueError, OverflowError, pd.errors.ParserError):
            pass  # some cell is no number: the same lines once more, as text
    try:
        frame = pd.read_csv(io.BytesIO(blob), dtype=object, na_filter=False, **options)
        if len(frame) == last - first:
            return frame.set_axis(used, axis=1)
    except (ValueError, pd.errors.ParserError):
        pass
    return pd.DataFrame([lines.fields(at) for at in range(first, last)], columns=range(width), dtype=object)


def _moments(frame: pd.DataFrame, at: tuple[int, ...], writings) -> np.ndarray:
    cells = frame[at[0]]
    if cells.dtype.kind == "M":  # read by pandas; with an offset in every cell these are universal time
        return (
            pd.DatetimeIndex(cells).tz_localize(None).to_numpy().astype("datetime64[us]")
            if cells.dt.tz is None
            else pd.DatetimeIndex(cells).tz_convert(None).to_numpy().astype("datetime64[us]")
        )
    cells = (
        cells.astype(object).astype(str).str.strip()
        if len(at) == 1
        else cells.astype(str).str.strip() + " " + frame[at[1]].astype(str).str.strip()
    )
    made = times.parse(cells.to_numpy(object), writings)
    made[(made < _YEARS[0]) | (made > _YEARS[1])] = np.datetime64("NaT")
    return made


def _numbers(cells: pd.Series, column: columns.Column, row: np.ndarray, unread: list[tuple[int, str]]) -> np.ndarray:
    if cells.dtype.kind == "f":
        number = cells.to_numpy().copy()
        wrong = np.isinf(number)
        told = number.astype(str)[wrong] if wrong.any() else ()
    else:
        plain = cells.astype(str).map(columns.plain_text)
        other = "," if column.decimal == "." else "."
        grouped = plain.str.fullmatch(rf"[-+]?\d{{1,3}}(?:\{other}\d{{3}})+(?:\{column.decimal}\d*)?")
        plain = (
            plain.mask(grouped, plain.str.replace(other, "", regex=False))
            if column.decimal == "," or plain.str.contains(r",\d{3}\b").mean() > 0.3
            else plain
        )
        if column.decimal == ",":
            plain = plain.mask(plain.str.contains(".", regex=False), "?").str.replace(",", ".", regex=False)
        number = pd.to_numeric(plain, errors="coerce").to_numpy(float).copy()
        strange = plain.str.contains(r"[^0-9.eE+-]").to_numpy(bool)  # “inf”, “0x1f”, “1_000”
        number[strange] = np.nan
        known = cells.astype(str).str.strip().str.strip('"').str.lower().isin(text.WORDS).to_numpy()
        wrong = (~np.isfinite(number)) & ~known
        told = cells.astype(str).to_numpy()[wrong]
    if wrong.any():
        number[wrong] = np.nan
        unread.extend(zip(row[wrong].tolist(), told))
    return number
