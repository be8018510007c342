"""Unpacks tables from gzip files and from spreadsheet workbooks (.xlsx)."""

from __future__ import annotations

import datetime as dt
import gzip
import io
import zipfile
import zlib

import pandas as pd

from pondheat.core.files import LARGEST
from pondheat.core.tables.read_log import ReadingsFault, ReadLog

_GZIP, _ZIP, _OLD_WORKBOOK, _PDF = b"\x1f\x8b", b"PK\3\4", b"\xd0\xcf\x11\xe0", b"%PDF"
_TOO_LARGE = f"is larger than {LARGEST // 1_000_000} MB once unpacked: split it into years or months."


def unpacked(
    data: bytes, name: str, worksheet: str | None, read_log: ReadLog, option: str | None = 'worksheet="…"'
) -> bytes:
    """The text of a table, unpacked if need be; a worksheet becomes tab-separated lines, row for row.

    worksheet: which one to read in a workbook with several: its name, or its number from 1 as text; option: how the
    reader gives it, for messages, None where it can't be given. Raises ReadingsFault for what cannot be unpacked, and
    where it is not clear which sheet of a workbook to read.
    """
    if data.startswith(_GZIP):
        data = _gunzipped(data, name)
        read_log.interpretation.append(f"{name} was unpacked (gzip).")
    if data.startswith(_PDF):
        raise ReadingsFault(f"{name} is a PDF document, not a table. Export the table as CSV.")
    if data.startswith(_OLD_WORKBOOK):
        raise ReadingsFault(f"{name} is an old Excel workbook (.xls). Save it as .xlsx or as CSV.")
    if data.startswith(_ZIP):
        return _worksheet(data, name, worksheet, option, read_log)
    if worksheet is not None:
        raise ReadingsFault(
            f"{_written(option, worksheet)} was given, but {name} is not a workbook. Leave that option out."
        )
    return data


def _gunzipped(data: bytes, name: str) -> bytes:
    try:
        with gzip.GzipFile(fileobj=io.BytesIO(data)) as packed:
            found = packed.read(LARGEST + 1)
    except (OSError, EOFError, zlib.error):
        raise ReadingsFault(f"{name} is a gzip file, but it is damaged or cut short. Download it again.") from None
    if len(found) > LARGEST:
        raise ReadingsFault(f"{name} {_TOO_LARGE}")
    return found


def _worksheet(data: bytes, name: str, chosen: str | None, option: str | None, read_log: ReadLog) -> bytes:
    """One sheet of a workbook as text."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            parts = archive.infolist()
    except zipfile.BadZipFile:
        raise ReadingsFault(
            f"{name} is a workbook or an archive, but it is damaged or cut short. Download it again, or save the table "
            "as CSV."
        ) from None
    if not any(part.filename == "xl/workbook.xml" for part in parts):
        raise ReadingsFault(f"{name} is an archive or a document, not a table. Unpack it, or save the table as CSV.")
    if sum(part.file_size for part in parts) > LARGEST:
        raise ReadingsFault(f"{name} {_TOO_LARGE}")
    try:
        sheets = pd.read_excel(io.BytesIO(data), sheet_name=None, header=None, dtype=object, engine="openpyxl")
    except ImportError:
        raise ReadingsFault(
            f"{name} is a workbook, and openpyxl, the package that reads workbooks, is not installed. Save it as CSV."
        ) from None
    except Exception as wrong:  # openpyxl raises whatever its XML parser or a missing part raises
        raise ReadingsFault(
            f"{name} is a workbook that cannot be read ({type(wrong).__name__}). Save it as CSV."
        ) from None
    full = {str(title): table for title, table in sheets.items() if table.notna().to_numpy().any()}
    if not full:
        raise ReadingsFault(f"Every sheet of {name} is empty. Put the table into one, or save it as CSV.")
    title = _chosen_title(list(full), list(map(str, sheets)), chosen, option, name)
    if len(full) > 1:
        read_log.interpretation.append(f"Reading the sheet “{title}” of {name}.")
    return _as_lines(full[title])


def _as_lines(sheet: pd.DataFrame) -> bytes:
    """A sheet as tab-separated lines; dates alone are written without a clock time, which is in another column."""
    table = sheet.copy()
    for column in table:
        moments = [one for one in table[column] if isinstance(one, dt.datetime) and pd.notna(one)]
        if moments and not any(one.hour or one.minute or one.second for one in moments):
            table[column] = [
                one.date() if isinstance(one, dt.datetime) and pd.notna(one) else one for one in table[column]
            ]
    lines = ("\t".join(map(_cell, row)) for row in table.itertuples(index=False))
    return ("\n".join(lines) + "\n").encode("utf-8")


def _chosen_title(full: list[str], every: list[str], chosen: str | None, option: str | None, name: str) -> str:
    """The title of the sheet to read; raises ReadingsFault where that is not clear."""
    listed = ", ".join(f"“{title}”" for title in full)
    if chosen is not None:
        by_number = dict(zip(map(str, range(1, len(every) + 1)), every))
        same = [title for title in full if title.casefold() == chosen.strip().casefold()]
        title = same[0] if same else by_number.get(chosen.strip(), "")
        if title not in full:
            raise ReadingsFault(
                f"{name} has no sheet “{chosen[:40]}” with anything in it. Give {option}, one of {listed}."
            )
        return title
    if len(full) > 1:
        cure = "Save it as CSV" if option is None else f"Give {option} (its name or number)"
        raise ReadingsFault(f"Which sheet of {name} should be read: {listed}? {cure}.")
    return full[0]


def _written(option: str | None, value: str) -> str:
    """An option as the reader gave it."""
    return str(option).replace("…", value[:40])


def _cell(value) -> str:
    """A cell as text: times to the second, whole numbers without a decimal point, "" for an empty cell."""
    if value is None or (isinstance(value, float) and value != value) or value is pd.NaT:
        return ""
    if isinstance(value, dt.datetime):
        moment = pd.Timestamp(value).round("s")  # a workbook keeps days as fractions
        return f"{moment:%Y-%m-%d %H:%M:%S}"
    if isinstance(value, dt.timedelta):
        hours = value / dt.timedelta(hours=1)
        return f"{int(hours)}:{round(hours % 1 * 60):02d}"
    if isinstance(value, float) and value.is_integer() and abs(value) < 1e15:
        return str(int(value))
    return " ".join(str(value).split())
