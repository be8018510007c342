"""Un-ionised ammonia against printed tables and older constants."""

import numpy as np
import pytest
from hypothesis import given, strategies as st

from pondheat.fish.ammonia import unionised_fraction


@pytest.mark.parametrize("temp, ph, printed", [
    # Univ. Florida IFAS FA16 table 1, calculated from Emerson et al. 1975; four decimals.
    (6.0, 7.0, 0.0013), (18.0, 7.4, 0.0085), (8.0, 7.6, 0.0063), (24.0, 8.0, 0.0502), (22.0, 8.2, 0.0676),
    (28.0, 8.6, 0.2178),
])
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
def test_rises_with_warmth_and_ph_and_stays_a_share(temp, ph):
    share = unionised_fraction(temp, ph)
    assert 0 < share < unionised_fraction(temp + 1, ph) < 1
    assert share < unionised_fraction(temp, ph + 0.1) < 1
