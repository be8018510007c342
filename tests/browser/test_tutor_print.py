"""The tutor's papers: the handout prints on two sheets, whatever its pond; nothing is cut on a narrow screen."""

import functools

import kit
import pytest
from usual_cases import some_of

from pondheat.sheet import pond_sheet
from pondheat.tutor import handout, key, question_sheets

POND = '[pond]\nlength = "13 ft"\nwidth = "8 ft"\ndepth = "4 ft"\n[weather]\nsource = "greensboro"\n'
WHOLE_YEAR = f'name = "{"A long name of a pond " * 9}"\ntimezone = "America/New_York"\ncurrency = "USD"\n{POND}'


@functools.cache
def made(name: str) -> str:
    """One of the papers as HTML."""
    return {
        "key": key.key_page,
        "sheets": lambda: question_sheets.question_sheets("two_hours"),
        "handout": lambda: handout.handout(pond_sheet.from_text(WHOLE_YEAR)),
    }[name]()


@pytest.mark.long
@pytest.mark.parametrize("size", ["Letter", "A4"])
def test_the_handout_of_a_whole_year_is_two_sheets(paper, size):
    paper.set_content(made("handout"))
    assert kit.sheets(paper.pdf(format=size)) == 2


@pytest.mark.parametrize("name", some_of(["key", "sheets", "handout"], 1, 2))
def test_nothing_is_cut_on_a_narrow_screen(paper, name):
    paper.set_viewport_size({"width": 800, "height": 900})
    paper.set_content(made(name))
    assert paper.evaluate(kit.CUT) == []


def test_the_question_sheets_are_in_larger_type_than_the_handout(paper):
    paper.emulate_media(media="print")
    size = {}
    for name in ("sheets", "handout"):
        paper.set_content(made(name))
        size[name] = paper.evaluate("parseFloat(getComputedStyle(document.body).fontSize)")
    assert size["sheets"] >= 17 > 1.2 * size["handout"]
