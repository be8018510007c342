"""The numbers in the tutor's argued points are those of the pages' pictures and of the garden pond's season."""

import functools
import importlib
import re

import pytest
from usual_cases import some_of

from pondheat.analysis import assessment, power_cut
from pondheat.core.places import CLONE
from pondheat.heat import falling_water, surface
from pondheat.money import payback
from pondheat.sheet import pond_sheet
from pondheat.show.panels import two_spells
from pondheat.show.panels.degree_hours import SeasonByDegreeHours

PONDS = CLONE / "data" / "ponds"
GARDEN = (PONDS / "garden_pond.toml").read_text(encoding="utf-8")
THIN = str.maketrans("\u202f\u2009\u00a0", "   ")

IN_PICTURES = [  # page, settings of its controls, numbers that its sentence and the notes must both have
    ("01_power_energy_money", {}, ["876 kWh"]),
    ("02_warming_water", {"volume": 24}, ["2.4 kW"]),
    ("05_moist_air", {"humidity": 100}, ["991 Pa"]),
    ("05_moist_air", {"humidity": 50}, ["1,528 Pa"]),
    ("04_open_surface", {}, ["44 %"]),
    ("04_open_surface", {"wind": 4}, ["47 %"]),
    ("06_walls_and_ground", {}, ["14 %", "494"]),
    ("06_walls_and_ground", {"insulation": 50}, ["119 W"]),
    ("06_walls_and_ground", {"insulation": 100}, ["68"]),
    ("06_walls_and_ground", {"stands": "sunk"}, ["196 W"]),
    ("07_covers", {}, ["57 %", "82 %"]),
    ("07_covers", {"u_value": 1.5}, ["61 %"]),
    ("07_covers", {"gap": 20}, ["44 %"]),
    ("08_falling_water", {}, ["73"]),
    ("09_weather", {}, ["47 degree-days", "4.1 °C"]),
    ("10_a_season", {}, ["7.3 K", "5.6"]),
    ("10_a_season", {"depth": 2.4}, ["4.3 K", "6.3"]),
    ("11_heaters", {}, ["3.3 °C"]),
    ("11_heaters", {"air_temp": 0}, ["3.6 kW"]),
    ("11_heaters", {"air_temp": -10}, ["3.5 to 3.7"]),
    ("11_heaters", {"water_temp": 12}, ["−1.7"]),
    ("12_tariffs", {}, ["£121", "£354", "16 %", "37 %"]),
    ("12_tariffs", {"hours": 24}, ["£128"]),
    ("15_payback", {}, ["£146"]),
    ("15_payback", {"interest": 8}, ["£53"]),
    ("15_payback", {"interest": 0}, ["£260"]),
    ("15_payback", {"life": 4}, ["£96"]),
]


def notes(page: str) -> str:
    """The hand-written notes of a page on one line."""
    text = (CLONE / "workbook" / "tutor" / f"{page}.md").read_text(encoding="utf-8")
    return " ".join(re.sub(r"<!-- From here.*?<!-- End of[^>]*-->", "", text, flags=re.DOTALL).split()).translate(THIN)


@functools.cache
def panel(page: str):
    return importlib.import_module(f"pondheat.show.panels.{page[3:]}").panel()


FIRST = [next(at for at, (other, *_) in enumerate(IN_PICTURES) if other == page) for page, *_ in IN_PICTURES]


@pytest.mark.parametrize("page, settings, numbers", some_of(IN_PICTURES, *FIRST))
def test_numbers_of_a_picture(page, settings, numbers):
    shown = panel(page)
    start = {name: shown.controls[name].value for name in settings}
    try:
        for name, value in settings.items():
            shown.controls[name].value = value
        sentence = shown.sentence().translate(THIN)
    finally:
        for name, value in start.items():
            shown.controls[name].value = value
    for number in numbers:
        assert number in sentence and number in notes(page), f"{number}: {sentence}"


def test_ways_to_compare_two_periods():
    line, six = panel("14_two_spells"), two_spells.six_ways()
    true = 100 * float(two_spells.truth()["saving_in_covered_nights"])
    assert f"totals say {six.saving(two_spells.TOTALS):.0f} % where {true:.0f} % was put in" in notes("14_two_spells")
    assert f"the line misses: {six.saving(two_spells.LINE):.0f} % for {true:.0f}." in notes("14_two_spells")
    ways = line.savings
    said = (
        f"covered nights {line.controls['milder'].value:.0f} K milder, the average night says {ways.by_average:.0%} "
        f"where {line.true_saving:.0%} is true, use per degree says {ways.per_degree:.0%}, the line {ways.by_line:.0%}"
    )
    assert said.replace("%", " %") in notes("14_two_spells")


def test_a_season_by_degree_hours():
    shown = SeasonByDegreeHours()
    assert shown.month == 1  # as the picture opens
    season, may = (
        round(100 * (rough / true - 1))
        for rough, true in ((shown.rough, shown.true), (shown.rate * shown.cold[5], shown.heat[5]))
    )
    assert f"the garden pond's season {season} % too much; but they give May {may} % too much" in notes("09_weather")


@functools.cache
def garden() -> assessment.Assessment:
    return _season(GARDEN)


def _season(text: str) -> assessment.Assessment:
    made = pond_sheet.from_text(text, PONDS)
    return assessment.assess(made, assessment.weather_of(made), scenarios=0)


def changed(**values) -> assessment.Assessment:
    """The garden pond's season with keys of its sheet changed; walls: area of the wall [m²]; u: its U-value."""
    text = pond_sheet.with_values(
        GARDEN, {name.replace("__", "."): value for name, value in values.items() if name not in ("walls", "u")}
    )
    text = text.replace('"15.6 m²"', f'"{values.get("walls", 15.6)} m²"')
    return _season(text.replace('"0.5 W/m²K"', f'"{values.get("u", 0.5)} W/m²K"'))


def per_cent(now: float, before: float) -> int:
    return round(100 * (now / before - 1))


def test_a_hedge_against_a_cover():
    hedge, cover = changed(place__wind_shelter=0.3).open, garden().covered
    less, much_less = (-per_cent(one.electricity_kwh, garden().open.electricity_kwh) for one in (hedge, cover))
    assert f"takes {less} % less electricity in a season; with a cover at night, {much_less} % less" in notes(
        "04_open_surface"
    )


def test_air_stones():
    most = falling_water.air_side_limit(40 / 60e3, 18.0, 8.0, 0.8, 101325)
    assert f"more than {most:.0f} W" in notes("04_open_surface")
    for season in (garden().open, garden().covered):
        assert round(100 * season.routes_kwh["aeration"] / sum(season.routes_kwh.values())) == 1
    assert "air stones take about 1 % of the heat" in notes("04_open_surface")


def test_walls_open_and_covered():
    planks = changed(u=2.1)
    open_less, covered_less = (
        -per_cent(now.electricity_kwh, before.electricity_kwh)
        for now, before in ((garden().open, planks.open), (garden().covered, planks.covered))
    )
    assert f"saves the invented pond {open_less} % of a season open, and {covered_less} % covered" in notes(
        "06_walls_and_ground"
    )


def test_a_liquid_film():
    film = changed(
        cover__kind="film",
        cover__u_value=None,
        cover__light=None,
        cover__gap=None,
        cover__evaporation_cut="15 %",
        cover__on=None,
        cover__off=None,
    )
    less = -per_cent(film.covered.electricity_kwh, film.open.electricity_kwh)
    assert f"takes {less} % less with it always on" in notes("07_covers")


def test_depth_and_new_water():
    deep = changed(
        pond__depth="2.4 m", water__change_per_day="0.5 %", walls=31.2
    )  # as many litres of new water as before
    more, covered_more = (
        per_cent(now.electricity_kwh, before.electricity_kwh)
        for now, before in ((deep.open, garden().open), (deep.covered, garden().covered))
    )
    assert f"takes {more} % more open and {covered_more} % more covered" in notes("02_warming_water")
    shares = [
        round(100 * season.routes_kwh["water_change"] / sum(season.routes_kwh.values()))
        for season in (garden().open, garden().covered)
    ]
    assert f"is {shares[0]} % of what the invented pond loses open and {shares[1]} % of what it loses covered" in notes(
        "02_warming_water"
    )


def test_heaters_over_a_season():
    pump, strong = changed(heater__kind="heat pump").covered, changed(heater__power="12 kW").covered
    said = notes("11_heaters")
    with_pump, without = (round(one.electricity_kwh, -1) for one in (pump, garden().covered))
    taken, plain = (f"{one:,.0f}".replace(",", " ") for one in (with_pump, without))
    assert f"pump included, it takes {taken} kWh where a plain heater takes {plain}" in said
    assert f"it falls short in {pump.short_hours} hours" in said
    assert strong.electricity_kwh == pytest.approx(garden().covered.electricity_kwh, rel=1e-3)


def test_a_cooler_pond_costs_less_than_half():
    assert changed(pond__set_point="12 °C").covered.money < garden().covered.money / 2
    assert "At 12 °C and covered it costs less than half as much" in notes("00_start_here")


def test_four_ponds():
    money = importlib.import_module("pondheat.show.panels.start_here").four_ponds().money
    assert money["Big, deep"] < money["Wide, shallow"] / 2 and "cost less than half" in notes("00_start_here")


def test_a_power_cut_in_january():
    made = pond_sheet.from_text(GARDEN, PONDS)
    bare, laid = (
        power_cut.power_cut(made, start="2026-01-15 18:00", covered=covered, fish_kg=20) for covered in (False, True)
    )
    said = notes("10_a_season")
    assert f"cools by 5 K in {bare.hours_to[5.0]:.0f} hours" in said and f"after about {bare.oxygen_hours:.0f}" in said
    assert f"falls 1 K in {laid.hours_to[1.0]:.0f} hours" in said and laid.oxygen_hours == bare.oxygen_hours


def test_evaporation_dry_and_full():
    dry, full = (float(surface.evaporation(18.0, 8.0, humidity, 1.0)) for humidity in (0.5, 1.0))
    assert f"gives off {dry:.0f} W/m² by evaporation at 50 % humidity, and {full:.0f} in full air" in notes(
        "05_moist_air"
    )


def test_the_pond_as_a_store():
    heat, dear = 13.956, 17
    falls = [
        (7 * night + 10 * 2.08) / heat for night in (2.8, 0.7)
    ]  # 7.1's numbers; seven of the fourteen hours are cheap
    assert dear == 7 + 10 and [round(fall) for fall in falls] == [3, 2]
    assert "about 3 K in the seventeen expensive hours, the covered one about 2 K" in notes("12_tariffs")


def test_interest():
    assert [round(payback.net_present_value(640, 150, 6, rate)) for rate in (0.0, 0.04, 0.08)] == [260, 146, 53]
