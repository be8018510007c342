"""The estimator of sums of open and covered hours: exact where the truth is, and its error that of simulated errors."""

import datetime as dt
from dataclasses import replace

import comparison_pairs as scene
import numpy as np
import pandas as pd
import pytest
from scipy import stats
from scipy.sparse import csr_array
from usual_cases import some_of

from pondheat.meter.savings import interval_fit, night_readings, observations, period_comparison
from pondheat.meter.savings.alignment import align
from pondheat.season.schedule import covered_share

HOME = scene.site(0).part(24 * 100, 24 * 126)
TIMES = (18 * 60, 8 * 60)
DATES = [HOME.index[0].date() + dt.timedelta(days=k + 1) for k in range(24)]
BLOCKS = {
    "blocks of two": [date for k, date in enumerate(DATES) if k // 2 % 2],
    "one block": DATES[12:],
    "single nights": DATES[1::2],
}
LENGTHS = {"eight": (8, 24.0), "calendar": (0, 24.0), "noon": (12, 24.0), "twice a day": (8, 12.0)}
BARE = align(
    pd.DataFrame({"kwh": 1.0, "hours": 1.0}, index=HOME.index.rename("start")),
    HOME.pond,
    HOME.index,
    HOME.air,
    set_point=18.0,
).hours


def laid(covered) -> np.ndarray:
    """Share of each hour with the cover on."""
    evenings = pd.date_range(DATES[0] - dt.timedelta(days=2), DATES[-1] + dt.timedelta(days=2)).date
    return covered_share(HOME.index, *TIMES, exceptions=[day for day in evenings if day not in covered])


def log_of(heat, kind: str) -> pd.DataFrame:
    """Hourly heat [kWh] as a log of readings."""
    if kind == "hourly":
        return pd.DataFrame({"kwh": heat, "hours": 1.0}, index=HOME.index.rename("start"))
    hour, length = LENGTHS[kind]
    first = int(np.flatnonzero(HOME.index.hour == hour)[0])
    count = (len(heat) - first) // int(length)
    sums = heat[first : first + count * int(length)].reshape(count, int(length)).sum(axis=1)
    index = HOME.index[first : first + count * int(length) : int(length)].rename("start")
    return pd.DataFrame({"kwh": sums, "hours": length}, index=index)


def aligned_of(use):
    return align(use, HOME.pond, HOME.index, HOME.air, set_point=18.0)


def observed_of(aligned, covered):
    nights = night_readings.label_nights(aligned, covered=covered, open_nights=DATES)
    return observations.observe(aligned, nights, TIMES)


@pytest.mark.parametrize("kind", ["hourly", *LENGTHS])
@pytest.mark.parametrize("order", some_of(["blocks of two", "one block"], 0))
def test_every_kind_of_reading_gives_the_true_saving(kind, order):
    """A cover that saves 60 % of its hours' loss, whatever the meter's day begins with."""
    need, on = BARE["open_need"].to_numpy(), laid(BLOCKS[order])
    heat = 1.3 * need * (1 - 0.6 * on)
    night = (HOME.index.tz_localize(None) - pd.Timedelta("12h")).date
    inside = np.isin(night, BLOCKS[order])
    true = 1 - heat[inside].sum() / (1.3 * need[inside]).sum()
    found = period_comparison.compare(
        aligned_of(log_of(heat, kind)), covered=BLOCKS[order], open_nights=DATES, cover_times=TIMES
    )
    assert found.outcomes[0].saving == pytest.approx(true, abs=1e-6)
    assert found.shown


def test_calendar_days_of_single_nights_tell_little():
    """Every calendar day then holds half of an open and half of a covered night; at noon each holds one."""
    need, on = BARE["open_need"].to_numpy(), laid(BLOCKS["single nights"])
    rng = np.random.default_rng(3)
    heat = need * (1 - 0.6 * on) * np.repeat(1 + 0.08 * rng.standard_normal(len(need) // 24 + 1), 24)[: len(need)]
    found = {
        kind: period_comparison.compare(
            aligned_of(log_of(heat, kind)), covered=BLOCKS["single nights"], open_nights=DATES, cover_times=TIMES
        )
        for kind in ("noon", "eight", "calendar")
    }
    widths = {kind: one.outcomes[0].high - one.outcomes[0].low for kind, one in found.items()}
    assert widths["calendar"] > 4 * widths["noon"] and widths["eight"] < 1.5 * widths["noon"]
    assert not found["calendar"].shown and "read the meter at noon or log it every hour" in found["calendar"].verdict
    assert found["noon"].shown and "noon" not in found["noon"].verdict


@pytest.mark.parametrize(
    "last, kind",
    [
        (48.0, "calendar"),
        pytest.param(3.0, "hourly", marks=pytest.mark.long),
        pytest.param(48.0, "hourly", marks=pytest.mark.long),
        pytest.param(3.0, "calendar", marks=pytest.mark.long),
    ],
)
def test_standard_error_is_that_of_simulated_errors(kind, last, monkeypatch):
    """Relative errors of the loss drawn hour by hour, no other error: the saving is off by the error of that size."""
    for name, value in (("DAY_ERRORS", [0.05]), ("NIGHT_ERRORS", [1e-9]), ("LASTING", [last])):
        monkeypatch.setattr(interval_fit, name, np.array(value))
    monkeypatch.setattr(interval_fit, "MOVED", 0.0)
    covered = BLOCKS["blocks of two"]
    logged = aligned_of(log_of(BARE["open_need"].to_numpy(), kind))
    hours = logged.hours
    # the covered hours' use follows the open loss exactly, and the water is known
    aligned = replace(logged, hours=hours.assign(degree_hours=hours["open_need"].clip(lower=0)), water_errors=(0.0,))
    observed = observed_of(aligned, covered)
    need, loss = hours["open_need"].to_numpy(), hours["open_loss"].to_numpy()
    left = 1 - 0.6 * observed.covered
    rng, keep, tries = np.random.default_rng(5), np.exp(-1 / last), 200
    series = np.empty((len(need), tries))
    series[0] = rng.standard_normal(tries)
    for hour in range(1, len(need)):
        series[hour] = keep * series[hour - 1] + np.sqrt(1 - keep**2) * rng.standard_normal(tries)
    lags = np.arange(24)
    day = np.sqrt(np.exp(-np.abs(np.subtract.outer(lags, lags)) / last).mean())
    bare = need[:, None] + 0.05 / day * series * loss[:, None]
    basis = interval_fit.Basis(need[:, None], need, np.zeros((len(need), 0)))
    inside = observed.in_covered
    fits = [interval_fit.fit(aligned, observed, observed.sums @ (one * left), basis) for one in bare.T]
    true = 1 - (bare * left[:, None])[inside].sum(axis=0) / bare[inside].sum(axis=0)
    missed = np.array([one.saving for one in fits]) - true
    said = np.mean([one.errors[0] for one in fits])
    assert np.sqrt(np.mean(missed**2)) == pytest.approx(said, rel=0.18)  # 200 tries: 5 % standard error, so 3.5 of them


def test_the_restricted_likelihood_by_its_definition():
    rng = np.random.default_rng(2)
    design, measured = rng.random((9, 2)), rng.random(9)
    root, other = rng.random((2, 9, 9))
    base, shared, sizes = root @ root.T + np.eye(9), other @ other.T, np.array([0.3, 1.1])
    by_hand = []
    for size in sizes:
        covariance = base + size**2 * shared
        inverse = np.linalg.inv(covariance)
        scaled = design / np.sqrt((design**2).sum(axis=0))
        information = scaled.T @ inverse @ scaled
        left = measured - scaled @ np.linalg.solve(information, scaled.T @ inverse @ measured)
        by_hand.append(
            -0.5 * (np.linalg.slogdet(covariance)[1] + np.linalg.slogdet(information)[1] + left @ inverse @ left)
        )
    found = interval_fit._restricted_likelihood(measured, design, base, shared, sizes)
    assert np.diff(found) == pytest.approx(np.diff(by_hand), rel=1e-5)


def test_the_shared_covariance_by_its_matrix():
    rows = np.random.default_rng(3).random((4, 70))
    matrix = np.exp(-np.abs(np.subtract.outer(np.arange(70), np.arange(70))) / 30.0)
    found = interval_fit._shared(csr_array(rows), 30.0)
    assert found == pytest.approx(rows @ matrix @ rows.T, rel=1e-9)


def test_few_readings_have_students_long_tails():
    """A mixture over unknown sizes is wider at the same level than any normal of its mean variance."""
    one = interval_fit.SavingFit(0.4, np.ones(1), 1.0, np.array([0.02, 0.2]), np.array([0.9, 0.1]), 3.0)
    for level in (0.5, 0.8, 0.95):
        half = one.half_width(level)
        inside = sum(
            w * (stats.norm.cdf(half / e) - stats.norm.cdf(-half / e)) for e, w in zip(one.errors, one.weights)
        )
        assert inside == pytest.approx(level, abs=1e-9)


def test_two_files_of_calendar_days_meet_at_midnight():
    """The morning after the change belongs to the night whose evening the other file holds."""
    need, on = BARE["open_need"].to_numpy(), laid(BLOCKS["one block"])
    aligned = aligned_of(log_of(need * (1 - 0.6 * on), "calendar"))
    change = pd.Timestamp(BLOCKS["one block"][0])
    stretches = [("open", aligned.hours.index[0], change), ("covered", change, pd.Timestamp(DATES[-1]))]
    nights = night_readings.label_nights(aligned, periods=stretches)
    shares = pd.Series(observations.covered_hours(aligned.hours.index, nights, TIMES), aligned.hours.index)
    morning, evening = (change.tz_localize(HOME.index.tz) + pd.Timedelta(hours=h) for h in (3, 20))
    assert shares[morning] == 0.0 and shares[evening] == 1.0
    found = period_comparison.compare(aligned, periods=stretches, cover_times=TIMES)
    assert found.outcomes[0].saving == pytest.approx(
        period_comparison.compare(aligned, covered=BLOCKS["one block"], open_nights=DATES, cover_times=TIMES)
        .outcomes[0]
        .saving,
        abs=0.03,
    )
