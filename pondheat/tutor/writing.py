"""Writing the tutor's papers into a folder: the key, the handout and, on request, the papers of each route."""

from __future__ import annotations

from pathlib import Path

from pondheat.core.display_units import METRIC, DisplayUnits
from pondheat.core.files import PAPER, check_target, write_atomically
from pondheat.core.places import WORKBOOK
from pondheat.sheet.pond_sheet import Sheet
from pondheat.tutor.challenge_sheets import challenge_sheets
from pondheat.tutor.handout import handout
from pondheat.tutor.key import key_page
from pondheat.tutor.question_sheets import question_sheets
from pondheat.tutor.routes import ROUTES

FOLDER = "for-the-tutor"  # the default; git ignores it
LEARNERS = "my-workbook"


class LearnersFolder(ValueError):
    """A folder in which learners would find the key."""


def write_papers(folder: Path, sheet: Sheet, sheets: bool = False, usual: DisplayUnits = METRIC) -> list[Path]:
    """Write the papers and return their paths; the same pond sheet gives the same bytes.

    folder: made if it is missing; sheet: the pond of the handout, and the currency of all papers; sheets: whether to
    write the question sheets of every route too, and a key to each; usual: units shown after °C and m³. Raises
    LearnersFolder for a folder among the learners' pages, OSError where it can't be written, and what reading the
    weather raises.
    """
    resolved = folder.resolve()
    if WORKBOOK in (resolved, *resolved.parents) or LEARNERS in resolved.parts:
        raise LearnersFolder(f"{folder}: learners would find a key beside the pages; name another folder.")
    papers = {"key.html": key_page(sheet.currency, usual), "handout.html": handout(sheet, usual=usual)}
    if sheets:
        papers |= {f"sheets_{route}.html": question_sheets(route, sheet.currency, usual) for route in ROUTES}
        papers |= {f"key_{route}.html": key_page(sheet.currency, usual, route) for route in ROUTES}
        papers["sheets_challenge.html"] = challenge_sheets(sheet.currency, usual)
        papers["sheets_challenge_one_hour.html"] = challenge_sheets(sheet.currency, usual, short=True)
    for name in papers:
        check_target(folder / name, PAPER)  # all or none
    for name, text in papers.items():
        write_atomically(folder / name, text.encode("utf-8"), PAPER)
    return [folder / name for name in papers]
