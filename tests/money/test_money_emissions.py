"""Emissions, the published factors, and how both are written."""

import re

import numpy as np
import pytest

from pondheat.core import sources
from pondheat.core.ranges import OutOfRange
from pondheat.money import emissions as co2
from pondheat.money.emissions import Factor, Factors, emissions, emissions_text, gas_factor, grid_factor, own_factor


def test_energy_times_factor():
    assert np.allclose(emissions(np.array([0.0, 250.0]), 0.4), [0.0, 100.0])
    assert type(emissions(10.0, 0.2)) is float
    with pytest.raises(OutOfRange, match="did you mean 207 g/kWh"):
        emissions(10.0, 207.0)


# Worked by hand from the published parts
@pytest.mark.parametrize(
    ("timezone", "currency", "kg", "words"),
    [
        ("Europe/London", "GBP", 0.177 + 0.0185, "UK grid 2025"),
        ("GB", None, 0.1955, "UK grid 2025"),
        ("Europe/Berlin", "EUR", 0.363, "German grid 2024"),
        ("America/Chicago", "USD", 823.1 * 0.45359237 / 1000 / 0.949, "US grid 2022"),
        ("Australia/Hobart", None, 0.18, "Tasmania 2024"),
        ("Australia/NSW", "AUD", 0.70, "New South Wales 2024"),
    ],
)
def test_published_factors(timezone, currency, kg, words):
    found = grid_factor(timezone, currency)
    assert found.kg_per_kwh == pytest.approx(kg, abs=2e-4)
    assert words in found.origin
    assert re.search(r"\((?:UK Gov|Umwelt|US Env|Australian Nat)", found.origin)  # with its source


@pytest.mark.parametrize(
    ("timezone", "currency"),
    [
        ("Europe/Paris", "EUR"),  # another grid with the German currency
        ("Europe/Copenhagen", None),  # another grid with the German clock
        ("Europe/Dublin", "EUR"),
        ("Europe/Isle_of_Man", "GBP"),
        ("Europe/London", "EUR"),  # clock and currency disagree
        ("America/New_York", "GBP"),
        ("America/Toronto", "USD"),
        ("Australia/Broken_Hill", "AUD"),  # no state of its own
        ("UTC", "GBP"),
        ("", None),
    ],
)
def test_nothing_is_guessed(timezone, currency):
    found = grid_factor(timezone, currency)
    assert found.kg_per_kwh is None
    assert "[emissions] electricity" in found.origin


def test_published_factors_are_plausible_and_sourced():
    constants = [value for value in vars(co2).values() if isinstance(value, sources.Constant)]
    constants += co2.AUSTRALIAN_STATES.values()
    assert len(constants) >= 12
    assert all(0 < one.value < 1.2 and sources.cite(one.source) for one in constants)
    assert not any("invented" in sources.cite(one.source) for one in constants)


def test_a_season_needs_the_factors_of_what_it_takes():
    unknown = Factors(Factor(None, ""), gas_factor())
    assert unknown.of(0.0, 1000.0) == pytest.approx(181.0)
    assert unknown.of(10.0, 1000.0) is None
    known = Factors(own_factor(0.05, "emissions.electricity"), gas_factor())
    assert known.of(100.0, 1000.0) == pytest.approx(186.0)
    assert "emissions.electricity" in known.electricity.origin


@pytest.mark.parametrize(
    ("kg", "text"),
    [(0.0, "none"), (0.3, "less than 1 kg"), (8.4, "8 kg"), (637, "640 kg"), (996, "1.0 t"), (2149, "2.1 t")]
    + [(12_345, "12 t"), (-640, "−640 kg")],
)
def test_as_people_say_it(kg, text):
    assert emissions_text(kg) == text
