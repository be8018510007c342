"""Comparison of open and covered nights: logs with a known answer, weather that is no saving, forgotten nights.

The last part is a small sample of tests/bench/test_meter_proof.py, which runs 200 pairs of each kind.
"""

import datetime as dt
import os
from types import SimpleNamespace

import comparison_pairs as scene
import numpy as np
import pandas as pd
import pytest
from scipy import stats

from pondheat.core.likely import LIKELY
from pondheat.core.ranges import OutOfRange
from pondheat.meter.savings import night_readings, period_comparison, planning
from pondheat.meter.savings.alignment import align
from pondheat.meter.savings.estimators import METHODS
from pondheat.meter.savings.verdict import MethodResult, verdict_of

HOME = scene.site(0).part(24 * 100, 24 * 125)
DATES = [HOME.index[0].date() + dt.timedelta(days=k + 1) for k in range(24)]
COVERED = [date for k, date in enumerate(DATES) if k // 2 % 2]
LOGS = 16 if os.environ.get("PONDHEAT_LONG") else 6
NIGHT = (HOME.index.tz_localize(None) - pd.Timedelta("12h")).date


def aligned_of(heat, *, base=0.0, water=False):
    """An aligned log in which the pond used a given heat [kWh] in each hour."""
    use = pd.DataFrame({"kwh": heat + base / 1000, "hours": 1.0}, index=HOME.index.rename("start"))
    if water:
        use["water_temp"] = 18.0
    return align(use, HOME.pond, HOME.index, HOME.air, set_point=18.0, base_load=base)


NEED = aligned_of(np.zeros(len(HOME.index))).hours["open_need"].to_numpy()


def made(saved, noise=0.0, forgotten=(), seed=1, **others):
    rng = np.random.default_rng(seed)
    share = np.where(np.isin(NIGHT, COVERED) & ~np.isin(NIGHT, list(forgotten)), 1 - saved, 1.0)
    by_day = 1 + noise * rng.standard_normal(len(DATES) + 2)
    return aligned_of(NEED * share * np.repeat(by_day, 24)[12 : 12 + len(NEED)], **others)


def test_the_saving_is_exact_if_the_pond_is_its_model():
    found = period_comparison.compare(made(0.4, base=200.0), covered=COVERED, open_nights=DATES)
    first = found.outcomes[0]
    assert first.saving == pytest.approx(0.4, abs=1e-9)
    assert first.cv_rmse < 1e-9 and abs(first.nmbe) < 1e-9
    assert [o.method.fair for o in found.outcomes] == [True, True, False, False, False, False]
    assert all(len(o.method.why) > 30 for o in found.outcomes)
    per_hour, without_base = found.outcomes[4:]
    assert without_base.saving > per_hour.saving  # 200 W besides the heater hide part of the saving
    assert found.shown and found.verdict.startswith("Shown") and "40 %" in found.verdict


def test_interval_against_students_t():
    """Independent nights: a mean of open nights is carried to the covered ones, their scatter known from both."""
    found = period_comparison.compare(made(0.4, noise=0.1), covered=COVERED, open_nights=DATES)
    days, first = found.nights.days, found.outcomes[0]
    open_, laid = (days[days["label"] == label] for label in ("open", "covered"))
    level = [part["used"].sum() / part["open_need"].sum() for part in (open_, laid)]
    off = [(part["used"] / r - part["open_need"]) / part["open_need"].mean() for part, r in zip((open_, laid), level)]
    ratio = level[1] / level[0]
    assert first.saving == pytest.approx(1 - ratio)
    freedom = len(days) - 2
    scatter = np.sqrt(sum((part**2).sum() for part in off) / freedom)
    plain = stats.t.ppf(0.9, freedom) * ratio * scatter * np.sqrt(1 / len(open_) + 1 / len(laid))
    # a likely range: 8 of 10; in blocks of two a lasting error would cancel, so that it may be narrower than by chance
    assert 0.7 * plain < (first.high - first.low) / 2 < 1.15 * plain
    wider = period_comparison.compare(
        made(0.4, noise=0.1), covered=COVERED, open_nights=DATES, confidence=0.99
    ).outcomes[0]
    assert wider.low < first.low and wider.high > first.high


def test_nights_in_turns_are_surer_than_two_long_periods():
    """An error that lasts for days is in both kinds of nights where they take turns, and cancels."""
    rng = np.random.default_rng(4)
    drift = np.zeros(len(DATES) + 2)
    for k in range(1, len(drift)):
        drift[k] = 0.8 * drift[k - 1] + 0.05 * rng.standard_normal()
    halves = DATES[len(DATES) // 2 :]
    widths = []
    for covered in (COVERED, halves):
        share = np.where(np.isin(NIGHT, covered), 0.6, 1.0)
        log = aligned_of(NEED * share * np.repeat(1 + drift, 24)[12 : 12 + len(NEED)])
        first = period_comparison.compare(log, covered=covered, open_nights=DATES).outcomes[0]
        widths.append(first.high - first.low)
    assert widths[1] > 1.5 * widths[0]


def test_weather_alone_is_the_ratio_of_modelled_needs():
    first, second = DATES[:12], DATES[12:]
    found = period_comparison.compare(made(0.0), covered=second, open_nights=first)
    need = found.nights.days.groupby("label")["open_need"].mean()
    assert found.weather_alone == pytest.approx(need["covered"] / need["open"])


def test_periods_by_time_and_by_night_agree():
    aligned = made(0.3)
    noon = [pd.Timestamp(d) + pd.Timedelta("12h") for d in DATES]
    by_time = period_comparison.compare(aligned, periods=[("open", noon[2], noon[9]), ("covered", noon[9], noon[16])])
    by_night = period_comparison.compare(aligned, covered=DATES[9:16], open_nights=DATES[2:9])
    assert by_time.outcomes[0].saving == pytest.approx(by_night.outcomes[0].saving)
    assert len(by_time.nights.days) == 14
    split = period_comparison.compare(aligned, periods=[("open", DATES[2], DATES[9]), ("covered", DATES[9], DATES[16])])
    assert len(split.nights.days) == 12 and any("left out" in line for line in split.sentences)


def test_a_forgotten_night_is_found_and_handled():
    lost = COVERED[4]
    aligned = made(0.4, noise=0.05, forgotten=[lost])
    out, counted, kept = (
        period_comparison.compare(aligned, covered=COVERED, open_nights=DATES, forgotten=how)
        for how in ("left out", "counted as open", "kept")
    )
    for found in (out, counted, kept):
        assert found.nights.days.index[found.nights.days["forgotten"]].date.tolist() == [lost]
        assert any(str(lost) in line and "forgotten" in line for line in found.sentences)
    assert out.outcomes[0].saving == pytest.approx(0.4, abs=0.06)
    assert counted.outcomes[0].saving == pytest.approx(0.4, abs=0.06)
    assert kept.outcomes[0].saving < out.outcomes[0].saving - 0.02
    assert any("Counting them" in line for line in out.sentences)


def test_no_night_is_marked_as_forgotten_without_a_saving():
    for seed in range(10):
        nights = night_readings.label_nights(made(0.0, noise=0.15, seed=seed), covered=COVERED, open_nights=DATES)
        assert not night_readings.forgotten_nights(nights).any(), seed


def test_few_nights_show_nothing():
    two = period_comparison.compare(made(0.3, noise=0.1), covered=DATES[2:4], open_nights=DATES[:2])
    assert not two.shown and two.verdict.startswith("Not shown")
    one = period_comparison.compare(made(0.3, noise=0.1), covered=DATES[2:3], open_nights=DATES[:1])
    assert not one.shown and one.outcomes[0].low == -np.inf and "anything" in one.verdict


def test_a_cover_that_uses_more_is_not_a_saving():
    found = period_comparison.compare(made(-0.3, noise=0.03), covered=COVERED, open_nights=DATES)
    assert not found.shown and "used more" in found.verdict


@pytest.mark.parametrize(
    "options, sentence",
    [
        ({}, "which nights were covered"),
        ({"covered": []}, "No whole day is covered"),
        ({"covered": DATES}, "No whole day is open"),
        ({"periods": [("lid", DATES[0], DATES[5])]}, "called “lid”"),
        ({"periods": [("open", DATES[5], DATES[0])]}, "ends .* before it begins"),
        ({"periods": [("open", DATES[0], DATES[5]), ("covered", DATES[4], DATES[9])]}, "overlap"),
        ({"covered": COVERED, "forgotten": "burned"}, "burned"),
    ],
)
def test_refuses_what_cannot_be_compared(options, sentence):
    with pytest.raises(ValueError, match=sentence):
        period_comparison.compare(made(0.3), **options)


def test_bias():
    # five under ten every time is a half; Guideline 14's divisor n − p
    assert period_comparison.nmbe([10, 10, 10], [5, 5, 5]) == pytest.approx(0.5)
    assert period_comparison.nmbe([10, 10, 10], [5, 5, 5], parameters=1) == pytest.approx(0.75)


def test_share_needed_agrees_with_a_simulation():
    """A saving on a heater of that share of a noisy meter is shown about as often as required."""
    rng = np.random.default_rng(1)
    share = period_comparison.share_needed(0.5, 0.2, 14, 14)
    shown = 0
    for _ in range(600):
        bare, laid = 1 + 0.2 * rng.standard_normal(14), 1 - 0.5 * share + 0.2 * rng.standard_normal(14)
        error = np.sqrt((bare.var(ddof=1) + laid.var(ddof=1)) / 14)
        # t of 26 degrees of freedom, 95 % one-sided (printed tables)
        shown += bare.mean() - laid.mean() > 1.7056 * error
    assert shown / 600 == pytest.approx(0.8, abs=0.05)  # three standard errors of 600 tries
    assert period_comparison.share_needed(0.1, 0.3, 7, 7) > 1
    with pytest.raises(OutOfRange, match="above zero"):
        period_comparison.share_needed(0.0, 0.2, 14, 14)
    with pytest.raises(OutOfRange, match="One day"):
        period_comparison.share_needed(0.5, 0.2, 1, 1)


# --- samples of the bench -------------------------------------------------------------------------------------------


def test_weather_alone_is_not_shown_as_a_saving():
    found = [scene.weather_only(300 + k).comparison for k in range(2 * LOGS)]
    assert sum(one.shown for one in found) <= 1
    assert sum(one.outcomes[2].saving > 0.05 for one in found) >= 0.4 * LOGS  # totals would claim a saving


def test_a_saving_of_forty_per_cent_is_shown():
    found = [scene.as_planned(300 + k, planning.MIN_NIGHTS) for k in range(LOGS)]
    assert sum(one.comparison.shown for one in found) >= 0.75 * LOGS
    held = [one.comparison.outcomes[0].low <= one.true_saving <= one.comparison.outcomes[0].high for one in found]
    assert sum(held) >= 0.75 * LOGS
    assert all(one.true_saving == pytest.approx(0.4, abs=0.02) for one in found)


def test_an_unlogged_water_temperature_is_reported():
    found = period_comparison.compare(made(0.4), covered=COVERED, open_nights=DATES)
    assert any("not logged" in line for line in found.sentences)
    logged = period_comparison.compare(made(0.4, water=True), covered=COVERED, open_nights=DATES)
    assert not any("not logged" in line for line in logged.sentences)


def test_a_saving_shown_by_one_fair_way_alone_says_so():
    """As where every day has the same sun, which no line can tell from hours."""
    nan, nights = float("nan"), SimpleNamespace(labelled=lambda label: np.ones(9, bool))

    def outcome(saving, low):
        return MethodResult(METHODS[0], saving, low, 2 * saving - low, low, 9.0, nan, nan, nan)

    both = verdict_of((outcome(0.4, 0.3), outcome(0.4, 0.3)), nights, 0.0, LIKELY)
    alone = verdict_of((outcome(0.4, 0.3), outcome(nan, -np.inf)), nights, 0.0, LIKELY)
    assert both[0] and alone[0] and "alone" not in both[1]
    assert alone[1].startswith(both[1]) and "By one fair way alone" in alone[1]
