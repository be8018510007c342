"""Writing the tutor's papers into a folder of their own: key, handout, and the question sheets where they are asked for."""

from __future__ import annotations

from pathlib import Path

from pondheat.core.display_units import METRIC, Usual
from pondheat.sheet.pond_sheet import Sheet
from pondheat.tutor.handout import handout
from pondheat.tutor.key import key_page
from pondheat.tutor.question_sheets import question_sheets
from pondheat.tutor.routes import ROUTES, WORKBOOK

FOLDER = "for-the-tutor"  # git passes it over
LEARNERS = "my-workbook"


class NotThere(ValueError):
    """A folder in which no key may lie."""


def write(folder: Path, sheet: Sheet, sheets: bool = False, usual: Usual = METRIC) -> list[Path]:
    """Write the papers and say where they are; the same sheet gives the same bytes.

    folder: made where it is missing; sheet: the pond of the handout and the currency of all; sheets: the blank question
    sheets of every route too; usual: what stands beside °C and m³. Raises NotThere for a folder among the learners'
    pages, OSError where it cannot be written, and what reading the sheet's weather raises.
    """
    here = folder.resolve()
    if WORKBOOK in (here, *here.parents) or LEARNERS in here.parts:
        raise NotThere(f"{folder}: a key beside the pages would be found by the learners; name another folder.")
    papers = {"key.html": key_page(sheet.currency, usual), "handout.html": handout(sheet, usual=usual)}
    if sheets:
        papers |= {f"sheets_{route}.html": question_sheets(route, sheet.currency, usual) for route in ROUTES}
    folder.mkdir(parents=True, exist_ok=True)
    written = []
    for name, text in papers.items():
        (folder / name).write_text(text, encoding="utf-8", newline="\n")
        written.append(folder / name)
    return written
