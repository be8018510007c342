"""Computed against measured water: scores by hand, what is learned, what is suspected, and the verdict."""

import datetime as dt
import functools
from dataclasses import replace

import followed_ponds as ponds
import numpy as np
import pandas as pd
import pytest
from usual_cases import some_of

from pondheat.analysis import following, following_checks
from pondheat.analysis.following_checks import CARE, GOOD, NOT_YET, Errors
from pondheat.analysis.water_comparison import DAY_MEANS, MEANS, MOMENTS, Score
from pondheat.core.places import DATA
from pondheat.core.ranges import OutOfRange
from pondheat.meter.fitting import thermometer_fit
from pondheat.meter.fitting.heat_terms import Conditions
from pondheat.meter.reading import thermometer_file
from pondheat.season.simulate import air_of, simulate

LEARNED = {"wind": 0.5, "sky": 0.8, "sun": 0.8, "volume": 12.0, "surface": 1.0}  # the sheet's values
HEATED = '\n[heater]\nkind = "resistance"\npower = "5 kW"\n'
COVER = '\n[cover]\nkind = "sheet"\nu_value = "3.1 W/m²K"\nlight = "80 %"\ngap = "2 L/s"\non = "18:00"\noff = "08:00"\n'


@functools.cache
def true_water() -> pd.Series:
    """The water of a pond that is not as its sheet says; no test changes it."""
    return ponds.water(ponds.TRUTH)


@functools.cache
def own_water() -> pd.Series:
    """The water of the pond of the sheet; no test changes it."""
    return ponds.water()


@pytest.fixture(scope="module")
def found():
    """The comparison for a pond that is not as its sheet says."""
    return ponds.follow(ponds.log_text(true_water()))


def shifted(hours: float) -> str:
    moved = true_water().copy()
    moved.index = moved.index + pd.Timedelta(hours=hours)
    return ponds.log_text(moved)


def kinds(result) -> list[str]:
    return [one.kind for one in result.suspicions]


# Scores


def test_score_by_hand():
    score = Score.of(pd.DataFrame({"measured": [10.0, 12.0, 14.0], "computed": [11.0, 12.0, 16.0]}))
    assert (score.bias, score.count) == (1.0, 3)
    assert score.rmse == pytest.approx(np.sqrt(5 / 3)) and score.r_squared == pytest.approx(1 - 5 / 8)
    assert np.isnan(Score.of(pd.DataFrame({"measured": [1.0, 1.0], "computed": [1.0, 2.0]})).r_squared)


def test_computed_water_is_that_of_the_season_without_heat(found):
    """The same hours by `simulate`, whose water is at the hour's end: the mean lies between two neighbours."""
    sheet, hours = ponds.sheet(), ponds.record().hours
    start = float(true_water().iloc[0])
    water = simulate(sheet.pond, hours, air_of(hours, 10.0), start_temp=start)["water_temp"].to_numpy()
    edges = np.append(start, water)
    low, high = np.minimum(edges[1:], edges[:-1]), np.maximum(edges[1:], edges[:-1])
    computed = found.frame["computed"].to_numpy()
    assert len(computed) == len(water) and found.shape == MEANS
    assert ((computed > low - 0.02) & (computed < high + 0.02)).all()


def test_the_first_72_hours_are_not_scored(found):
    assert not found.frame["scored"].iloc[:72].any() and found.frame["scored"].iloc[72:].all()
    scored = found.frame.iloc[72:]
    assert found.whole == Score.of(scored) and found.whole.count == len(true_water()) - 72
    assert sum(score.count for score in found.by_month.values()) == found.whole.count
    assert found.day.count + found.night.count == found.whole.count
    assert found.day == Score.of(scored[scored["daylight"]])
    assert list(found.by_month) == ["2025-05", "2025-06"]


def test_a_pond_as_its_sheet_says_is_followed():
    """The thermometer is 0.1 K out and noisy by 0.15 K: nothing else is left."""
    result = ponds.follow(ponds.log_text(own_water()))
    assert result.whole.rmse == pytest.approx(np.hypot(ponds.OFFSET, ponds.NOISE), abs=0.08)
    assert result.verdict == following_checks.Verdict(GOOD, (), False)
    assert not result.learned.better and all(one.write is None for one in result.learned.values)


# What is learned


@pytest.mark.parametrize("first", some_of([ponds.FIRST, dt.date(2025, 10, 1)], 0))
def test_likely_ranges_hold_the_truth(first):
    """Ranges of nine cases in ten, five values for each of five noisy logs: at least 20 of 25 hold (22.5 expected)."""
    held, outside = 0, 0
    for seed in range(5):
        rng = np.random.default_rng([seed, 7])
        drawn = np.exp(rng.normal(0, [0.35, 0.1, 0.12, 0.1, 0.15]))
        truth = dict(zip(ponds.TRUTH, np.minimum(drawn, [2.0, 1.25, 1.25, 9.0, 9.0]).tolist()))  # all wind, sky and sun
        known, record = ponds.sheet(), ponds.record(first)
        log = ponds.water(truth, first, seed=seed)
        fit = thermometer_fit.fit(
            pd.DataFrame({"water_temp": log, "hours": 1.0}),
            Conditions(known.pond, log.index, air_of(record.hours, 10.0), np.nan),
        )
        for name, factor in truth.items():
            at = thermometer_fit.WATER_FACTORS.index(name)
            held += bool(fit.low[at] <= factor <= fit.high[at])
            outside += bool(not fit.low[at] <= 1 <= fit.high[at])
    assert held >= 20
    assert outside >= 2  # and they are narrow enough to reject some of the sheet's values


def test_the_error_on_days_held_back_falls(found):
    learned = found.learned
    assert learned.better and learned.after.rmse < 0.5 * learned.before.rmse
    held = found.frame[found.frame.index.date >= learned.held_from]
    assert learned.before == Score.of(held) and len(held) == pytest.approx(len(found.frame) / 3, abs=24)


def test_days_held_back_are_kept_from_the_fit_that_is_tested(found):
    """Other water on the held-back days changes the test's error, but not the computed water behind it."""
    changed = true_water().copy()
    changed[changed.index.date >= found.learned.held_from] += 1.0
    other = ponds.follow(ponds.log_text(changed)).learned
    assert other.held_from == found.learned.held_from
    assert other.after.bias == pytest.approx(found.learned.after.bias - 1.0, abs=1e-6)


def test_learned_values_have_their_keys_and_can_be_written(found):
    values = {one.name: one for one in found.learned.values}
    assert set(values) == {"wind", "sky", "sun", "volume", "surface"}
    for name, one in values.items():
        assert one.sheet == pytest.approx(LEARNED[name] if name != "sun" else 0.2), name
        assert one.low <= one.middle <= one.high
    assert values["wind"].learned and values["wind"].high < 0.5
    assert values["surface"].key is None and values["surface"].write is None
    more = f"\n[place]\nwind_shelter = {values['wind'].write}\nsky_view = {values['sky'].write}\n"
    text = ponds.SHEET.replace(
        "[place]\nwind_shelter = 0.5\nsky_view = 0.8\nshade = 0.2\n", f"{more}shade = {values['sun'].write}\n"
    )
    again = following.follow(ponds.pond_sheet.from_text(text), found.log, ponds.record())
    assert again.whole.rmse < 0.5 * found.whole.rmse
    assert again.verdict.level == GOOD and not again.verdict.with_learned and found.verdict.with_learned


def test_a_short_log_teaches_nothing_and_says_why():
    result = ponds.follow(ponds.log_text(true_water()[: 24 * 12]))
    assert result.learned is None and "14 days" in result.not_learned
    assert result.verdict.level == NOT_YET and "9 days to score; 14 are needed" in result.verdict.reasons[0]
    with pytest.raises(OutOfRange, match="too short.*72 hours"):
        ponds.follow(ponds.log_text(true_water()[:80]))


def test_nothing_is_to_be_written_where_nothing_was_learned(monkeypatch, found):
    """The error may fall by luck: it counts only if the log narrowed a value that a sheet can hold."""
    monkeypatch.setattr(following, "LEARNED", 1.1)
    learned = ponds.follow(ponds.log_text(true_water())).learned
    assert learned.after.rmse == found.learned.after.rmse < learned.before.rmse
    assert not learned.better and all(one.write is None for one in learned.values)


# Shapes


def test_a_reading_each_morning_is_compared_with_that_moment():
    """Against the mean of the day, mornings would look too cold by half of the daily swing."""
    result = ponds.follow(ponds.log_text(own_water()[own_water().index.hour == 8]))
    assert result.shape == MOMENTS and result.whole.count == 42 and result.learned is None
    assert abs(result.whole.bias) < 0.25 and result.verdict.level == CARE
    assert "each is compared with the computed water at its moment" in " ".join(result.notes)


def test_a_value_a_day_is_compared_with_the_mean_of_the_day():
    days = own_water().groupby(own_water().index.date).mean()
    text = "date,water °C\n" + "\n".join(f"{day},{value:.2f}" for day, value in days.items()) + "\n"
    result = ponds.follow(text)
    assert result.shape == DAY_MEANS and result.day is None and abs(result.whole.bias) < 0.25


def test_readings_every_two_hours_are_joined():
    result = ponds.follow(ponds.log_text(true_water()[::2]))
    assert result.shape == MEANS and result.learned is not None
    assert result.whole.rmse == pytest.approx(ponds.follow(ponds.log_text(true_water())).whole.rmse, abs=0.1)


def test_gaps_are_left_out(found):
    result = ponds.follow(ponds.log_text(true_water().drop(true_water().index[400:500])))
    assert result.whole.count == found.whole.count - 100 and result.learned is not None
    assert not result.frame.index.isin(true_water().index[400:500]).any()
    kept = found.frame["computed"].drop(true_water().index[400:500])
    assert result.frame["computed"].to_numpy() == pytest.approx(kept.to_numpy())  # the model runs on through the gap


def test_days_outside_the_weather():
    part = ponds.follow(ponds.log_text(true_water()), weather_record=ponds.record(dt.date(2025, 5, 11), 20))
    assert "600 readings are outside the weather's days, 2025-05-11 to 2025-05-30" in " ".join(part.notes)
    assert part.frame["measured"].iloc[0] == part.frame["computed"].iloc[0] or abs(part.frame["error"].iloc[0]) < 0.1
    autumn = ponds.water(first=dt.date(2025, 9, 20), days=20)
    with pytest.raises(OutOfRange, match="2025-09-20 to 2025-10-09, the weather of 2025-05-01 to 2025-06-14: no day"):
        ponds.follow(ponds.log_text(autumn))


def test_the_cover_is_taken_as_the_sheet_says():
    water = ponds.water(pond_sheet_text=COVER)
    covered, open_ = ponds.follow(ponds.log_text(water), COVER), ponds.follow(ponds.log_text(water))
    assert covered.whole.rmse < 0.35 < open_.whole.rmse
    assert "on in 58 % of the hours" in " ".join(covered.notes)


# Suspicions


@pytest.mark.parametrize("hours, way, level", [(2, "2 hours earlier", NOT_YET), (-1, "1 hour later", CARE)])
def test_a_wrong_clock(hours, way, level):
    result = ponds.follow(shifted(hours))
    assert kinds(result) == ["clock"] and way in result.suspicions[0].sentence
    assert result.verdict.level == level and "clocks seem" in result.not_learned


def test_the_clock_option_settles_it():
    universal = true_water().copy()
    universal.index = universal.index.tz_convert("UTC")
    assert kinds(ponds.follow(ponds.log_text(universal))) == ["clock"]
    assert kinds(ponds.follow(ponds.log_text(universal), clock="utc")) == []


def test_winter_in_fahrenheit_without_a_header():
    first = dt.date(2025, 12, 1)
    cold = ponds.water(first=first, days=30, start=2.0)
    result = ponds.follow(ponds.log_text(cold * 1.8 + 32, "time,temp"), weather_record=ponds.record(first, 30))
    assert kinds(result) == ["scale"] and 'unit="°F"' in result.verdict.reasons[0]
    settled = ponds.follow(
        ponds.log_text(cold * 1.8 + 32, "time,temp"), weather_record=ponds.record(first, 30), unit="F"
    )
    assert kinds(settled) == [] and settled.whole.rmse < 0.35


@pytest.mark.parametrize("sheet, said", [("", "Was a heater on?"), (HEATED, "The sheet has a heater")])
def test_a_heated_pond(sheet, said):
    with_set_point = ponds.SHEET.replace('volume = "12 m³"\n', 'volume = "12 m³"\nset_point = "22 °C"\n')
    known = ponds.pond_sheet.from_text(with_set_point + sheet) if sheet else ponds.sheet()
    log = following.follow(known, ponds.follow(ponds.log_text(ponds.water(set_point=22.0))).log, ponds.record())
    assert kinds(log) == ["heated"] and said in log.verdict.reasons[0] and log.verdict.level == NOT_YET
    assert ("left out: this is about the water without heat" in " ".join(log.notes)) is bool(sheet)


def swinging(factor: float) -> pd.Series:
    """The true water with its daily swing made larger or smaller."""
    return true_water() + (factor - 1) * (true_water() - true_water().rolling(25, center=True, min_periods=1).mean())


@pytest.mark.parametrize(
    "factor, kind, level", [(2.5, "probe in the sun", NOT_YET), (0.2, "layers", CARE), (0.8, None, GOOD)]
)
def test_a_probe_in_the_sun_or_deep(factor, kind, level):
    result = ponds.follow(ponds.log_text(swinging(factor)))
    assert kinds(result) == ([] if kind is None else [kind]) and result.verdict.level == level


def test_a_probe_in_the_air_is_no_matter_of_the_clock():
    air = ponds.record().hours["air_temp"]
    assert kinds(ponds.follow(ponds.log_text(air)))[0] == "probe in the sun"


def test_weather_of_other_days():
    other = ponds.water(first=dt.date(2025, 6, 20))
    other.index = true_water().index
    result = ponds.follow(ponds.log_text(other))
    assert kinds(result)[0] == "weather" and result.verdict.level == NOT_YET and result.learned is None


def test_a_typical_year_proves_nothing():
    result = ponds.follow(ponds.log_text(true_water()), weather_record=replace(ponds.record(), kind="typical year"))
    assert kinds(result) == ["typical year"] and result.verdict.level == NOT_YET and result.learned is None


# A measured lake


LAKE = DATA / "measured" / "shallow_lake_2018.csv"
LAKE_SHEET = """timezone = "Etc/GMT+5"

[place]
latitude = 44.15
longitude = -89.5
altitude = "336 m"
wind_shelter = 1.0
sky_view = 1.0

[pond]
surface_area = "10000 m²"
depth = "1.54 m"
"""


def test_a_measured_lake_is_followed():
    """A file that is both weather and log: nothing is suspected of it, and what is learned helps on days held back."""
    sheet = replace(ponds.pond_sheet.from_text(LAKE_SHEET), weather=str(LAKE))
    result = following.follow(sheet, thermometer_file.read(LAKE, sheet.timezone))
    assert result.suspicions == () and result.verdict.level in (GOOD, CARE)
    assert result.whole.count == 2926 and result.whole.rmse < 1.5 and result.whole.r_squared > 0.95
    assert result.learned.after.rmse < result.learned.before.rmse


# The verdict


@pytest.mark.parametrize(
    "days, bias, rmse, month, level",
    [
        (28, 0.5, 1.0, 1.0, GOOD),
        (27, 0.5, 1.0, 1.0, CARE),
        (40, 0.6, 1.0, 0.6, CARE),
        (40, -0.6, 1.0, -0.6, CARE),
        (40, 0.0, 1.1, 0.3, CARE),
        (40, 0.0, 0.9, -1.7, CARE),  # a cold autumn hidden by a warm summer
        (14, 1.0, 2.0, 2.0, CARE),
        (13, 0.0, 0.1, 0.1, NOT_YET),
        (40, 1.1, 1.5, 1.1, NOT_YET),
        (40, 0.0, 2.1, 0.1, NOT_YET),
        (40, 0.0, 1.9, 2.1, NOT_YET),
    ],
)
def test_levels(days, bias, rmse, month, level):
    verdict = following_checks.verdict_of((), days, True, Errors(bias, rmse, "May 2025", month), None)
    assert verdict.level == level and bool(verdict.reasons) == (level != GOOD) and not verdict.with_learned


def test_learned_values_lift_a_verdict_and_rare_readings_cap_it():
    poor, fine = Errors(0.8, 1.2, "May 2025", 0.8), Errors(0.1, 0.4, "May 2025", 0.2)
    lifted = following_checks.verdict_of((), 40, True, poor, fine)
    assert (lifted.level, lifted.with_learned, lifted.reasons) == (GOOD, True, ())
    assert following_checks.verdict_of((), 40, True, fine, poor) == following_checks.Verdict(GOOD, (), False)
    rare = following_checks.verdict_of((), 40, False, fine, None)
    assert (rare.level, rare.reasons) == (CARE, (following_checks.RARE,))
