"""The panel of fish before money: oxygen, ammonia and filter, each against a printed value and against 10 °C."""

import itertools

import pytest
from panel_values import putting

from pondheat.core import units
from pondheat.core.number_format import unbroken
from pondheat.show import figures
from pondheat.show.panels import fish_first
from pondheat.show.panels.fish_first import AMMONIA, FILTER, OXYGEN

START = {"water_temp": 14, "ph": 7.5, "theta": 1.06}


@pytest.fixture(scope="module")
def panel():
    return fish_first.panel()


put = putting(START)


def test_printed_values(panel):
    """Benson & Krause, APHA form: 9.467 mg/L at 18 °C and 11.288 at 10 °C; IFAS FA16 prints .0247 at 14 °C, pH 8."""
    put(panel, water_temp=18)
    assert panel.oxygen == pytest.approx(9.467, rel=0.003)
    assert panel.times[OXYGEN] == pytest.approx(9.467 / 11.288, rel=0.003)
    put(panel, ph=8)
    assert panel.share == pytest.approx(0.0247, abs=1e-4)
    assert "2.5 % of its ammonia" in panel.sentence()


def test_filter_by_hand(panel):
    put(panel, theta=1.1)
    assert panel.times[FILTER] == pytest.approx(1.1**4)  # four degrees above 10 °C
    put(panel, water_temp=8, theta=1.1)
    assert panel.times[FILTER] == pytest.approx(1 / 1.21)


def test_the_right_answer_is_borne_out(panel):
    put(panel)
    falls = {"oxygen": panel.times[OXYGEN] < 1, "ammonia": panel.times[AMMONIA] < 1}
    assert falls == {"oxygen": True, "ammonia": False} and fish_first.RIGHT == "oxygen"
    for ph in (6.5, 7.5, 9.0):
        put(panel, ph=ph)
        assert panel.times[AMMONIA] == pytest.approx(4 / 3, abs=0.12)  # "by about a third"
    assert set(fish_first.WORDS) == set(fish_first.OPTIONS) - {fish_first.RIGHT}


def test_sentence_follows_the_controls(panel):
    put(panel)
    assert units.significant(panel.times[FILTER], 3) in panel.sentence()
    share, oxygen = panel.share, panel.oxygen
    put(panel, ph=8.5)
    assert panel.share > share and panel.oxygen == oxygen
    put(panel, water_temp=20)
    assert panel.share > share and panel.oxygen < oxygen
    put(panel, water_temp=10)
    assert "Compared with" not in panel.sentence() and set(panel.times.values()) == {1.0}


def test_arithmetic_ends_in_the_number_shown(panel):
    for moved in ({}, {"water_temp": 4}, {"water_temp": 24, "theta": 1.1, "ph": 9}):
        put(panel, **moved)
        lines = panel.arithmetic().lines
        shown = units.significant(panel.times[FILTER], 3)
        assert lines[-1][1].endswith(f"= {shown}") and f"{shown} times as fast" in panel.sentence()
        for place, name, words in ((2, OXYGEN, "times the oxygen"), (5, AMMONIA, "times the poisonous share")):
            times = units.significant(panel.times[name], 3)
            assert lines[place][1].endswith(f"= {times}") and f"{times} {words}" in panel.sentence()
        assert all(line[2] for line in lines)


def test_extremes_give_no_fault(panel):
    ends = [(control.least, control.most) for control in panel.controls.values()]
    for values in itertools.product(*ends):
        put(panel, **dict(zip(panel.controls, values)))
        assert figures.ROOM * 100 * max(panel.times.values()) <= fish_first.SCALES[-1]
        assert "<svg" in panel.picture.value


def test_printed_lines(capsys):
    fish_first.print_filter()
    times = [float(line.split()[-1]) for line in capsys.readouterr().out.splitlines()[2:]]
    assert len(times) == 5 and times == sorted(times)
    assert times[-1] == round(1.1**4, 2) and times[3] == round(1.06**4, 2)
    fish_first.print_growth()
    growth = [line.split()[-1] for line in capsys.readouterr().out.splitlines()[2:6]]
    assert growth == ["0.71", "2.31", "3.12", "3.32"]  # Goolish and Adelman 1984


@pytest.fixture(scope="module")
def sources():
    return fish_first.by_source()


put_sources = putting({"water_temp": 18, "altitude": 100})


def test_oxygen_at_the_height_by_a_printed_table(sources):
    """An oxygen meter's manual (HI 98193) prints 8.4 mg/L for 20 °C, 600 m."""
    put_sources(sources, water_temp=20, altitude=600)
    assert sources.oxygen == pytest.approx(8.4, abs=0.1) and units.significant(sources.oxygen, 3) in sources.sentence()
    here = sources.oxygen
    put_sources(sources, water_temp=20, altitude=1500)
    assert sources.oxygen < here


def test_the_spread_of_the_filter_is_that_of_all_sources(sources):
    put_sources(sources)  # eight degrees above 10 °C
    assert (sources.least, sources.most) == pytest.approx((1.01108**8, 1.10**8))
    assert f"{1.01108**8:.2f} to {1.10**8:.2f} times as fast" in sources.sentence()
    put_sources(sources, water_temp=6)
    assert (sources.least, sources.most) == pytest.approx((1.10**-4, 1.01108**-4))
    for temp in (4, 10, 30):
        put_sources(sources, water_temp=temp)
        assert 0 < sources.least <= sources.most < fish_first.FASTEST


def test_growth_and_food_stand_side_by_side(sources):
    for temp, words in (
        (5, ("not measured", "slow", "do not eat", "nobody feeds")),
        (8, ("very little", "have stopped")),
        (29, ("3.3 %", "3.8 %", "grow well", "all feed")),
    ):
        put_sources(sources, water_temp=temp)
        for word in words:
            assert unbroken(word) in sources.table(), (temp, word)
        assert sources.table() in sources.words.value and sources.table().count("<tr>") == 6
        assert "Heating does not prevent disease" in sources.sentence()


def test_arithmetic_of_the_sources_ends_in_what_is_shown(sources):
    put_sources(sources)
    lines = sources.arithmetic().lines
    ends = [float(line[1].rsplit("= ")[-1]) for line in lines[3:]]
    assert min(ends) == pytest.approx(sources.least, rel=0.005) and max(ends) == pytest.approx(sources.most, rel=0.005)
    assert all(line[2] for line in lines) and sources.arithmetic().html()


def test_where_warmth_gives_something_it_is_said_what_it_does_not(panel, capsys):
    put(panel, water_temp=20)
    assert panel.sentence().endswith(fish_first.NO_CURE)
    put(panel, water_temp=6)
    assert fish_first.NO_CURE not in panel.sentence()
    fish_first.print_growth()
    assert fish_first.NO_CURE in " ".join(capsys.readouterr().out.split())
