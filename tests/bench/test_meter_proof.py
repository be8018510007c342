"""Coverage of the comparison: 200 pairs of periods that differ only by weather, 200 logs with a known saving.

Asked for by name: pytest tests/bench/test_meter_proof.py -s
"""

import sys
import time
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

sys.path.append(str(Path(__file__).parents[1] / "meter" / "savings"))
import comparison_pairs as scene

from pondheat.core.likely import LIKELY
from pondheat.meter.savings import planning

PAIRS = 200
# By chance alone, the share of PAIRS that a range holds strays this far from its level, three times in a thousand.
STRAY = 3 * np.sqrt(LIKELY * (1 - LIKELY) / PAIRS)
ABOVE = (1 - LIKELY) / 2  # the share of ranges that lie wholly above the truth


def told(trials, capsys, title):
    with capsys.disabled():
        print(f"\n  {title}; verdict “shown” in {np.mean([t.comparison.shown for t in trials]):.1%}")
        print(f"  {'way':<38} lower by 5 %  interval above 0  truth held  too high  too low   error  half-width")
        truth = np.array([t.true_saving for t in trials])
        for k, way in enumerate(trials[0].comparison.outcomes):
            saving, low, high = (
                np.array([getattr(t.comparison.outcomes[k], name) for t in trials])
                for name in ("saving", "low", "high")
            )
            error = np.sqrt(np.nanmean((saving - truth) ** 2))
            print(
                f"  {way.method.name:<38} {np.mean(saving > 0.05):12.1%} {np.mean(low > 0):17.1%} "
                f"{np.mean((low <= truth) & (truth <= high)):11.1%} {np.mean(low > truth):9.1%} "
                f"{np.mean(high < truth):8.1%} "
                f"{error:7.3f} {np.nanmedian((high - low) / 2):11.3f}"
            )


def shares(trials, k):
    """How often method k shows a saving, and how often its interval contains the truth."""
    outcomes = [t.comparison.outcomes[k] for t in trials]
    return (
        np.mean([o.low > 0 for o in outcomes]),
        np.mean([o.low <= t.true_saving <= o.high for o, t in zip(outcomes, trials)]),
    )


@pytest.mark.timeout(600)
def test_weather_alone_is_not_taken_for_a_saving(capsys):
    trials = [scene.weather_only(k) for k in range(PAIRS)]
    told(trials, capsys, f"{PAIRS} pairs without a cover")
    assert np.mean([not t.comparison.shown for t in trials]) >= 0.95
    assert all(shares(trials, k)[0] <= ABOVE + STRAY / 2 for k in (0, 1))
    assert (
        np.mean([t.comparison.outcomes[2].saving > 0.05 for t in trials]) >= 0.25
    )  # what a keeper would conclude from totals


@pytest.mark.timeout(600)
def test_a_saving_of_forty_per_cent_is_shown(capsys):
    plan = planning.plan(scene.site(0).part(24 * 31, 24 * 150), 0.4)
    trials = [scene.as_planned(k, plan.nights) for k in range(PAIRS)]
    told(trials, capsys, f"{PAIRS} logs of {plan.nights} nights with a true saving of 40 %")
    assert np.mean([t.comparison.shown for t in trials]) >= 0.80
    assert all(abs(shares(trials, k)[1] - LIKELY) <= STRAY for k in (0, 1))


@pytest.mark.timeout(600)
def test_what_other_orders_do(capsys):
    home = scene.site(0).part(24 * 31, 24 * 150)
    for words, place in (
        ("thermometer in the log, band 0.3 K", home),
        ("no thermometer, band 1.5 K", replace(home, thermometer_step=0.0, thermostat_band=1.5)),
    ):
        begin = time.perf_counter()
        plan = planning.plan(place, 0.2, trials=48, designs=planning.DESIGNS)
        with capsys.disabled():
            print(
                f"\n  {words}: {plan.nights} nights for 20 %\n{plan.designs.round(3).to_string()}"
                f"\n  ({time.perf_counter() - begin:.1f} s)"
            )
        blocks, single, one = (
            plan.designs.loc[name] for name in ("blocks of two", "single alternate nights", "one block each")
        )
        assert one["rms_error"] > blocks["rms_error"] and one["half_width"] > blocks["half_width"]
        if not place.thermometer_step:
            assert single["held"] < LIKELY - 0.15 < blocks["held"]  # its nights aren't as independent as it takes them


@pytest.mark.timeout(120)
def test_a_default_plan_takes_seconds(capsys):
    home = scene.site(0).part(24 * 31, 24 * 150)
    told = []
    begin = time.perf_counter()
    planning.plan(home, 0.4, progress=told.append)
    took = time.perf_counter() - begin
    with capsys.disabled():
        print(f"\n  a default plan: {took:.1f} s, told {len(told)} times how far it is")
    assert took < 10.0
