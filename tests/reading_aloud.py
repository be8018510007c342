"""How long a page of the workbook takes, worked out at reading-aloud pace, not timed with people.

    python tests/reading_aloud.py        every page's minutes, as the page must give them

Reading is counted at WORDS_A_MINUTE: the text cells, and the printed lines of cells that match nothing in ITEMS. Doing
takes the minutes of ITEMS; they are a judgement, and each includes reading its own output. The core is everything up to
the first section that is not marked ◆, and all further sections that are. In a hall a guess takes longer (HANDS).
"""

from __future__ import annotations

import json
import re
from dataclasses import dataclass

from pondheat.core.places import WORKBOOK

WORDS_A_MINUTE = 130
LOOK, DECIDE = 1, 1  # minutes for a numbered thing to try, and for the decision at the end
DECIDED = "**Decide one thing:**"
WARM_UP = 2  # minutes for a question met before
GUESSES = (r"\bPredictFirst\(", r"\.four_ponds\(")
HANDS = 4  # minutes for a guess in a hall: read out, hands for each choice, a reason from each camp, the picture
ITEMS = {  # minutes for a code cell, by what it calls; the first that fits holds
    **dict.fromkeys(GUESSES, 2),  # guess, see what was said to it, and read the panel's sentence
    r"\bworked_example\(": 2,
    r"\bexercise\(": 3,
    r"\breasons\(": 2,  # two reasons to choose, and the reply to each choice
    r"\bhandbook\(": 1,  # hold one of its rows against ours
    r"\bComeBack\(": 1,
    r"\bSoFar\(": 0,  # a list of links
    r"\bbench\.Formulae\(": 2,  # move two sliders, read the span
    r"\bbench\.WhyFirst\(": 1,  # open a row, choose
    r"\bbench\.OwnRow\(": 4,  # type one printed value with its source
    r"\byour_pond\.panel\(": 15,  # measure with a tape, look up the bill, type, read the answer
    r"\bSeasonByDegreeHours\(": 2,  # choose a month, read the sentence
    r"\bchallenge\.panel\(": 14,  # one pond: five decisions, of which two are worked out by hand
    r"\bOwn[A-Z]\w+\(": 2,  # choose a file, see how it was read; readers without one go on
    r"\.(first|six_ways|two_records)\(": 2,  # a picture with sliders, without a guess before it
}


@dataclass(frozen=True)
class Minutes:
    """Whole minutes for a page, and for the part of it that is marked ◆."""

    read: int
    do: int
    core: int

    @property
    def total(self) -> int:
        return self.read + self.do


def source(cell: dict) -> str:
    return "".join(cell["source"])


def words(text: str) -> int:
    """Number of words of a Markdown text, without marks of headings and lists and without addresses of links."""
    text = re.sub(r"\]\([^)]*\)", "]", text)
    text = re.sub(r"^\s*(#+|-|\d+\.)\s+", "", text, flags=re.MULTILINE)
    return sum(part.strip("*◆[]") != "" for part in text.split())


def printed(cell: dict) -> str:
    """What a code cell prints, apart from the value it shows: lines, and tables and paragraphs as text."""
    found = []
    for output in cell["outputs"]:
        if output["output_type"] == "stream":
            found.append("".join(output["text"]))
        elif output["output_type"] == "display_data":
            found.append("".join(output["data"]["text/plain"]))
    return "\n".join(found)


def _cell(cell: dict, hall: bool) -> tuple[int, int]:
    """Words to read in a cell, and minutes to do what it asks, by one reader or in a hall."""
    text = source(cell)
    if cell["cell_type"] == "markdown":
        tries = len(re.findall(r"^\d+\. ", text, re.MULTILINE))
        return words(text), LOOK * tries + DECIDE * (DECIDED in text)
    if cell["id"].startswith("warm-"):
        return 0, WARM_UP
    for called, minutes in ITEMS.items():
        if re.search(called, text):
            return 0, HANDS if hall and called in GUESSES else minutes
    return len(printed(cell).split()), 0


def minutes(cells: list[dict], hall: bool = False) -> Minutes:
    """The minutes of a page with these cells; hall: where hands are counted before a picture opens."""
    counted, core, marked = [], [], True
    for cell in cells:
        heading = cell["cell_type"] == "markdown" and re.match(r"## (◆?)", source(cell))
        if heading:
            marked = bool(heading[1])
        counted.append(_cell(cell, hall))
        if marked:
            core.append(counted[-1])
    read, do = map(sum, zip(*counted))
    core_read, core_do = map(sum, zip(*core))
    return Minutes(round(read / WORDS_A_MINUTE), do, round(core_read / WORDS_A_MINUTE + core_do))


if __name__ == "__main__":
    for page in sorted(WORKBOOK.glob("*.ipynb")):
        alone, hall = (minutes(json.loads(page.read_text(encoding="utf-8"))["cells"], hall) for hall in (False, True))
        print(
            f"{page.stem:28} {alone.total} minutes: {alone.read} to read, {alone.do} to do; core {alone.core}; "
            f"in a hall {hall.total}, core {hall.core}"
        )
