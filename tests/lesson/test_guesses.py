"""The guesses before the pictures: no choice gives itself away by its length, its wording or its place."""

import importlib
import re
from collections import Counter

import pytest

from pondheat.core.display_units import METRIC
from pondheat.lesson import marking
from pondheat.lesson.questions import BANK

PAGES = sorted({question.notebook for question in BANK.values()})
TOPICS = {page: importlib.import_module(f"pondheat.show.panels.{page[3:]}") for page in PAGES}
pages = pytest.mark.parametrize("page", PAGES)


@pages
def test_choices_are_about_equally_long(page):
    lengths = [len(METRIC.with_alt_units(text)) for text in TOPICS[page].OPTIONS.values()]
    assert max(lengths) <= 1.6 * min(lengths), lengths


def test_the_right_choice_is_not_the_longest_or_the_shortest_as_a_rule():
    ranks = Counter()
    for topic in TOPICS.values():
        lengths = {key: len(METRIC.with_alt_units(text)) for key, text in topic.OPTIONS.items()}
        ranks["longest"] += lengths[topic.RIGHT] == max(lengths.values())
        ranks["shortest"] += lengths[topic.RIGHT] == min(lengths.values())
    assert max(ranks.values()) <= len(PAGES) / 2, ranks


def test_the_right_choice_is_in_every_place_about_as_often():
    places = Counter(list(topic.OPTIONS).index(topic.RIGHT) for topic in TOPICS.values())
    assert set(places) >= {0, 1, 2} and max(places.values()) <= 0.4 * len(PAGES), places
    assert min(places[place] for place in (0, 1, 2)) >= 0.2 * len(PAGES), places


@pages
def test_no_choice_is_a_way_out(page):
    for text in TOPICS[page].OPTIONS.values():
        assert not re.search(r"\bsomething (between|else)\b|\b(none|all) of (these|them)\b", text), text


@pages
def test_a_wrong_choice_is_told_why_many_make_it_and_what_it_misses(page):
    """Two parts: what speaks for the choice, and a “but” with what it misses."""
    for choice, reason in TOPICS[page].WORDS.items():
        assert re.search(r"[.,:;]\s(But|but)\b", reason), (choice, reason)
        assert 12 <= len(reason.split()) <= 40, (choice, reason)
        assert reason[0].isupper() and reason[1] in "abcdefghijklmnopqrstuvwxyz' ", (choice, reason)
        assert marking.not_quite(reason).startswith("Not quite – here's why many people think so: ")
