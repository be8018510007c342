"""Pages, exercises, glossary, cards and the tutor's papers are in the plain English of today; the pages are short."""

import html
import importlib
import json
import re
from pathlib import Path

import pytest
import reading_aloud
import refresh_tutor_notes

from pondheat.lesson import slips
from pondheat.lesson.questions import BANK
from pondheat.lesson.reasons import REASONS

WORKBOOK = reading_aloud.WORKBOOK
MOST_WORDS = 9810  # in the text cells of all pages together; exercises and what cells print are not counted
RADIATION = "radiation to the sky"  # “long wave” is for the page with its formula, and for the glossary's entry

# A pattern of the old dialect: what to write instead.
PLAINER = {
    r"\breckon(s|ed|ing)?\b": "work out, estimate or assume",
    r"\bwho(so)?ever\b": "anyone who, or “if you …”",
    r"\b(hold|holds|holding|held)\b[^.?!]{0,40}\bagainst\b": "check against, compare with",
    r"\bby lot\b": "at random",
    r"\bwhat leaves\b|\bheat (that )?leaves\b": "heat loss, is lost",
    r"\blong[ -]wave\b": RADIATION,
    r"\bstands?\b(?! up)|\bstood\b|\bstanding\b(?! charge| sentence)": "is, are, is written",
    r"\blies? (on|off|over|in|below|above|between|beside|apart)\b": "is, are",
    r"\bbears?\b|\bborne\b": "has, carries, holds",
    r"\bnought\b": "zero",
    r"\blog book\b": "record",
    r"\bdear(er|est)?\b": "expensive, costs more",
    r"\bbands?\b": "likely range",
    r"\bstart values?\b": "default",
    r"\b(first|second|middle|mean|its|the|your|a) leads?\b": "temperature difference",
    r"(?<!cold )(?<!mild )\bspells?\b": "period",
    r"\bbounds?\b": "limit",
    r"\bin the mean\b": "on average",
    r", else\b|\d p? ?else\b": "otherwise, the rest of the day",
    r"\bexchanged\b|\bexchange of meters\b": "swap, replace",
    r"\bso it is\b|\balone this time\b|\bas it stands\b|\bas they stand\b": "say it plainly",
    r"\boftener\b|\bwhence\b|\bthereof\b": "more often, where … from, its",
    r"\bmakes? good\b": "replace",
}
LONG_WAVE_ALLOWED = ("04_open_surface", "glossary")


def _prose(path: Path) -> str:
    cells = json.loads(path.read_text(encoding="utf-8"))["cells"]
    return "\n\n".join("".join(cell["source"]) for cell in cells if cell["cell_type"] == "markdown")


def _by_hand(text: str) -> str:
    """The tutor's notes without what is made from the questions and the panels."""
    before, _, made = text.partition(refresh_tutor_notes.BEGIN)
    return before + made.partition(refresh_tutor_notes.END)[2]


def _exercises(page: str) -> str:
    """Everything that the exercises of a page may say."""
    return "\n".join(
        text
        for question in BANK.values()
        if question.notebook == page
        for text in (
            question.ask,
            question.nudge,
            question.step,
            question.worked,
            *(slip.sentence for slip in question.misconceptions),
        )
    )


def _guesses() -> str:
    """Everything that the guesses before the pictures, the reasons to choose and the replies to slips may say."""
    topics = [importlib.import_module(f"pondheat.show.panels.{one.notebook[3:]}") for one in BANK.values()]
    said = [text for topic in topics for text in (*topic.OPTIONS.values(), *topic.WORDS.values())]
    for one in REASONS:
        said += [one.ask, *one.choices.values(), *one.replies.values()]
    return "\n".join(
        dict.fromkeys([*said, *slips.FACTORS.values(), slips.OTHER_NUMBERS, slips.COPIED, slips.OTHER_POND])
    )


def _card(text: str) -> str:
    return html.unescape(re.sub(r"<[^>]*>", " ", text.split("<body>")[1]))


PAGES = {path.stem: _prose(path) for path in sorted(WORKBOOK.glob("*.ipynb"))}
TEXTS = {
    **PAGES,
    **{f"exercises of {page}": _exercises(page) for page in sorted({one.notebook for one in BANK.values()})},
    "guesses, reasons and slips": _guesses(),
    "for_the_tutor": _prose(WORKBOOK / "tutor" / "for_the_tutor.ipynb"),
    "glossary": (WORKBOOK / "glossary.md").read_text(encoding="utf-8"),
    **{
        f"tutor/{path.stem}": _by_hand(path.read_text(encoding="utf-8"))
        for path in sorted((WORKBOOK / "tutor").glob("*.md"))
    },
    **{path.stem: _card(path.read_text(encoding="utf-8")) for path in sorted((WORKBOOK / "cards").glob("*.html"))},
}


def dialect_in(text: str, name: str) -> list[str]:
    """What a text says in the old dialect, each with what to write instead; name: of the page, card or glossary."""
    line = " ".join(re.sub(r"\]\([^)]*\)", "]", text).split())
    return [
        f"“…{line[max(0, found.start() - 25) : found.end() + 25]}…”: {instead}"
        for pattern, instead in PLAINER.items()
        if not (instead == RADIATION and name in LONG_WAVE_ALLOWED)
        for found in re.finditer(pattern, line, re.IGNORECASE)
    ]


def test_all_pages_together_are_short():
    counted = {name: reading_aloud.words(text) for name, text in PAGES.items()}
    assert sum(counted.values()) <= MOST_WORDS, counted


@pytest.mark.parametrize("name", TEXTS)
def test_no_word_of_the_old_dialect(name):
    assert not (found := dialect_in(TEXTS[name], name)), "\n".join(found)


@pytest.mark.parametrize(
    "sentence",
    [
        "Compare, and then reckon.",
        "Whoever doubts a number here may hold it against a printed one.",
        "Which ways shrink, and which stand?",
        "The order is drawn by lot.",
        "Much long wave goes out.",
        "What leaves must be replaced.",
        "The likely range is a wide band.",
        "Another costs 12 p from 00:30 to 07:30, 30 p else.",
        "Use the mean air for both, then divide the first lead by the second lead.",
    ],
)
def test_the_old_dialect_would_be_found(sentence):
    assert dialect_in(sentence, "a page")


def test_a_standing_charge_and_a_cold_spell_are_plain_english():
    assert dialect_in("The standing charge of a cold spell. How much heat is lost?", "a page") == []
