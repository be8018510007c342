"""The cards on paper and on a narrow screen. How they are reached from the pages: test_first_page.py."""

import kit
import pytest

CARDS = sorted((kit.CLONE / "workbook" / "cards").glob("*.html"))
SIZES = ("A4", "Letter")


@pytest.mark.parametrize(
    "card, size",
    [  # each card on one of the two in the usual run, in turn
        pytest.param(card, size, marks=() if size == SIZES[at % 2] else pytest.mark.long, id=f"{size}-{card.stem}")
        for at, card in enumerate(CARDS)
        for size in SIZES
    ],
)
def test_a_card_is_one_sheet_of_paper(paper, card, size):
    paper.goto(card.as_uri())
    assert kit.sheets(paper.pdf(format=size)) == 1
    paper.evaluate("document.body.append(document.body.cloneNode(true))")
    assert kit.sheets(paper.pdf(format=size)) > 1  # so more than one sheet would be seen


@pytest.mark.parametrize("card", CARDS, ids=lambda card: card.stem)
def test_a_card_is_whole_on_a_narrow_screen(paper, card):
    paper.set_viewport_size({"width": 800, "height": 900})
    paper.goto(card.as_uri())
    assert paper.evaluate(kit.CUT) == []
    assert paper.evaluate("parseFloat(getComputedStyle(document.body).fontSize)") >= 16
    paper.add_style_tag(content="table { width: 900px }")
    assert paper.evaluate(kit.CUT) != []
