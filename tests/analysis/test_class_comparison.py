"""A class's ponds side by side: without names, a bad sheet does not stop the others, and reasons are computed."""

import datetime as dt
import html
import re
import shutil
from dataclasses import replace

import pytest

from pondheat import cli as front
from pondheat.analysis import assessment, class_comparison
from pondheat.analysis.class_comparison import NoComparablePonds, compare_class
from pondheat.core.places import PONDS
from pondheat.sheet import pond_sheet
from pondheat.tutor import our_ponds

SEASON = (dt.date(2025, 10, 13), dt.date(2025, 11, 23))  # six weeks, mild enough that no heater is short
GARDEN, TANK = (
    pond_sheet.with_values(
        (PONDS / f"{name}.toml").read_text(encoding="utf-8"), {"season": {"start": SEASON[0], "end": SEASON[1]}}
    )
    for name in ("garden_pond", "growing_on_tank")
)


@pytest.fixture(scope="module", autouse=True)
def six_weeks():
    """The season that all ponds share is shorter here."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(class_comparison, "SEASON", SEASON)
        yield


def described(**changes) -> str:
    return pond_sheet.with_values(GARDEN, {name.replace("__", "."): value for name, value in changes.items()})


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """A garden pond as it is, once warmer, once in more wind; a tank; an unreadable sheet, and one without heat."""
    here = tmp_path_factory.mktemp("class")
    (here / "Ann Other.toml").write_text(described(name="Ann's secret pond"), encoding="utf-8")
    (here / "warm.toml").write_text(described(pond__set_point="22 °C"), encoding="utf-8")
    (here / "windy.toml").write_text(described(place__wind_shelter=1.0), encoding="utf-8")
    (here / "growing_on_tank.toml").write_text(TANK, encoding="utf-8")
    (here / "bad.toml").write_text("this is <b>no</b> sheet", encoding="utf-8")
    (here / "cold.toml").write_text(described(pond__set_point=None), encoding="utf-8")
    return here


@pytest.fixture(scope="module")
def pair(folder, tmp_path_factory):
    """Two of these ponds and the unreadable sheet, where two are enough."""
    here = tmp_path_factory.mktemp("pair")
    for name in ("Ann Other.toml", "warm.toml", "bad.toml"):
        shutil.copy(folder / name, here)
    return here


@pytest.fixture(scope="module")
def found(folder):
    return compare_class(folder, money=True, seed=4)


def by_what(found, reason):
    """The pond for which one thing changes most."""
    return max(found.ponds, key=lambda pond: abs(dict(pond.reasons).get(reason, 0.0)))


def test_ponds_are_those_of_the_season(found):
    like = assessment.assess(pond_sheet.from_text(described(), PONDS), scenarios=0)
    own = [pond for pond in found.ponds if pond.temp == 18 and "the wind that reaches it" not in dict(pond.reasons)]
    assert len(own) == 1
    # The class's heaters are never short; the garden pond's own is, in a few open hours.
    assert own[0].as_it_is == pytest.approx(like.covered.heat_kwh / 10, rel=1e-3)
    assert own[0].open_kwh == pytest.approx(like.open.heat_kwh / 10, rel=0.01)
    assert own[0].money == pytest.approx(like.covered.money / 10)
    lead = (
        like.open.hours["water_temp"]
        - assessment.boundary_conditions(like.sheet, like.weather).hours["air_temp"].loc[like.open.hours.index]
    )
    assert own[0].per_degree == pytest.approx(own[0].as_it_is / lead.mean(), rel=0.01)
    assert own[0].saved == pytest.approx(1 - own[0].covered_kwh / own[0].open_kwh)


def test_the_reasons_are_what_was_changed(found):
    """The windy pond is the garden pond but for its wind, so the middle wind makes it the garden pond again."""
    windy = by_what(found, "the wind that reaches it")
    (garden,) = (pond for pond in found.ponds if pond.temp == 18 and pond is not windy)
    assert windy.as_it_is + dict(windy.reasons)["the wind that reaches it"] == pytest.approx(garden.as_it_is)
    for pond in found.ponds:  # the middle of 18, 18, 22 and 22 °C is 20
        assert (dict(pond.reasons)["the temperature it is held at"] > 0) == (pond.temp < 20)
        changes = [abs(change) for _, change in pond.reasons]
        assert changes == sorted(changes, reverse=True)


def test_new_water_is_scaled_by_surface_like_other_streams(tmp_path):
    """The middle pond is the garden pond of 10 m²: 120 L of new water a day there are 14.4 L for a tank of 1.2 m²."""
    for name in "ab":
        (tmp_path / f"{name}.toml").write_text(GARDEN, encoding="utf-8")
    (tmp_path / "tank.toml").write_text(TANK, encoding="utf-8")
    held = next(pond for pond in compare_class(tmp_path, seed=1).ponds if pond.temp == 22)
    alike = pond_sheet.with_values(
        TANK,
        {
            "filter.air_flow": "0.24 L/s",
            "aeration.air_flow": "3.6 L/min",
            "water.change_per_day": "14.4 L/day",
            "heater.power": "3.6 kW",
        },
    )
    by_hand = assessment.assess(pond_sheet.from_text(alike, PONDS), scenarios=0).covered.heat_kwh / 1.2
    # its sides, too, per m² of surface: 0.5 W/m²K on 15.6 m² and 0.489 on 10 m² of floor make 1.27 for each m²
    small = pond_sheet.from_text(pond_sheet.with_values(TANK, {"heater.power": "3.6 kW"}), PONDS)
    worse = 1.2688 / (sum(wall.area * wall.u_value for wall in small.pond.walls) / 1.2)
    walls = tuple(replace(wall, u_value=worse * wall.u_value) for wall in small.pond.walls)
    walled = (
        assessment.assess(replace(small, pond=replace(small.pond, walls=walls)), scenarios=0).covered.heat_kwh / 1.2
    )
    assert held.as_it_is + dict(held.reasons)["its walls and floor"] == pytest.approx(walled, rel=1e-3)
    assert held.as_it_is + dict(held.reasons)["its filter, air stones and new water"] == pytest.approx(
        by_hand, rel=1e-3
    )


def test_bad_sheets_are_named_to_the_tutor_and_left_out(found):
    assert {name for name, _ in found.left_out} == {"bad.toml", "cold.toml"}
    assert "TOML" in dict(found.left_out)["bad.toml"] and "has no heating" in dict(found.left_out)["cold.toml"]
    assert len(found.ponds) == 4


def test_the_page_is_anonymous(found):
    made = our_ponds.page_html(found)
    for name in ("Ann", "secret", "garden", "Garden", "tank", "toml", "bad", "Potsdam", "Europe"):
        assert name not in made, name
    assert "2 sheets were left out" in made


def test_letters_are_drawn_at_random(tmp_path):
    for temp in (14, 16, 18):
        (tmp_path / f"{temp}.toml").write_text(described(pond__set_point=f"{temp} °C"), encoding="utf-8")

    def drawn() -> list[float]:
        return [pond.temp for pond in sorted(compare_class(tmp_path).ponds, key=lambda pond: pond.letter)]

    first = drawn()
    assert any(drawn() != first for _ in range(12))  # the same order twelve times comes once in two thousand million


def test_money_is_off_unless_asked_for(pair, found):
    off = compare_class(pair, seed=4)
    assert all(pond.money is None for pond in off.ponds) and "£" not in our_ponds.page_html(off)
    assert "£" in our_ponds.page_html(found)


def test_the_page_says_that_no_figure_carries_over(found):
    made = our_ponds.page_html(found)
    words = " ".join(html.unescape(re.sub(r"<[^>]*>", " ", made)).split())
    for wanted in (
        "no figure carries over",
        "Why they differ",
        "taking part was each owner's choice",
        "This is an estimate for learning",
    ):
        assert wanted in words
    assert not re.search(r"<script|<link|https?:(?!//www\.w3\.org/2000/svg)|\bon[a-z]+=", made)


def test_one_pond_alone_and_none(tmp_path):
    with pytest.raises(NoComparablePonds, match="no such folder"):
        compare_class(tmp_path / "missing")
    with pytest.raises(NoComparablePonds, match="no file that ends in .toml"):
        compare_class(tmp_path)
    (tmp_path / "one.toml").write_text(GARDEN, encoding="utf-8")
    assert "Two or more" in our_ponds.page_html(compare_class(tmp_path))


def test_a_pond_of_the_other_hemisphere_does_not_stop_the_others(tmp_path):
    (tmp_path / "north.toml").write_text(GARDEN, encoding="utf-8")
    (tmp_path / "south.toml").write_text(described(place__latitude=-36.0, place__longitude=145.0), encoding="utf-8")
    found = compare_class(tmp_path)
    assert len(found.ponds) == 1 and "winter" in found.left_out[0][1]


def test_the_command(pair, tmp_path, capsys):
    page = tmp_path / "out" / "page.html"
    assert front.main(["together", str(pair), "--page", str(page)]) == 0
    out, err = capsys.readouterr()
    assert (
        "no figure carries over" in out
        and "Left out, bad.toml" in err
        and "Our ponds" in page.read_text(encoding="utf-8")
    )
    assert front.main(["together", str(pair), "--page", str(tmp_path / "x.csv")]) == 2
    assert front.main(["together", str(tmp_path / "none")]) == 2
    assert "no such folder" in capsys.readouterr().err


def test_at_most_a_page_full(tmp_path, monkeypatch):
    monkeypatch.setattr("pondheat.analysis.class_comparison.MAX_PONDS", 2)
    for number in range(3):
        (tmp_path / f"{number}.toml").write_text(GARDEN, encoding="utf-8")
    found = compare_class(tmp_path, seed=1)
    assert len(found.ponds) == 2 and "drawn at random" in found.left_out[0][1]
