"""Plausible ranges: messages, suggested corrections, and that no possible value is refused."""

import csv
import re

import numpy as np
import pytest

from pondheat.checks import runner
from pondheat.core import nomenclature, ranges, units
from pondheat.core.places import CHECKS
from pondheat.core.ranges import RANGES, OutOfRange, choose, plain, range_error, require, suggest_correction, unusual

CHECK_FILES = sorted(CHECKS.glob("*.csv"))


@pytest.mark.parametrize(
    "name, value, guess",
    [
        ("rel_humidity", 80, "80 % (0.8)"),
        ("pressure", 1021, "1021 hPa"),
        ("pressure", 101.3, "101.3 kPa"),
        ("water_temp", 291, "291 K (17.9 °C)"),
        ("water_temp", 64, "64 °F (17.8 °C)"),
        ("water_temp", 180, "18 °C"),
        ("depth", 120, "120 cm"),
        ("depth", 1200, "1200 mm"),
        ("surface_area", 1e6, ""),
        ("volume", 120_000, "120000 L"),
        ("power", 3e9, ""),
        ("wind_speed", 90, "90 km/h"),
        ("flow", 12, "12 m³/h"),
        ("air_flow", 2000, "2000 m³/h"),
        ("rate", 128, "128 hundredths a kWh (1.28)"),
        ("discount_rate", 5, "5 % (0.05)"),
        ("nominal", 5, "5 % (0.05)"),
        ("confidence", 95, "95 % (0.95)"),
        ("cloud_cover", 60, "60 % (0.6)"),
    ],
)
def test_suggested_corrections(name, value, guess):
    sentence = range_error(name, value)
    assert sentence and f"given for {name}" in sentence and "it should be between" in sentence
    if guess:
        assert f"did you mean {guess}" in sentence and sentence.endswith("?")
        assert suggest_correction(name, value) == sentence.split("; ")[1]
    else:
        assert name in ("surface_area", "power")


def test_every_range_accepts_inside_and_refuses_outside():
    for name in RANGES:
        check_range(name)


def check_range(name: str) -> None:
    """Check the limits and messages of one parameter, with floats and arrays."""
    limits, unit = RANGES[name], nomenclature.PARAMETERS[name][0]
    width = limits.most - limits.least
    for inside in (limits.least, limits.most, limits.low, limits.high, (limits.least + limits.most) / 2):
        require(**{name: inside})
        require(**{name: np.array([inside, limits.most])})
        assert range_error(name, inside) is None
    for outside in (limits.least - width, limits.most + width):
        for given in (outside, np.array([limits.most, outside]), [outside], np.array([[outside]])):
            with pytest.raises(OutOfRange) as refusal:
                require(**{name: given})
            assert str(refusal.value) == range_error(name, outside)
        sentence = range_error(name, outside)
        # the number as given, both ends of the range, the unit as people write it
        assert sentence.startswith(f"{outside:g}") and units.pretty(unit) in sentence
        assert len(re.findall(r"it should be between .+ and .+", sentence)) == 1 and sentence[-1] in ".?"
        assert "e+" not in sentence.split("between")[1].split(";")[0]
    for nothing in (np.nan, np.inf, -np.inf):
        assert range_error(name, nothing) == f"{name} is not a number."
        with pytest.raises(OutOfRange, match="not a number"):
            require(**{name: nothing})
        with pytest.raises(OutOfRange, match="not a number"):
            require(**{name: np.array([limits.least, nothing])})
    for nonsense in ("many", {}, [[1], [1, 2]]):
        with pytest.raises(OutOfRange, match="not a number"):
            require(**{name: nonsense})
    with pytest.raises(OutOfRange, match="has no values"):
        require(**{name: []})
    require(**{name: None})


def test_no_check_row_is_out_of_range():
    for path in CHECK_FILES:
        for row in csv.DictReader(path.read_text(encoding="utf-8").splitlines()):
            for name, value in runner.arguments_of(runner.function_of(row["quantity"]), row["inputs"]).items():
                if name not in nomenclature.TEXTS:
                    require(**{name: value})


def test_the_worst_value_of_many_is_named():
    with pytest.raises(OutOfRange, match="^140 given for rel_humidity"):
        require(rel_humidity=np.array([0.5, 1.2, 140.0]))
    with pytest.raises(OutOfRange, match="^-3 given"):
        require(rel_humidity=np.array([0.5, -3.0]))


def test_unusual_is_not_impossible():
    assert unusual("water_temp", 40) and range_error("water_temp", 40) is None
    assert not unusual("water_temp", 18) and not unusual("no such name", 1e9)


def test_the_readers_currency_in_the_sentence():
    assert "€/kWh" in range_error("rate", 500, currency=units.CURRENCIES["EUR"]) and "£/kWh" in range_error("rate", 500)


def test_choose():
    known = {"sheet": 1, "floating": 2}
    assert choose("kind of cover", "sheet", known) == "sheet"
    with pytest.raises(
        OutOfRange, match="“sheeet” is not a known kind of cover. Did you mean “sheet”\\? Known: sheet, floating."
    ):
        choose("kind of cover", "sheeet", known)
    for odd in (None, ["sheet"], 3, "", {}):
        with pytest.raises(OutOfRange, match="not a known"):
            choose("kind of cover", odd, known)


def test_plain():
    assert type(plain(np.array(2.0))) is float and type(plain(np.float64(2.0))) is float
    assert plain(np.array([2.0])).shape == (1,)
    assert ranges.plain(3) == 3.0


def test_shares_above_one_tell_what_may_be_meant():
    assert range_error("share", 2.5).endswith("did you mean 2.5 % (0.025) or 25 % (0.25)?")
    assert range_error("power_factor", 1.4) == (
        "1.4 given for power_factor: it should be between 0 and 1, and usually is between 0.3 and 1."
    )
    assert range_error("power_factor", 95).endswith("did you mean 95 % (0.95)?")
