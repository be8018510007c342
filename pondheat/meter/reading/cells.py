"""Times and numbers of a meter file as arrays: parsed by pandas if every cell is well formed, otherwise as text."""

from __future__ import annotations

import io
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import pandas as pd

from pondheat.core.tables import rows as table_reader
from pondheat.core.tables import time_formats
from pondheat.core.tables import timestamps as times
from pondheat.core.tables.numbers import to_floats
from pondheat.meter.reading import cell_text, columns
from pondheat.meter.reading.headers import QUANTITY_OF_UNIT, UNIT_FACTOR

_CHUNK = 100_000  # lines between two progress reports; each needs some 300 bytes while it is read as text
_MISSING_SPELLINGS = sorted(
    {form for word in table_reader.MISSING_WORDS for form in (word, word.upper(), word.title(), word.capitalize())}
    | {"NaN", "N/a", "n/A"}
)
_EARLIEST_LATEST = (np.datetime64("1970-01-02"), np.datetime64("2150-01-01"))


@dataclass
class Cells:
    """Columns of the file as arrays. invalid: (row, text) of cells that are neither numbers nor words for “missing”."""

    naive: np.ndarray
    end: np.ndarray | None
    numbers: dict[int, np.ndarray]
    invalid: dict[int, list[tuple[int, str]]]


def settle_day_month_from_file(
    lines: table_reader.Lines, time_columns: times.TimeColumns, dates, sample, name: str
) -> times.TimeColumns:
    """Search all dates for a day above 12 where the sample settles nothing; raises ReadingsFault if there is none."""
    if dates or not times.day_month_unknown(time_columns.formats, sample, time_columns.at[0]):
        return time_columns
    cells = lines.column_text(time_columns.at[0])
    formats = times.settled_by_dates(cells, lines.row, time_columns.formats, sample, time_columns.at[0], name)
    return replace(time_columns, formats=formats)


def read_cells(lines: table_reader.Lines, time_columns: times.TimeColumns, roles: columns.Roles, tell) -> Cells:
    """Parse the columns that have a role, in chunks; `tell` is called with the share done."""
    used_columns = roles.columns()
    count = len(lines.row)
    cells = Cells(
        np.empty(count, "datetime64[us]"),
        np.empty(count, "datetime64[us]") if time_columns.end_at else None,
        {one.at: np.empty(count) for one in used_columns},
        {one.at: [] for one in used_columns},
    )
    # pandas parses ISO times fastest, but also accepts truncated ones: hence the check of the width.
    is_iso = (
        len(time_columns.at) == 1
        and not time_columns.end_at
        and time_columns.formats[0].format.startswith("%Y-%m-%d")
        and lines.has_fixed_width(time_columns.at[0])
    )
    for first in range(0, count, _CHUNK):
        last = min(first + _CHUNK, count)
        frame = _read_as_table(lines, first, last, time_columns, used_columns, is_iso)
        cells.naive[first:last] = _parse_times(frame, time_columns.at, time_columns.formats)
        if cells.end is not None:
            cells.end[first:last] = _parse_times(frame, time_columns.end_at, time_columns.formats)
        for one in used_columns:
            cells.numbers[one.at][first:last] = _parse_numbers(
                frame[one.at], one, lines.row[first:last], cells.invalid[one.at]
            )
        tell(last / count)
    return cells


def _read_as_table(
    lines: table_reader.Lines,
    first: int,
    last: int,
    time_columns: times.TimeColumns,
    used_columns: list[columns.Column],
    is_iso: bool,
) -> pd.DataFrame:
    """A range of lines as a table: parsed where every cell is well formed, otherwise as text."""
    blob, width = lines.raw_lines(first, last), len(lines.headers)
    used = sorted({*time_columns.at, *time_columns.end_at, *(one.at for one in used_columns)})
    options = lines.csv_options | dict(
        names=[str(at) for at in range(width)],
        usecols=[str(at) for at in used],
        lineterminator="\n",
        keep_default_na=False,
    )
    decimals = {one.decimal for one in used_columns}
    if len(decimals) == 1:
        dated: dict[str, Any] = dict(parse_dates=[str(time_columns.at[0])], date_format="ISO8601") if is_iso else {}
        try:
            types: dict[str, type] = {str(one.at): np.float64 for one in used_columns}
            types |= {str(at): object for at in (*time_columns.at, *time_columns.end_at) if not is_iso}
            frame = pd.read_csv(
                io.BytesIO(blob),
                dtype=types,
                na_values={str(one.at): _MISSING_SPELLINGS for one in used_columns},
                decimal=decimals.pop(),
                **dated,
                **options,
            )
            if len(frame) == last - first:
                return frame.set_axis(used, axis=1)
        except (ValueError, OverflowError, pd.errors.ParserError):
            pass  # a cell is not a number: read the same lines again as text
    try:
        frame = pd.read_csv(io.BytesIO(blob), dtype=object, na_filter=False, **options)
        if len(frame) == last - first:
            return frame.set_axis(used, axis=1)
    except (ValueError, pd.errors.ParserError):
        pass
    return pd.DataFrame([lines.fields(at) for at in range(first, last)], columns=range(width), dtype=object)


def _parse_times(frame: pd.DataFrame, at: tuple[int, ...], formats: tuple[time_formats.TimeFormat, ...]) -> np.ndarray:
    """Naive times of a table's time columns; NaT where a cell is not a time or is far from any meter's lifetime."""
    cells = frame[at[0]]
    if cells.dtype.kind == "M":  # parsed by pandas; with an offset in every cell they are UTC
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
    parsed = time_formats.parse(cells.to_numpy(object), formats)
    parsed[(parsed < _EARLIEST_LATEST[0]) | (parsed > _EARLIEST_LATEST[1])] = np.datetime64("NaT")
    return parsed


def _unit_factors(cells: pd.Series, column: columns.Column) -> np.ndarray:
    """What each cell is to be multiplied by where it names its own unit: NaN where that can't be the column's."""
    factors = {
        unit: UNIT_FACTOR[unit] / UNIT_FACTOR[column.unit]
        if column.unit and QUANTITY_OF_UNIT[unit] == QUANTITY_OF_UNIT[column.unit]
        else np.nan
        for unit in UNIT_FACTOR
    }
    return cells.astype(str).map(cell_text.unit_of_cell).map({"": 1.0} | factors).to_numpy(float)


def _parse_numbers(
    cells: pd.Series, column: columns.Column, row: np.ndarray, invalid: list[tuple[int, str]]
) -> np.ndarray:
    """Numbers of a column, NaN where missing; cells that cannot be read are added to `invalid`."""
    if cells.dtype.kind == "f":
        number = cells.to_numpy().copy()
        unreadable = np.isinf(number)
        texts = number.astype(str)[unreadable] if unreadable.any() else ()
    else:
        cleaned = cells.astype(str).map(cell_text.plain_text)
        number = to_floats(cleaned, column.decimal)
        number *= _unit_factors(cells, column)
        known = cells.astype(str).str.strip().str.strip('"').str.lower().isin(table_reader.MISSING_WORDS).to_numpy()
        unreadable = (~np.isfinite(number)) & ~known
        texts = cells.astype(str).to_numpy()[unreadable]
    if unreadable.any():
        number[unreadable] = np.nan
        invalid.extend(zip(row[unreadable].tolist(), texts))
    return number
