"""The bytes of a table as plain text: encoding, line ends, control characters."""

from __future__ import annotations

import re
import unicodedata
from pathlib import Path

import numpy as np

from pondheat.core.files import NotRead, read_input
from pondheat.core.number_format import counted
from pondheat.core.tables.read_log import ReadingsFault, ReadLog


def read_bytes(source: Path | bytes | str) -> tuple[bytes, str]:
    """The file's contents, and its name for messages; raises ReadingsFault if it cannot be read."""
    if isinstance(source, (bytes, bytearray)):
        return bytes(source), "the file"
    if not isinstance(source, (str, Path)) or "\0" in str(source):
        raise ReadingsFault("Give the meter file as a path or as its bytes.")
    try:
        return read_input(Path(source)), Path(source).name
    except NotRead as wrong:
        raise ReadingsFault(str(wrong)) from None
    except OSError as misfit:
        raise ReadingsFault(
            f"The meter file {str(source)[:200]} could not be read: {misfit.strerror or 'no such file'}."
        ) from None


def as_text(data: bytes, name: str, read_log: ReadLog) -> str:
    """The file as text with “\\n” line ends, whatever its encoding; raises ReadingsFault for anything but text."""
    return normalised(data, name, read_log).decode("utf-8")


def normalised(data: bytes, name: str, read_log: ReadLog) -> bytes:
    """The file as UTF-8 with “\\n” line ends; control characters become “?”, so that their cells are not read."""
    text, encoding = decoded(data, name)
    if encoding:
        read_log.interpretation.append(f"{'The file' if name == 'the file' else name} was read as {encoding}.")
        data = text.encode("utf-8")
    if b"\r" in data:
        data = data.replace(b"\r\n", b"\n").replace(b"\r", b"\n")
    buffer = np.frombuffer(data, np.uint8)
    if ((buffer < 9) | (buffer - np.uint8(11) < 21)).any():  # 0 to 8 and 11 to 31
        odd = data.translate(None, bytes(byte for byte in range(256) if byte >= 32 or byte in (9, 10)))
        if len(odd) > 0.05 * len(data):
            raise ReadingsFault(
                f"{name} is not a text file ({len(odd)} of {len(data)} bytes are control characters). Save the table "
                "as CSV, which is plain text."
            )
        at = next(place for place, byte in enumerate(data) if byte in odd)
        data = data.translate(bytes(byte if byte >= 32 or byte in (9, 10) else ord("?") for byte in range(256)))
        read_log.add_repair(
            "text",
            f"The file contains {counted(len(odd), 'control character', 'control characters')}, the first in row "
            f"{data[:at].count(10) + 1}; cells that hold one are not read.",
        )
    return data


def decoded(data: bytes, name: str) -> tuple[str, str]:
    """Decoded text and the name of its encoding; both empty for plain UTF-8, which needs no decoding."""
    if not data[:4096].strip() and not data.strip():
        raise ReadingsFault(f"{name} is empty: it should be a table of times and readings.")
    zeros = [data[offset:4096:2].count(0) for offset in (0, 1)]
    for mark, codec in ((b"\xff\xfe", "utf-16-le"), (b"\xfe\xff", "utf-16-be")):
        little = codec.endswith("le")
        if data.startswith(mark) or (zeros[little] > 0.3 * len(data[:4096]) / 2 > zeros[not little] * 3):
            return data.removeprefix(mark).decode(
                codec, "replace"
            ), f"UTF-16 ({'little' if little else 'big'} end first)"
    if data.startswith(b"\xef\xbb\xbf"):
        return data[3:].decode("utf-8", "replace"), "UTF-8 with a byte order mark"
    try:
        if not data.isascii():
            data.decode("utf-8")
        return "", ""
    except UnicodeDecodeError:
        return data.decode("cp1252", "replace"), "cp1252 (Western European Windows), as it is not UTF-8"


def plain_letters(text: str) -> str:
    """Text in lower case without accents: “Température” becomes “temperature”, “Außen” becomes “aussen”.

    >>> plain_letters("Bewölkung"), plain_letters("Außentemperatur")
    ('bewolkung', 'aussentemperatur')
    """
    folded = text.casefold()
    if folded.isascii():
        return folded
    apart = unicodedata.normalize("NFKD", folded)
    return "".join(letter for letter in apart if not unicodedata.combining(letter))


def require_table(data: bytes, name: str) -> None:
    """Raise ReadingsFault for a file in another form than a table."""
    begin = data[:400].lstrip().lower()
    what = "a web page" if re.match(rb"<(!doctype html|html|table)", begin) else "XML" if begin[:1] == b"<" else ""
    if what or re.match(rb'[\[{]\s*["\[{]', begin):
        raise ReadingsFault(
            f"{name} is {what or 'JSON'}, not a table: it begins “{begin[:20].decode('utf-8', 'replace')}”. "
            "Export it as CSV or as a workbook (.xlsx), or open it in a spreadsheet and save it as CSV."
        )
