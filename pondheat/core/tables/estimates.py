"""Which readings are marked as estimated: by “E” and “A”, or by words for them, in a column beside the readings."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from pondheat.core.tables.decoding import plain_letters
from pondheat.core.tables.read_log import ReadingsFault, ReadLog
from pondheat.core.tables.rows import UNIT_WORD, Lines

USE = "use"  # the option's word for counting estimates like any other reading
# Beginnings of words, in lower case and without accents: English, German, French, Dutch.
_ESTIMATED = ("estim", "geschatz", "schatz", "geschat", "ersatzwert", "substitut", "interpol", "extrapol", "prorat")
_FAULTY = ("invalid", "faulty", "suspect", "questionable", "ungultig", "fehlerhaft", "invalide", "ongeldig")
_MARKS = {"e", "est", "ee", "s", "sub", "bad", "calculated", "forecast", "provisional", "vorlaufig", "berekend"}
_ACTUAL = {"a", "act", "actual", "r", "real", "m", "measured", "v", "valid", "ok", "good", "normal", "w", "c", "read"}
_YES = {"yes", "y", "true", "1", "x", "ja", "oui", "wahr", "vrai", "waar", "j", "o"}
_NO = {"no", "n", "false", "0", "nein", "non", "nee", "falsch", "faux", "onwaar", ""}
_NOT = {"not", "no", "non", "pas", "nicht", "kein", "keine", "niet", "geen"}
_QUALITY = {"status", "quality", "flag", "flags", "validity", "statut", "qualite", "qualitat", "kwaliteit", "qc"}
_KINDS = {"type", "art", "ablesart", "ableseart", "nature", "soort", "method", "origin", "actual"}
_NUMBER = re.compile(r"[-+]?\d*[.,]?\d+")
_MOST_MARKS = 12  # distinct ones that a column of marks may have


@dataclass(frozen=True)
class Marks:
    """A column of marks.

    at, label: its position, and what messages call it; every: the marks in it, as written; estimated: those that mean
    an estimate; strange: whether it tells of quality, in marks not known here.
    """

    at: int
    label: str
    every: tuple[str, ...]
    estimated: frozenset[str]
    strange: bool


def is_estimate(mark: str, known_column: bool) -> bool:
    """Whether a mark or a remark says that a reading is an estimate, or faulty.

    known_column: whether the column is known to hold marks, so that single letters count too.

    >>> [is_estimate(one, True) for one in ("E", "A", "Geschätzt", "not estimated")]
    [True, False, True, False]
    """
    words = re.findall(r"[a-z]+", plain_letters(mark))
    if not words or _NOT & set(words):
        return False
    if known_column and (" ".join(words) in _MARKS or words[0] in _MARKS and len(words[0]) == 1 and len(words) < 4):
        return True
    return any(word.startswith(_ESTIMATED + _FAULTY) for word in words)


def is_faulty(mark: str) -> bool:
    """Whether a mark says that a value is wrong, rather than an estimate.

    >>> is_faulty("invalid"), is_faulty("estimated")
    (True, False)
    """
    words = re.findall(r"[a-z]+", plain_letters(mark))
    return not _NOT & set(words) and any(word == "bad" or word.startswith(_FAULTY) for word in words)


def mark_in_cell(cell: str) -> tuple[str, str]:
    """A number and the mark after it, as in “10432.5 E” or “10432.5 (est.)”; the cell and "" where there is none.

    >>> mark_in_cell("10432.5 E"), mark_in_cell("850 W")
    (('10432.5', 'E'), ('850 W', ''))
    """
    found = re.fullmatch(r"([-+]?[\d.,' ]*\d)\s*\(?([^\W\d_]+)\.?\)?", cell.strip())
    if found and (is_estimate(found[2], True) or plain_letters(found[2]) in {"a", "act", "actual", "r"}):
        return found[1], found[2]
    return cell, ""


def find(lines: Lines, sample: list[list[str]], taken: set[int]) -> list[Marks]:
    """The columns that mark readings; taken: positions of the columns of times."""
    found = []
    for at, header in enumerate(lines.headers):
        shown = {fields[at] for fields in sample} - {""}
        words = re.findall(r"[a-z0-9]+", plain_letters(header))
        asks = any(word.startswith(_ESTIMATED) for word in words) or "actual" in words
        numbers = bool(shown) and all(_NUMBER.fullmatch(one) for one in shown)
        if at in taken or UNIT_WORD.search(header) or numbers and not (asks or _QUALITY & set(words)):
            continue
        every = tuple(sorted(set(lines.column_text(at).tolist())))
        meant = _meant(words, every, asks)
        if meant or _QUALITY & set(words) and len(every) <= _MOST_MARKS:
            strange = bool(_QUALITY & set(words)) and not {plain_letters(one) for one in every} <= _ACTUAL | _NO
            found.append(Marks(at, lines.label(at), tuple(one for one in every if one), frozenset(meant), strange))
    return found


def _meant(words: list[str], every: tuple[str, ...], asks: bool) -> set[str]:
    """Which marks of a column mean an estimate; words: of its header; asks: whether it answers yes or no."""
    plain = {one: plain_letters(one) for one in every}
    if asks and len(every) > 1 and set(plain.values()) <= _YES | _NO:
        answer = _NO if "actual" in words else _YES
        return {one for one, letters in plain.items() if letters in answer}
    codes = {letters for letters in plain.values() if letters}
    is_column = (
        bool(_QUALITY & set(words))
        or (bool(_KINDS & set(words)) or not words and len(codes) > 1)
        and all(is_estimate(one, True) or one in _ACTUAL for one in codes)
    )
    return {one for one in every if is_estimate(one, is_column)}


def marked(lines: Lines, marks: list[Marks], given: str | None, read_log: ReadLog) -> tuple[np.ndarray, str]:
    """Whether each line's reading is marked as an estimate, and how, for messages.

    given: the reader's option, USE or the marks that mean an estimate, with commas between them. Raises ReadingsFault
    for marks that the file does not have.
    """
    which, how = np.zeros(len(lines.row), bool), []
    wanted = {one.strip().casefold() for one in str(given).split(",")} if given is not None else set()
    if wanted == {USE}:
        if any(one.estimated for one in marks):
            read_log.interpretation.append("Readings marked as estimated are used like all others, as given.")
        return which, ""
    own = {one.casefold() for column in marks for one in column.every}
    if wanted - own:
        there = "; ".join(f"{one.label} has {_quoted(one.every)}" for one in marks if one.every)
        raise ReadingsFault(
            f'estimates="{str(given)[:40]}" was given, but no reading is marked so: '
            f'{there or "no column marks readings"}. Give estimates="use", or leave it out.'
        )
    for column in marks:
        meant = {one for one in column.every if one.casefold() in wanted} if wanted else column.estimated
        if meant:
            which |= np.isin(lines.column_text(column.at), list(meant))
            how.append(f"{_quoted(sorted(meant))} in {column.label}")
        elif not wanted and column.strange and len(column.every) > 1:
            read_log.interpretation.append(
                f"{column.label[0].upper()}{column.label[1:]} marks readings with {_quoted(column.every)}, of which "
                "none is known here to mean an estimate: all are used. If one does, give it, such as "
                f'estimates="{column.every[-1][:20]}".'
            )
    return which, " and ".join(how)


def _quoted(every: Sequence[str]) -> str:
    return ", ".join(f"“{one[:20]}”" for one in every[:6]) + (f" and {len(every) - 6} more" if len(every) > 6 else "")
