"""The panel of payback: what it says, what stands behind it, and what an unsure saving does to it."""

import pytest
from panel_values import putting
from usual_cases import some_of

from pondheat.core import units
from pondheat.show.panels import about, payback

START = payback.START


@pytest.fixture(scope="module")
def panel():
    return payback.panel()


put = putting(START)


def test_sentence_follows_the_controls(panel):
    put(panel)
    before = panel.net
    assert "in the fifth winter" in panel.sentence() and f"{about(before)} left" in panel.sentence()
    for better in ({"price": 600}, {"saving": 160}, {"life": 7}, {"interest": 3}):
        put(panel, **better)
        assert panel.net > before
    put(panel, saving=20)
    assert "longer than it lasts" in panel.sentence() and "With interest, it is never paid back" in panel.sentence()
    put(panel, saving=0)
    assert panel.sentence().startswith("Without interest, it is never paid back")
    put(panel, saving=300, price=300, life=1, interest=0)
    assert "after 1.0 winters, in the first winter." in panel.sentence()


def test_arithmetic_ends_in_the_number_shown(panel):
    for values in ({}, {"saving": 40}, {"interest": 0}, {"life": 1}, {"saving": 0}):
        put(panel, **values)
        lines = panel.arithmetic().lines
        assert lines[-1][1].endswith(f"= {units.money(panel.net, units.GBP, 2)}")
        assert f"{about(abs(panel.net))} {'left' if panel.net >= 0 else 'lost'}. If it saves" in panel.sentence()
        assert all(line[2] for line in lines)


def test_right_choice_is_borne_out(panel):
    put(panel)
    assert payback.RIGHT == "less" and set(payback.WORDS) == set(payback.OPTIONS) - {payback.RIGHT}
    assert panel.left["plainly"] == 260  # as the first option says
    assert 0 < panel.net < 0.75 * panel.left["plainly"]


def test_winter_by_winter_by_hand(panel):
    """£640 now, £150 at the end of each winter, each divided by 1.04 once more than the one before."""
    put(panel)
    drawn = panel.redraw(**START)[0].numbers
    left = -640.0
    for winter in range(7):
        left += 150 / 1.04**winter if winter else 0
        assert drawn["in today's money"][1][winter] == pytest.approx(left)
        assert drawn["plainly"][1][winter] == 150 * winter - 640
    assert panel.simple == pytest.approx(640 / 150)


def test_line_crosses_zero_at_the_payback(panel):
    put(panel)
    for name, years in (("plainly", panel.simple), ("in today's money", panel.discounted)):
        values = panel.redraw(**START)[0].numbers[name][1]
        assert values[int(years)] < 0 < values[int(years) + 1]


@pytest.mark.parametrize("name", some_of(START, 0))
def test_extremes(panel, name):
    for value in (panel.controls[name].least, panel.controls[name].most):
        put(panel, **{name: value})
        assert "nan" not in panel.sentence() and "inf" not in panel.sentence()
    put(panel, price=40, saving=400, life=12, interest=0)
    put(panel, price=1000, saving=0, life=12, interest=12)
    assert panel.net == -1000


def test_the_saving_is_that_of_the_pond():
    """The panel starts from what the garden pond's season gives, to the nearest £10."""
    assert round(payback.further_saving(), -1) == START["saving"]


def test_a_quarter_less_is_said(panel, capsys):
    put(panel)
    payback.print_unsure()
    printed = capsys.readouterr().out
    line = next(line for line in printed.splitlines() if line.startswith(about(payback.LESS * START["saving"])))
    amount = " ".join(line.split()[-2:])
    assert panel.sentence().endswith(f"hoped: {amount}.")
    assert "lost" in amount
