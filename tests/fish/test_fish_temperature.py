"""Nitrification, and growth and feeding of carp with their sources."""

import pytest

from pondheat.core.ranges import OutOfRange
from pondheat.core.sources import BIBLIOGRAPHY
from pondheat.fish import temperature
from pondheat.fish.temperature import nitrification_factor


def test_one_at_20_degrees_and_theta_per_degree():
    for theta in (1.02, 1.06, 1.10):
        assert nitrification_factor(20.0, theta) == 1.0
        assert nitrification_factor(15.0, theta) / nitrification_factor(14.0, theta) == pytest.approx(theta)


def test_by_hand():
    # 1.1 multiplied by itself ten times is 2.5937; 1.02 gives 1.2190
    assert 1 / nitrification_factor(10.0, 1.10) == pytest.approx(2.5937, abs=1e-4)
    assert 1 / nitrification_factor(10.0, 1.02) == pytest.approx(1.2190, abs=1e-4)


def test_measured_filters():
    """Zhu and Chen 2002, abstract: a degree more at 20 °C gives 1.108 % (short of oxygen), 4.275 % (of ammonia)."""
    for constant, percent in ((temperature.THETA_SHORT_OF_OXYGEN, 1.108), (temperature.THETA_SHORT_OF_AMMONIA, 4.275)):
        assert 100 * (nitrification_factor(21.0, constant.value) - 1) == pytest.approx(percent, abs=1e-6)


def test_growth_rises_with_warmth_and_levels_off():
    temps, growth = zip(*sorted(temperature.CARP_GROWTH.items()))
    steps = [b - a for a, b in zip(growth, growth[1:])]
    assert all(step > 0 for step in steps) and steps == sorted(steps, reverse=True)
    assert temperature.CARP_GROWTH_SOURCE in BIBLIOGRAPHY
    assert temperature.NO_FOOD_FROM.value < temperature.LITTLE_FOOD_BELOW.value < min(temps)


def test_refuses_nonsense():
    with pytest.raises(OutOfRange):
        nitrification_factor(10.0, 106)
    with pytest.raises(OutOfRange):
        nitrification_factor(150.0)


def test_growth_by_source():
    told = {temp: temperature.growth_by_source(temp) for temp in (5.0, 15.0, 18.0, 29.0, 30.0, 32.0)}
    assert all(len(each) == 3 for each in told.values())
    juveniles, fry, farm = told[18.0]
    assert told[18.0][juveniles].startswith("2.3 %") and told[30.0][juveniles].startswith("3.3 %")  # 1984, abstract
    assert "between two" in told[15.0][juveniles] and told[15.0][juveniles].startswith("1.5 %")  # half of 0.71 + 2.31
    assert "not measured" in told[5.0][juveniles] and "not measured" in told[32.0][juveniles]
    assert told[32.0][fry].startswith("3.6 %") and "not measured" in told[18.0][fry]
    assert temperature.CARP_GROWTH[30] > temperature.CARP_GROWTH[24]  # juveniles still gain at 30 °C
    assert temperature.FRY_GROWTH[32] < temperature.FRY_GROWTH[28]  # fry no longer do beyond 28 °C
    assert "slow" in told[5.0][farm] and "begin" in told[18.0][farm] and "grow well" in told[30.0][farm]


def test_feeding_by_source():
    farm, custom = temperature.feeding_by_source(20.0)
    words = {temp: temperature.feeding_by_source(temp) for temp in (5.0, 7.0, 8.0, 10.0, 12.0)}
    assert [words[temp][farm] for temp in words] == [
        "they do not eat",
        "they do not eat",
        "they eat very little",
        "they eat",
        "they eat",
    ]
    assert words[7.0][custom].startswith("some still feed") and words[5.0][custom] == "nobody feeds"
    assert "common practice, no source" in custom
    with pytest.raises(OutOfRange):
        temperature.growth_by_source(150.0)


def test_our_theta_is_between_those_of_the_texts():
    assert temperature.THETA.value == pytest.approx((1.02 * 1.10) ** 0.5, abs=0.005)
    assert temperature.THETA_SHORT_OF_AMMONIA.value < temperature.THETA.value


def test_limits_named_by_a_source_are_inclusive():
    """FAO has carp grow well from its upper 20 °C on; up to 10 °C some keepers say to stop feeding."""
    assert temperature.growth_by_source(20.0)["FAO, farms"].startswith("carp grow well")
    assert temperature.growth_by_source(19.9)["FAO, farms"].startswith("where carp begin")
    (custom,) = (said for source, said in temperature.feeding_by_source(10.0).items() if source.startswith("Keepers"))
    assert custom == "some still feed, some have stopped"
