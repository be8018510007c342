"""Panels without a browser: the sentence, its arithmetic, and what is hidden until the reader chooses."""

import asyncio
import re
import time

import pytest

from pondheat.core import units
from pondheat.core.number_format import unbroken
from pondheat.fish import cautions
from pondheat.season.ensemble import Dropped
from pondheat.show import panels, ponds
from pondheat.show.live_range import SCENARIOS, LiveRange
from pondheat.show.panels import a_season, start_here


@pytest.fixture(scope="module")
def first():
    return start_here.first()


@pytest.fixture(scope="module")
def four():
    return start_here.four_ponds()


def test_the_first_panel_finds_its_seasons_run_while_the_browser_was_opening(monkeypatch):
    ponds.garden_seasons()

    def not_again(*_):
        raise AssertionError("run again")

    monkeypatch.setattr(ponds.assessment, "run_season", not_again)
    shown = start_here.first()
    assert {name: control.value for name, control in shown.controls.items()} == ponds.GardenSeasons.START


def put(panel, **values):
    for name, value in values.items():
        panel.controls[name].value = value
    assert panel.error.value == "", panel.error.value


def test_text_form_is_the_sentence(first):
    assert first._repr_mimebundle_()["text/plain"] == first.sentence()
    assert unbroken(first.sentence()) in first.words.value.replace("&#x27;", "'")
    assert "18\u00a0°C" in first.words.value


@pytest.mark.parametrize(
    "amount, less, written",
    [
        (4406.8, 2283.2, "£2,100"),
        (4414.9, 4384.0, "£30"),
        (4414.9, 4065.1, "£340"),
        (2283, 4406, "−£2,100"),
        (9, 9, "£0"),
    ],
)
def test_a_difference_is_that_of_the_amounts_beside_it(amount, less, written):
    """Each rounded alone, £4,410 and £4,070 would be £350 apart."""
    assert panels.about_difference(amount, less, units.GBP) == written


def test_sentence_follows_the_sliders(first):
    put(first, water_temp=18, hours=14, night_price=12, shelter=50)
    before = first.open_season.money, first.covered_season.money
    put(first, water_temp=19)
    assert first.open_season.money > before[0] and first.covered_season.money > before[1]
    assert "Kept at 19 °C" in first.sentence()
    put(first, water_temp=18, shelter=70)
    assert first.covered_season.money > before[1]
    put(first, shelter=50, hours=0)
    assert "cover saves" not in first.sentence()
    assert first.covered_season.money == pytest.approx(first.open_season.money)
    put(first, hours=14)
    assert (first.open_season.money, first.covered_season.money) == pytest.approx(before)


def test_sentence_holds_the_numbers(first):
    put(first, water_temp=18, hours=14, night_price=12, shelter=50)
    for amount in (
        first.open_season.money,
        first.covered_season.money,
    ):
        assert panels.about(amount, units.GBP) in first.sentence()
    found = re.findall(r"about £([\d,]+)", first.sentence())
    without, with_cover, saved = (float(value.replace(",", "")) for value in found)
    assert abs(without - with_cover - saved) <= 50, "a reader who subtracts finds the saving, to its two figures"


def test_the_likely_range_is_of_the_state_that_is_shown(first):
    """After each move a range of that very state, from all runs; what the sentence says lies within it."""
    ranges = []
    for temp in (18, 12):
        put(first, water_temp=temp, hours=14, night_price=12, shelter=50)
        assert first.likely.wait(), "no range came"
        found = re.findall(r"£([\d,]+) to £([\d,]+)", first.likely.value)
        assert len(found) == 3 and f"of {SCENARIOS} runs" in first.likely.value
        pairs = [tuple(float(value.replace(",", "")) for value in pair) for pair in found]
        assert pairs[0][0] < first.open_season.money < pairs[0][1]
        assert pairs[1][0] < first.covered_season.money < pairs[1][1]
        assert pairs[2][0] < first.open_season.money - first.covered_season.money < pairs[2][1]
        ranges.append(pairs)
    assert ranges[1][0][1] < ranges[0][0][1]  # colder water is cheaper at both ends
    put(first, water_temp=18, hours=0, night_price=12, shelter=50)
    assert first.likely.wait() and first.likely.value.count(" to £") == 1  # nothing to say of a cover that is never on


def test_on_a_page_a_second_chart_follows_once_the_moves_rest(monkeypatch):
    """While an event loop runs, as a page's does: picture and sentence at once, the chart for the last move only."""
    monkeypatch.setattr("pondheat.show.live_range.QUIET", 0.05)
    season = a_season.panel()
    said, chart, drawn = season.sentence(), season.chart.value, []
    draw_below = season._draw_below
    monkeypatch.setattr(season, "_draw_below", lambda figure: drawn.append(season.sentence()) or draw_below(figure))

    async def moves():
        for depth in (1.3, 1.4, 1.5):
            put(season, depth=depth)
        assert season.sentence() != said and season.chart.value == chart and drawn == []
        await asyncio.sleep(0.2)

    asyncio.run(moves())
    assert drawn == [season.sentence()] and season.chart.value != chart


def test_a_fault_of_a_second_chart_is_told_as_any_other():
    async def move():
        panel = a_season.panel()
        panel._draw_below = lambda figure: 1 / 0
        put(panel, depth=1.5)
        await asyncio.sleep(0.3)
        return panel.error.value

    assert "ZeroDivisionError" in asyncio.run(move())


def test_a_newer_move_takes_the_place_of_an_older_one():
    line, finished = LiveRange(), []

    def work(name):
        def sentences(dropped):
            for step in range(3):
                time.sleep(0.02)
                if dropped():
                    raise Dropped
                yield f"{name} {step}"
            finished.append(name)

        return sentences

    for name in ("first", "second", "third"):
        line.follow(work(name))
        assert "working it out" in line.value
    assert line.wait() and "third 2" in line.value and finished == ["third"]

    def fails(_):
        raise ValueError("too cold")
        yield ""

    line.follow(fails)
    assert line.wait() and "too cold" in line.value
    line.follow(work("fourth"))
    assert line.wait() and "fourth 2" in line.value  # and the next move is answered all the same


def test_arithmetic_ends_in_the_numbers_shown(first):
    put(first, water_temp=18, hours=14, night_price=12, shelter=50)
    chain = first.arithmetic()
    texts = {line[0]: line for line in chain.lines}
    for label, amount in (
        ("Covered season", first.covered_season.money),
        ("Open season, in the same way", first.open_season.money),
        ("The cover saves", first.open_season.money - first.covered_season.money),
    ):
        assert texts[label][1].endswith(units.money(amount, units.GBP, 2))
        shown = re.search(r"£[\d,]+$", texts[label][2])[0]
        assert f"about {shown}" in first.sentence()
    # every line but the last names where its number comes from
    assert all(line[2] for line in chain.lines)


def test_arithmetic_balances(first):
    """Lost − sun − pump + stored is the heat that the heater gave: the steps are the season's own sums."""
    season = first.covered_season
    given = (
        sum(season.routes_kwh.values())
        - season.solar_kwh
        - float(season.hours["pump"].sum()) / 1000
        + float(season.hours["stored"].sum()) / 1000
    )
    assert given == pytest.approx(season.heat_kwh, abs=1e-6)


def test_arithmetic_is_written_only_when_looked_at(first):
    first.fold.unfolded = False
    first.fold.body = ""
    put(first, water_temp=17)
    assert first.fold.body == ""
    first.fold.unfolded = True
    shown = first.fold.body
    assert "<table" in shown
    put(first, water_temp=18)
    assert first.fold.body != shown
    first.fold.unfolded = False


def test_one_step_each_leaves_the_panel_as_it_was(first, capsys):
    put(first, water_temp=18, hours=14)
    before = first.sentence(), first.covered_season.money
    first.show_one_step_each()
    lines = capsys.readouterr().out.splitlines()
    assert len(lines) == 6
    signs = [re.search(r"([+−])£", line)[1] for line in lines[2:]]
    assert signs == ["+", "−", "+", "+"]  # warmer and windier costs more, a longer cover less
    assert (first.sentence(), first.covered_season.money) == before


def test_cautions_stand_in_the_open(first, four):
    for panel in (first, four):
        shown = " ".join(
            child.value for child in panel.children if hasattr(child, "value") and isinstance(child.value, str)
        )
        assert cautions.STANDING[:40] in shown


def test_a_mistake_is_said_in_the_panel(first):
    kept = first.redraw
    first.redraw = lambda **values: 1 / 0
    first.controls["water_temp"].value = 12
    assert "ZeroDivisionError" in first.error.value
    first.redraw = kept
    put(first, water_temp=18)


def test_four_ponds_keep_the_answer_back(four):
    assert four.controls["guess"].value is None
    assert four.picture.value == "" and "£" not in four.sentence()
    assert four.arithmetic() is None
    four.fold.unfolded = True
    assert "£" not in four.fold.body


def test_four_ponds_answer_every_choice(four):
    sentences = set()
    for guess in (*four.PONDS, ""):
        put(four, guess=guess)
        assert panels.about(max(four.money.values()), units.GBP) in four.sentence()
        sentences.add(four.sentence())
    assert len(sentences) == 5
    assert four.dearest == "Wide, shallow"
    # the biggest is not the dearest, and surface and warmth order the three without a cover
    assert four.money["Big, deep"] < four.money["Wide, shallow"]
    assert four.money["Wide, covered"] < four.money["Wide, shallow"]
