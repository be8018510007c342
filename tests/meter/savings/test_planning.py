"""Plans for a log: number of nights, their order, and how other orders perform."""

from dataclasses import replace

import comparison_pairs as scene
import numpy as np
import pytest

from pondheat.core.ranges import OutOfRange
from pondheat.meter.savings import planning, trials

HOME = scene.site(0).part(24 * 31, 24 * 110)


def small_plan(progress=None):
    """A plan from few trials."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(planning, "PILOT_LOGS", 3)
        return planning.plan(HOME, 0.4, trials=2, progress=progress)


@pytest.fixture(scope="module")
def plan():
    told = []
    return small_plan(told.append), told


def test_a_plan(plan):
    made, told = plan
    assert made.enough and made.nights >= planning.MIN_NIGHTS and len(made.order) == made.nights
    assert made.order.count("open") == made.order.count("covered") == made.nights // 2
    assert list(made.designs.index) == ["blocks of two", "single alternate nights", "one block each"]
    assert told[-1] == 1.0 and all(np.diff(told) > 0)
    assert 0.02 < made.expected_half_width < 0.2
    assert f"Log {made.nights} nights" in made.sentences[0]


def test_a_plan_is_reproducible(plan):
    again = small_plan()
    assert again.order == plan[0].order and again.designs.equals(plan[0].designs)
    assert planning.order_of("blocks of two", 24, 1) != planning.order_of("blocks of two", 24, 2)


@pytest.mark.parametrize(
    "design, longest",
    [("blocks of two", 4), ("blocks of three", 6), ("single alternate nights", 1), ("one block each", 6)],
)
def test_orders(design, longest):
    order = planning.order_of(design, 12, 7)
    assert len(order) == 12 and order.count("open") == 6
    runs = np.diff(np.flatnonzero(np.append(np.append(True, np.array(order)[1:] != np.array(order)[:-1]), True)))
    assert runs.max() <= longest


def test_smaller_savings_and_more_scatter_need_more_nights():
    needed = [planning.nights_needed(0.1, 16, saving) for saving in (0.4, 0.2, 0.1, 0.05)]
    assert needed == sorted(needed) and needed[0] < needed[-1]
    assert planning.nights_needed(0.2, 16, 0.02) is None
    few, many = (planning.plan(HOME, 0.2, scatter, trials=1, designs=()) for scatter in (0.05, 0.2))
    assert few.nights < many.nights


def test_nights_needed_agrees_with_a_simulation():
    """Differences of two means with normal noise, tested by t: shown about as often as required."""
    rng = np.random.default_rng(5)
    scatter, saving = 0.25, 0.2
    width = 1.3450 * scatter * np.sqrt(2 / 8)  # t of 14 degrees of freedom, 90 % one-sided (printed tables)
    nights = planning.nights_needed(width, 16, saving)
    half = nights // 2
    from scipy import stats

    t = stats.t.ppf(0.95, nights - 2)
    shown = 0
    for _ in range(800):
        bare, laid = 1 + scatter * rng.standard_normal(half), 1 - saving + scatter * rng.standard_normal(half)
        shown += bare.mean() - laid.mean() > t * np.sqrt((bare.var(ddof=1) + laid.var(ddof=1)) / half)
    assert 0.77 < shown / 800 < 0.88  # 80 % or, as nights come in fours, a little more


def test_a_weather_front_misleads_totals_of_a_week_each():
    front = planning.passing_front(HOME)
    assert front.claimed > 0.15 and (front.second - front.first).days == 7
    # logged like this without any cover, totals show a saving; the comparison does not
    begin = (front.first - HOME.index[0].date()).days
    found = trials.trial(HOME, ["open"] * 7 + ["covered"] * 7, begin, 3, None).comparison
    assert found.outcomes[2].saving > 0.1 and not found.shown


def test_a_log_without_errors_gives_the_true_saving():
    clean = replace(
        HOME,
        thermostat_band=0.0,
        noise=0.0,
        counter_step=0.0,
        thermometer_step=0.001,
        heater=replace(HOME.heater, power=30_000.0),
    )
    found = trials.trial(clean, planning.order_of("blocks of two", 12, 1), 20, 1, 0.4, perturbed=False)
    assert found.true_saving == pytest.approx(0.4, abs=0.005)
    assert found.comparison.outcomes[0].saving == pytest.approx(found.true_saving, abs=0.02)


@pytest.mark.parametrize(
    "change, saving, sentence",
    [
        (lambda s: s, 0.0, "above zero"),
        (lambda s: s, 0.99, "saves at most"),
        (lambda s: s.part(0, 24 * 10), 0.4, "room for"),
    ],
)
def test_refuses_impossible_plans(change, saving, sentence):
    with pytest.raises(OutOfRange, match=sentence):
        planning.plan(change(HOME), saving, trials=1)


def test_a_plan_reports_too_short_a_winter():
    made = planning.plan(HOME.part(0, 24 * 20), 0.05, 0.3, trials=1, designs=())
    assert not made.enough and "all this weather has room for" in made.sentences[1]
