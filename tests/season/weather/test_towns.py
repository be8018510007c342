"""Looking up a town: names as people type them, names that repeat, near misses, positions; offline."""

import pytest

from pondheat.season.weather import towns
from pondheat.season.weather.record import WeatherError

# From a printed atlas's index, to a tenth of a degree (memory).
LEEDS, NEWPORT_WALES, MUNICH, SYDNEY = (53.8, -1.5), (51.6, -3.0), (48.1, 11.6), (-33.9, 151.2)


def refusal(text: str) -> str:
    with pytest.raises(WeatherError) as told:
        towns.find(text)
    return str(told.value)


@pytest.mark.parametrize(
    "typed, where",
    [
        ("Leeds", LEEDS),
        ("leeds, gb", LEEDS),
        (" LEEDS ,  UK ", LEEDS),
        ("Leeds, England", LEEDS),
        ("Leeds, England, United Kingdom", LEEDS),
        ("Newport, Wales", NEWPORT_WALES),
        ("München", MUNICH),
        ("munchen", MUNICH),
        ("Munich, Bavaria, DE", MUNICH),
        ("Sydney, AU", SYDNEY),
    ],
)
def test_a_town_as_people_type_it(typed, where):
    found = towns.find(typed)
    assert (found.latitude, found.longitude) == pytest.approx(where, abs=0.06)


def test_its_label_and_time_zone():
    found = towns.find("leeds")
    assert (found.label, found.timezone) == ("Leeds, England, GB", "Europe/London")
    assert towns.find("Köln").label == "Köln, North Rhine-Westphalia, DE"
    assert towns.find("saint etienne").label == "Saint-Étienne, FR"


def test_a_name_that_repeats_is_asked_back():
    told = refusal("Newport")
    assert "Which is yours?" in told
    assert told.index("Newport, Wales, GB") < told.index("Newport, England, GB") < told.index("Rhode Island, US")
    assert "Newport, Wales, GB" in refusal("Newport, France") and "not in “France”" in refusal("Newport, France")


def test_a_second_name_counts_beside_a_main_name():
    told = refusal("Hull")
    assert "Kingston upon Hull, England, GB" in told and "Hull, Quebec, CA" in told
    assert towns.find("Hull, GB").label == "Kingston upon Hull, England, GB"


@pytest.mark.parametrize(
    "typed, meant", [("Leads, GB", "Leeds, England, GB"), ("Manchestr, UK", "Manchester, England")]
)
def test_a_near_miss_is_offered(typed, meant):
    told = refusal(typed)
    assert f"Did you mean “{meant}" in told and "latitude and longitude" in told


def test_a_place_too_small_for_the_list_gets_a_way_out():
    told = refusal("Nether Wallop Parva")
    assert "15,000 people" in told and "larger town near by" in told and "53.8, -1.5" in told


@pytest.mark.parametrize(
    "typed, where",
    [
        ("53.8, -1.5", (53.8, -1.5)),
        ("53.8 −1.5", (53.8, -1.5)),
        ("53.8° N, 1.5° W", (53.8, -1.5)),
        ("33.9S;151.2E", (-33.9, 151.2)),
        ("52, 0", (52.0, 0.0)),
    ],
)
def test_a_position_instead_of_a_name(typed, where):
    found = towns.find(typed)
    assert (found.latitude, found.longitude, found.timezone) == (*where, "")
    assert towns.find(found.label) == found


@pytest.mark.parametrize("typed", ["153.8, -1.5", "53.8, -190"])
def test_an_impossible_position_is_refused(typed):
    assert "latitude first" in refusal(typed)


@pytest.mark.parametrize("typed", ["", "   ", "x" * 200])
def test_no_place_at_all(typed):
    assert "Leeds, GB" in refusal(typed)


def test_every_label_finds_its_own_town():
    """What a message offers can be typed, and a sheet is understood again: each fiftieth town, and all British ones."""
    rows = [row for same in towns._list().by_name.values() for row in same]
    for row in [*rows[::50], *(row for row in rows if row.country == "GB")]:
        found = towns.find(towns._label(row))
        assert (found.latitude, found.longitude) == (row.latitude, row.longitude), towns._label(row)


def test_only_a_rounded_position_leaves_the_house():
    assert towns.Town("x", 53.7965, -1.5479).rounded == (53.8, -1.5)
    assert str(towns.Town("x", -0.04, 0.02).rounded) == "(0.0, 0.0)"  # no minus zero


def test_the_list_ships_with_the_package_and_is_small():
    assert towns.TOWNS.parent.name == "weather" and towns.TOWNS.stat().st_size < 750_000
    known = towns._list()
    assert sum(map(len, known.by_name.values())) > 34_000 and known.countries["GB"] == "United Kingdom"
