"""The core of a page (◆) asks the exercise that needs the page's idea, and leaves plain multiplication out."""

import json
import re

import pytest

from pondheat.core.places import WORKBOOK
from pondheat.lesson.questions import BANK
from pondheat.lesson.reasons import REASONS

PLAIN = {"1.1", "3.2", "4.1", "6.1", "8.2", "11.2", "12.1", "13.1", "15.1"}  # one multiplication, sum or division
IDEA = {  # by the page's number: the exercise that its last sentence answers
    "01": "1.3",  # what runs longest
    "04": "4.2",  # evaporation
    "05": "5.2",  # the difference of vapour pressures
    "06": "6.2",  # resistances add up, so the weakest part decides
    "07": "7.2",  # the hours covered, and what they are worth
    "09": "9.2",  # a warm day gives nothing back
    "11": "11.4",  # the heat pump gives least when the pond loses most
    "12": "12.4",  # a cover saves the cheap hours
    "13": "13.3",  # put right what can be known
    "14": "14.4",  # compare at the same weather: the line, not the average
    "15": "15.2",  # savings in today's money
}


def core(page: str) -> tuple[set[str], bool]:
    """The keys of the exercises in the sections marked ◆, and whether reasons are asked there."""
    keys, reasons, marked = set(), False, False
    path = next(WORKBOOK.glob(f"{page}_*.ipynb"))
    for cell in json.loads(path.read_text(encoding="utf-8"))["cells"]:
        text = "".join(cell["source"])
        if heading := re.match(r"## (◆?)", text):
            marked = bool(heading[1])
        if marked and cell["cell_type"] == "code":
            keys |= set(re.findall(r'\bexercise\("([^"]+)"', text))
            reasons = reasons or f'reasons("{path.stem}")' in text
    return keys, reasons


@pytest.mark.parametrize("page", sorted({question.notebook[:2] for question in BANK.values()}))
def test_the_core_holds_the_idea_and_no_plain_multiplication(page):
    keys, reasons = core(page)
    assert not keys & PLAIN
    assert page not in IDEA or IDEA[page] in keys
    assert reasons == any(one.notebook.startswith(page) and not one.again for one in REASONS)
    assert keys or reasons
