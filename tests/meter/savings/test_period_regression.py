"""Least squares compared with certified values.

Source: NIST Statistical Reference Datasets, linear regression, public domain: Norris (lower difficulty; the data file
that scipy's own tests carry) and Longley (higher difficulty, nearly dependent columns; J. W. Longley 1967, JASA 62,
819–841).
"""

import importlib.resources

import numpy as np
import pytest
from scipy import stats

from pondheat.meter.savings.estimators import least_squares
from pondheat.meter.savings.interval_fit import Undetermined

# total employment, then: price deflator, gross national product, unemployed, armed forces, population, year
LONGLEY = np.array(
    [
        [60323, 83.0, 234289, 2356, 1590, 107608, 1947],
        [61122, 88.5, 259426, 2325, 1456, 108632, 1948],
        [60171, 88.2, 258054, 3682, 1616, 109773, 1949],
        [61187, 89.5, 284599, 3351, 1650, 110929, 1950],
        [63221, 96.2, 328975, 2099, 3099, 112075, 1951],
        [63639, 98.1, 346999, 1932, 3594, 113270, 1952],
        [64989, 99.0, 365385, 1870, 3547, 115094, 1953],
        [63761, 100.0, 363112, 3578, 3350, 116219, 1954],
        [66019, 101.2, 397469, 2904, 3048, 117388, 1955],
        [67857, 104.6, 419180, 2822, 2857, 118734, 1956],
        [68169, 108.4, 442769, 2936, 2798, 120445, 1957],
        [66513, 110.8, 444546, 4681, 2637, 121950, 1958],
        [68655, 112.6, 482704, 3813, 2552, 123366, 1959],
        [69564, 114.2, 502601, 3931, 2514, 125368, 1960],
        [69331, 115.7, 518173, 4806, 2572, 127852, 1961],
        [70551, 116.9, 554894, 4007, 2827, 130081, 1962],
    ]
)
LONGLEY_FACTORS = [
    -3482258.63459582,
    15.0618722713733,
    -0.358191792925910e-01,
    -2.02022980381683,
    -1.03322686717359,
    -0.511041056535807e-01,
    1829.15146461355,
]
LONGLEY_ERRORS = [
    890420.383607373,
    84.9149257747669,
    0.334910077722432e-01,
    0.488399681651699,
    0.214274163161675,
    0.226073200069370,
    455.478499142212,
]
LONGLEY_SCATTER = 304.854073561965
NORRIS_FACTORS, NORRIS_ERRORS = [-0.262323073774029, 1.00211681802045], [0.232818234301152, 0.429796848199937e-03]
NORRIS_SCATTER = 0.884796396144373


def norris() -> np.ndarray:
    """The 36 rows (y, x) of the certified file."""
    path = importlib.resources.files("scipy") / "stats/tests/data/nist_linregress/Norris.dat"
    if not path.is_file():
        pytest.skip("this scipy came without its tests")
    rows = [line.split() for line in path.read_text(encoding="ascii").splitlines()[60:] if line.strip()]
    return np.array(rows, float)


def test_norris():
    y, x = norris().T
    assert len(y) == 36
    line = least_squares(np.column_stack([np.ones(36), x]), y)
    # 15 digits are certified; double precision on a well-conditioned problem keeps 12
    assert line.coefficients == pytest.approx(NORRIS_FACTORS, rel=1e-11)
    assert line.standard_errors == pytest.approx(NORRIS_ERRORS, rel=1e-11)
    assert line.residual_sd == pytest.approx(NORRIS_SCATTER, rel=1e-11)
    other = stats.linregress(x, y)
    assert [other.intercept, other.slope] == pytest.approx(NORRIS_FACTORS, rel=1e-11)


def test_longley():
    line = least_squares(np.column_stack([np.ones(16), LONGLEY[:, 1:]]), LONGLEY[:, 0])
    # condition after scaling about 4e4: eleven digits at best, nine are required
    assert line.coefficients == pytest.approx(LONGLEY_FACTORS, rel=1e-9)
    assert line.standard_errors == pytest.approx(LONGLEY_ERRORS, rel=1e-9)
    assert line.residual_sd == pytest.approx(LONGLEY_SCATTER, rel=1e-9)


def test_standard_errors_by_the_normal_equations():
    rng = np.random.default_rng(1)
    design = np.column_stack([np.ones(20), rng.random(20), rng.random(20)])
    line = least_squares(design, rng.random(20))
    expected = line.residual_sd * np.sqrt(np.diag(np.linalg.inv(design.T @ design)))
    assert line.standard_errors == pytest.approx(expected, rel=1e-9)


def test_refuses_an_undetermined_fit():
    with pytest.raises(Undetermined, match="do not determine"):
        least_squares(np.ones((2, 2)), [1.0, 2.0])
    with pytest.raises(Undetermined, match="say the same"):
        least_squares(np.column_stack([np.ones(5), np.arange(5), 2 * np.arange(5)]), np.arange(5.0))
