"""Un-ionised ammonia against printed tables and older constants."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pondheat.core.ranges import OutOfRange
from pondheat.fish import ammonia
from pondheat.fish.ammonia import from_test_kit, unionised_ammonia, unionised_fraction


@pytest.mark.parametrize(
    "temp, ph, printed",
    [
        # Univ. Florida IFAS FA16 table 1, calculated from Emerson et al. 1975; four decimals.
        (6.0, 7.0, 0.0013),
        (18.0, 7.4, 0.0085),
        (8.0, 7.6, 0.0063),
        (24.0, 8.0, 0.0502),
        (22.0, 8.2, 0.0676),
        (28.0, 8.6, 0.2178),
    ],
)
def test_printed_table(temp, ph, printed):
    assert unionised_fraction(temp, ph) == pytest.approx(printed, abs=1e-4)


@pytest.mark.parametrize("temp, ph, percent", [(10.0, 7.5, 0.59), (15.0, 8.0, 2.65), (25.0, 8.0, 5.28)])
def test_older_constants(temp, ph, percent):
    # Trussell 1972 (reprinted), an independent fit, to within 2 %.
    assert 100 * unionised_fraction(temp, ph) == pytest.approx(percent, rel=0.02)


def test_warming_from_8_to_18_degrees_doubles_it():
    cold, warm = unionised_fraction(np.array([8.0, 18.0]), 8.0)
    assert (round(100 * cold, 2), round(100 * warm, 2)) == (1.56, 3.30)
    assert warm / cold == pytest.approx(2.12, abs=0.01)


@given(st.floats(0, 39), st.floats(5, 9.9))
def test_rises_with_temperature_and_ph_and_stays_below_one(temp, ph):
    share = unionised_fraction(temp, ph)
    assert 0 < share < unionised_fraction(temp + 1, ph) < 1
    assert share < unionised_fraction(temp, ph + 0.1) < 1


def test_the_same_ammonia_stated_in_three_ways():
    """1.000 mg/L as N is 1.216 as NH3 and 1.288 as NH4: weights 14.007, 17.031 and 18.039 by IUPAC."""
    assert ammonia.NITROGEN_IN_NH3.value == pytest.approx(14.007 / (14.007 + 3 * 1.008), abs=5e-5)
    assert ammonia.NITROGEN_IN_NH4.value == pytest.approx(14.007 / (14.007 + 4 * 1.008), abs=5e-5)
    same = [from_test_kit(total, way, 18.0, 8.0) for total, way in ((1.0, "N"), (1.2159, "NH3"), (1.2879, "NH4"))]
    for found in same:
        assert found == pytest.approx(same[0], rel=2e-4)
    # FA16 prints .0330 at 18 °C, pH 8: of 1 mg/L as N that is 0.0330 as N and 0.0330 × 17.031 ÷ 14.007 as NH3
    assert same[0].as_n == pytest.approx(0.0330, abs=1e-4) and same[0].as_nh3 == pytest.approx(0.0401, abs=1e-4)


@pytest.mark.parametrize(
    "written, key",
    [
        ("as N", "N"),
        ("NH3-N", "N"),
        ("NH₄⁺-N", "N"),
        ("nitrogen", "N"),
        ("nh3", "NH3"),
        ("NH₃", "NH3"),
        ("as NH3", "NH3"),
        ("NH4+", "NH4"),
        ("mg/L as N", "N"),
        ("TAN", "N"),
    ],
)
def test_spellings_on_test_kits(written, key):
    assert unionised_ammonia(1.0, written, 18.0, 8.0) == unionised_ammonia(1.0, key, 18.0, 8.0)


@pytest.mark.parametrize(
    "total, way, words",
    [
        (-0.5, "N", "total_ammonia"),
        (float("nan"), "N", "not a number"),
        (1.0, "NO2", "nitrite or nitrate, not ammonia"),
        (1.0, "nitrate", "not ammonia"),
        (1.0, "chlorine", "write “N”, “NH3” or “NH4”"),
        (1.0, "", "write “N”"),
        (1.0, None, "write “N”"),
        (1.0, "x" * 5000, "x…|x” given"),
    ],
)
def test_an_unknown_species_is_refused_with_a_reason(total, way, words):
    with pytest.raises(OutOfRange, match=words) as fault:
        from_test_kit(total, way, 18.0, 8.0)
    assert len(str(fault.value)) < 250


def test_arrays_go_through():
    found = unionised_ammonia(np.array([0.0, 1.0, 2.0]), "N", 18.0, 8.0)
    assert found[0] == 0 and found[2] == pytest.approx(2 * found[1]) and type(unionised_ammonia(1, "N", 18, 8)) is float
