"""The small pictures on the cards of page 00: one a page, its panel's own, small, without words, and safe together."""

import re
from xml.etree import ElementTree as tree

import make_thumbnails
import pytest
from usual_cases import all_in_one

from pondheat.show.pages import THUMBNAILS, SoFar

PAGES = make_thumbnails.pages()


def kept(page: str) -> str:
    return (THUMBNAILS / f"{page}.svg").read_text(encoding="utf-8")


def test_each_page_has_one_and_nothing_else_is_kept():
    assert PAGES and sorted(path.stem for path in THUMBNAILS.iterdir()) == PAGES, "run tests/make_thumbnails.py"


@pytest.mark.parametrize("page", ["01_power_energy_money", "08_falling_water", "13_readings"])
def test_it_is_the_panels_first_picture(page):
    assert kept(page) == make_thumbnails.thumbnail(page), "run tests/make_thumbnails.py"


@all_in_one(PAGES)
def test_it_is_small_and_says_nothing(page):
    svg = kept(page)
    assert len(svg) < 16_000 and tree.fromstring(svg).get("aria-hidden") == "true"
    assert not re.search(r"<(text|title|desc|script|style)|data-|on\w+=|(href|src)=", svg)
    ids = re.findall(r'\bid="([^"]+)"', svg)
    assert len(ids) == len(set(ids)) and all(one.startswith(f"small-{page[:2]}-") for one in ids)
    assert set(re.findall(r"url\(#([^)]+)\)", svg)) <= set(ids)


def test_a_card_without_one_is_still_a_card(tmp_path):
    for name in ("01_power_energy_money", "98_my_notes"):
        (tmp_path / f"{name}.ipynb").write_text('{"cells": [{"source": ["# A page"]}]}', encoding="utf-8")
    first, second = re.findall("<li>.*?</li>", SoFar(tmp_path).value, re.DOTALL)
    assert "ph-thumbnail" in first and "<svg" not in second and "A page" in second
