"""A show of hands: what is suggested before the picture tells nothing of the right choice, and nothing is kept."""

import itertools

import pytest

from pondheat.show.panels import show_of_hands
from pondheat.show.panels.show_of_hands import LETTERS, MOST, after, before


@pytest.fixture
def panel():
    return show_of_hands.panel()


def put(panel, **values):
    for name, value in values.items():
        panel.controls[name].value = value
    assert panel.error.value == ""


def test_it_begins_by_asking_for_hands(panel):
    assert panel.sentence().startswith("Ask for hands")
    assert panel._repr_mimebundle_()["text/plain"] == panel.sentence()


@pytest.mark.parametrize(
    "hands, said",
    [
        ({"A": 9, "B": 1}, "Most agree, 9 of 10"),
        ({"B": 10}, "All 10 agree"),
        ({"A": 5, "C": 5}, "Two camps, 5 and 5 of 10"),
        ({"A": 3, "B": 7, "C": 1}, "One choice is ahead, 7 of 11"),
        ({"A": 5, "B": 3, "C": 2}, "One choice is ahead, 5 of 10"),
        ({"A": 3, "B": 3, "C": 2, "D": 2}, "An even spread over 10"),
        ({"E": 1}, "All 1 agree"),
    ],
)
def test_the_spread_decides_what_comes_next(panel, hands, said):
    put(panel, **hands)
    assert panel.sentence().startswith(said)


def test_before_the_picture_nothing_tells_which_is_right():
    """Whatever the letters, the same counts give the same sentence."""
    for hands in itertools.permutations((8, 3, 1, 0, 0)):
        assert before(hands) == before((8, 3, 1, 0, 0))


@pytest.mark.parametrize(
    "hands, right, said",
    [
        ({"A": 8, "B": 2}, "B", "Most chose another, A: 8 of 10"),
        ({"A": 8, "B": 2}, "A", "8 of 10 got it right. Don't dwell"),
        ({"A": 4, "B": 3, "C": 3}, "C", "3 of 10 got it right. Let one"),
        ({"A": 10}, "E", "Most chose another"),
    ],
)
def test_after_the_picture_the_right_choice_decides(panel, hands, right, said):
    put(panel, **hands, right=right)
    assert panel.sentence().startswith(said)


def test_no_hands_after_the_picture():
    assert after(dict.fromkeys(LETTERS, 0), "A") == "No hands were counted."


def test_bars_are_those_of_the_choices_that_got_hands(panel):
    put(panel, A=3, D=MOST)
    assert ">40<" in panel.picture.value and ">D<" in panel.picture.value and ">B<" not in panel.picture.value


def test_nothing_is_kept(panel, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    put(panel, A=3, B=7, right="A")
    assert list(tmp_path.iterdir()) == []
