"""Uncertainty of a season: the coming year and its price, ranges from a fitted meter, and what to measure first."""

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from scipy import stats

from pondheat import cli as front
from pondheat.analysis import assessment, export, samples, uncertainty
from pondheat.analysis.results import InputEffect, LikelyRange
from pondheat.analysis.samples import learned_samples, samples_of, with_wind_as_drawn
from pondheat.analysis.scenarios import what_if
from pondheat.analysis.sensitivity import additive_effects, group_means, ranked
from pondheat.analysis.uncertain_inputs import FORMULAS, NEAR_SURFACE, UNCERTAIN_INPUTS, meaning
from pondheat.core import units
from pondheat.core.places import CLONE
from pondheat.core.ranges import OutOfRange
from pondheat.meter.fitting.pond_fit import InsufficientReadings
from pondheat.meter.reading import meter_file
from pondheat.money import payback
from pondheat.season.heaters import FIELD_FACTOR, FIELD_HIGH, FIELD_LOW
from pondheat.season.weather.record import MEASURED
from pondheat.sheet.pond_sheet import from_text, with_values
from pondheat.text import summary
from pondheat.text.uncertainty_text import measurement_text

ROOT = CLONE
PONDS, LOGS = ROOT / "data" / "ponds", ROOT / "data" / "readings"
GARDEN = from_text((PONDS / "garden_pond.toml").read_text(encoding="utf-8"), PONDS)


SIX_WEEKS = {"season": {"start": "2025-12-01", "end": "2026-01-11"}, "pond.start_temp": "18 °C"}


@pytest.mark.parametrize("count, seed", [(200, samples.SEED), (7, 3)])
def test_the_draws_are_those_of_scipy(count, seed):
    names = ("light", "wind", "gap", "price")
    peers = stats.qmc.LatinHypercube(len(names), rng=np.random.default_rng(seed)).random(count).T
    mine = samples.latin_hypercube(names, count, seed)
    for name, peer, normal in zip(names, peers, (False, True, False, True)):
        assert np.array_equal(mine[name], stats.norm.ppf(peer) if normal else peer)


@pytest.fixture(scope="module")
def garden(garden_assessment):
    return garden_assessment


@pytest.fixture(scope="module")
def short_garden():
    """Six weeks of the garden pond."""
    return assessment.assess(short())


def changed(**values):
    """The garden pond's sheet with some keys changed; two underscores stand for a full stop."""
    text = (PONDS / "garden_pond.toml").read_text(encoding="utf-8")
    return from_text(with_values(text, {name.replace("__", "."): value for name, value in values.items()}), PONDS)


def short(**values):
    """The same with a season of six weeks."""
    text = (PONDS / "garden_pond.toml").read_text(encoding="utf-8")
    changes = SIX_WEEKS | {name.replace("__", "."): value for name, value in values.items()}
    return from_text(with_values(text, changes), PONDS)


# --- the coming year ------------------------------------------------------------------------------------------------


def test_warmth_of_the_year_moves_the_cost_and_price_moves_money_only(short_garden):
    by_name = {one.name: one for one in short_garden.uncertainty.measure_first}
    assert by_name["year_warmth"].low > by_name["year_warmth"].middle > by_name["year_warmth"].high
    assert by_name["price"].low < by_name["price"].middle < by_name["price"].high
    unpriced = assessment.assess(short(tariff=None))
    assert "price" not in dict(unpriced.uncertainty.variance_shares)
    assert unpriced.uncertainty.open_kwh.__dict__ == pytest.approx(short_garden.uncertainty.open_kwh.__dict__)


def test_a_known_price_moves_no_energy(short_garden, monkeypatch):
    monkeypatch.setattr(samples, "PRICE_SPREAD", 0.0)
    known = assessment.assess(short()).uncertainty
    for name in ("open", "covered", "saving"):
        kwh, money = f"{name}_kwh", f"{name}_money"
        assert vars(getattr(known, kwh)) == vars(getattr(short_garden.uncertainty, kwh))
        sure, unsure = (
            band.high - band.low for band in (getattr(known, money), getattr(short_garden.uncertainty, money))
        )
        assert sure < 0.95 * unsure


def test_a_year_colder_by_a_kelvin_costs_more(monkeypatch):
    """Every scenario colder by 1 K: water of 18 °C is some 16 K warmer than this season's air, so about 6 % more."""

    def shifted(by):
        monkeypatch.setattr(
            samples,
            "_coming_year",
            lambda draws, measured_year, year_spread: {"year_warmth": np.full(20, by), "price": np.ones(20)},
        )
        return assessment.assess(short(heater__power="30 kW", cover=None), scenarios=20).uncertainty

    cold, usual = shifted(-1.0), shifted(0.0)
    for end in ("low", "middle", "high"):
        more = getattr(cold.open_kwh, end) - getattr(usual.open_kwh, end)
        assert 0.04 < more / getattr(usual.open_kwh, end) < 0.15
        assert getattr(cold.open_money, end) > getattr(usual.open_money, end)


def test_a_measured_year_says_less_about_the_next():
    usual, real = (samples_of(GARDEN.pond, 2000, measured_year=real)["year_warmth"].std() for real in (False, True))
    assert usual == pytest.approx(np.hypot(0.9, 0.5), rel=0.02)  # years, and the garden against the station
    assert real == pytest.approx(np.hypot(0.9 * np.sqrt(2), 0.5), rel=0.02)
    assert np.log(samples_of(GARDEN.pond, 2000)["price"]).std() == pytest.approx(0.10, rel=0.02)  # “± 10 % or so”


def test_a_likely_range_leaves_a_tenth_out_at_each_end():
    band = LikelyRange.of(np.random.default_rng(0).permutation(101))
    assert (band.low, band.middle, band.high) == (10, 50, 90)


def test_the_efficiency_of_a_gas_heater_is_sampled():
    gas = {"kind": "gas", "power": "6 kW", "gas_rate": "9 p/kWh"}
    stated, silent = short(heater=gas | {"efficiency": "90 %"}), short(heater=gas)
    assert "heater.efficiency" in silent.unknown and "heater.efficiency" not in stated.unknown
    narrow, wide = (samples.heater_samples(one.heater, 200, one.unknown)["efficiency"] for one in (stated, silent))
    assert np.median(narrow) == pytest.approx(0.9, abs=0.003) and np.ptp(wide) > 1.8 * np.ptp(narrow)
    assert wide.max() <= 1
    record = assessment.weather_of(stated)
    conditions = assessment.boundary_conditions(stated, record)
    same = {"year_warmth": np.zeros(2), "price": np.ones(2)}
    poor, own = uncertainty.run_scenarios(stated, conditions, same | {"efficiency": np.array([0.8, 0.9])}).open_kwh
    pump = stated.pump_power / 1000 * conditions.counted.sum()
    assert (poor - pump) / (own - pump) == pytest.approx(0.9 / 0.8)


def test_a_wind_that_is_itself_unsure_widens_the_range():
    wind, wider = (samples_of(GARDEN.pond, 2000, wind_uncertainty=sigma)["wind_shelter"] for sigma in (0.0, 0.3))
    apart = np.log(wider / wind)
    assert apart.std() == pytest.approx(0.3, rel=0.02) and apart.mean() == pytest.approx(0, abs=0.01)
    record = assessment.weather_of(GARDEN)
    sure, unsure = (
        assessment.assess(short(), replace(record, wind_uncertainty=sigma), scenarios=60).uncertainty.open_kwh
        for sigma in (0.0, 0.6)
    )
    assert unsure.high - unsure.low > 1.1 * (sure.high - sure.low)


def test_the_cop_of_a_heat_pump_is_sampled_from_field_trials_and_leaves_its_backup_alone():
    """Pump and backup of one scenario apart: only the pump's share scales with the COP in the field."""
    sheet = short(heater={"kind": "heat pump", "power": "3 kW", "backup": "3 kW"}, tariff=None)
    drawn = samples.heater_samples(sheet.heater, 200)["cop_factor"]
    assert FIELD_LOW.value < drawn.min() < 0.72 and 0.99 < drawn.max() < FIELD_HIGH.value
    assert np.median(drawn) == pytest.approx(FIELD_FACTOR.value, abs=0.003)
    own = short(heater={"kind": "heat pump", "power": "3 kW", "cop_factor": 0.9})
    assert samples.heater_samples(own.heater, 20) == samples.heater_samples(GARDEN.heater, 20) == {}
    record = assessment.weather_of(sheet)
    place = assessment.boundary_conditions(sheet, record)
    same = {"year_warmth": np.zeros(3), "price": np.ones(3)}
    factors = np.array([0.71, 0.85, 1.0])
    taken = uncertainty.run_scenarios(sheet, place, same | {"cop_factor": factors}).open_kwh
    plain = uncertainty.run_scenarios(sheet, place, same).open_kwh
    assert taken[1] == pytest.approx(plain[1], rel=1e-12)
    by_pump = (taken[0] - taken[2]) / (1 / 0.71 - 1 / 1.0)  # heat by the pump over the laboratory's COP
    rest = taken[2] - by_pump  # backup and the pond's own pump
    assert taken[1] == pytest.approx(rest + by_pump / 0.85, rel=1e-9)
    season = assessment.run_season(sheet, place, False)
    heat = np.minimum(season.hours["heater"], sheet.heater.heat_pump_limit(place.hours["air_temp"])[place.counted])
    backup = (season.hours["heater"] - heat).sum() / 1000 + sheet.pump_power * len(season.hours) / 1000
    assert rest == pytest.approx(backup, rel=0.01) and rest > 100


@pytest.mark.parametrize(
    "heater",
    (
        {"kind": "resistance", "power": "6 kW"},
        {"kind": "gas", "power": "6 kW", "gas_rate": "20 p/kWh"},
        {"kind": "heat pump", "power": "3 kW", "backup": "3 kW"},
    ),
    ids=lambda heater: heater["kind"],
)
def test_at_one_rate_the_range_in_money_is_that_in_kwh(monkeypatch, heater):
    """Heater, backup and pump at 20 p, electricity or gas, and 5 % tax on all of it: 21 p for each kWh of every run."""
    monkeypatch.setattr(samples, "PRICE_SPREAD", 0.0)
    found = assessment.assess(
        short(heater=heater, tariff={"rate": "20 p/kWh", "tax": "5 %", "tax_included": False}), scenarios=12
    ).uncertainty
    for name in ("open", "covered", "saving"):
        kwh, money = (vars(getattr(found, f"{name}_{unit}")) for unit in ("kwh", "money"))
        assert money == pytest.approx({end: 0.21 * value for end, value in kwh.items()}), name


# --- what to measure first -------------------------------------------------------------------------------------------


def test_measurable_inputs_come_first_and_say_how(garden):
    first = garden.uncertainty.measure_first
    assert {one.name for one in first} == {name for name, _ in garden.uncertainty.variance_shares}
    measurable = [one.how is not None for one in first]
    assert measurable == sorted(measurable, reverse=True)
    assert {one.name for one in first if one.how is None} == {"year_warmth", "price", "sky_error"}
    said = measurement_text(first[0], GARDEN.currency)
    assert "£" in said and first[0].how in said and units.money(float(f"{first[0].low:.3g}"), GARDEN.currency) in said
    assert " ".join(said.split()) in " ".join(summary.season_text(garden).split())


def test_low_and_high_are_means_of_the_outer_fifths():
    """By hand, where the result is the input itself: fifths of 0 … 99 have the means 9.5 and 89.5."""
    values = np.random.default_rng(0).permutation(100).astype(float)
    means = group_means(values, values)
    assert (means.iloc[0], means.iloc[-1]) == (9.5, 89.5)


def test_additive_effects_of_the_other_inputs_are_removed():
    """By hand: wind moves the result by ten times its value of 0–1, walls not at all, each of two formulae by ± 2."""
    rng = np.random.default_rng(3)
    samples = {
        "wind_shelter": rng.permutation(200) / 199,
        "wall_factor": rng.random(200),
        "evaporation": rng.choice(["a", "b"], 200),
    }
    each = additive_effects(samples, 10 * samples["wind_shelter"] + np.where(samples["evaporation"] == "a", -2.0, 2.0))
    walls, formulas = (group_means(samples[name], each[name]) for name in ("wall_factor", "evaporation"))
    assert walls.max() - walls.min() < 0.5 and formulas["b"] - formulas["a"] == pytest.approx(4.0, abs=0.2)
    wind = group_means(samples["wind_shelter"], each["wind_shelter"])
    assert wind.iloc[-1] - wind.iloc[0] == pytest.approx(8.0, abs=0.4)


@pytest.mark.long
def test_low_and_high_end_are_those_of_the_input_alone(garden):
    """Seasons with one input at the middle of its outer fifths, such as 1.6 ^ ± 0.8 times the sheet's wind.

    The wind's effect differs from formula to formula, so for the wind the mean of their seasons is taken.
    """
    pond, found = GARDEN.pond, {one.name: one for one in garden.uncertainty.measure_first}

    def saves(**values):
        sheet = replace(GARDEN, pond=replace(pond, **values))
        conditions = assessment.boundary_conditions(sheet, garden.weather)
        uncovered, covered = (assessment.run_season(sheet, conditions, which).money for which in (False, True))
        return uncovered - covered

    def with_wind(factor):
        by_formula = {
            name: saves(evaporation=name, wind_shelter=min(0.5 * factor, 1.0) * NEAR_SURFACE.get(name, 1.0))
            for name in set(FORMULAS)
        }
        return sum(by_formula[name] for name in FORMULAS) / len(FORMULAS)

    def walls(factor):
        return tuple(replace(wall, u_value=factor * wall.u_value) for wall in pond.walls)

    alone = {
        "wind_shelter": [with_wind(1.6**by) for by in (-0.8, 0.8)],
        "sky_view": [saves(sky_view=0.8 + by) for by in (-0.12, 0.12)],
        "wall_factor": [saves(walls=walls(1 + by)) for by in (-0.16, 0.16)],
        "u_value": [saves(cover=replace(pond.cover, u_value=3.1 * (1 + by))) for by in (-0.12, 0.12)],
        "gap_air_flow": [saves(cover=replace(pond.cover, gap_air_flow=0.002 * 3**by)) for by in (-0.8, 0.8)],
    }
    for name, (low, high) in alone.items():
        assert found[name].high - found[name].low == pytest.approx(high - low, abs=60), name  # of £2 060


def test_the_calm_end_is_of_calm_ponds():
    """One formula takes the lower wind near the water; its scenarios, a tenth, must not fill the calmest fifth."""
    drawn = with_wind_as_drawn(GARDEN.pond, samples_of(GARDEN.pond, 200))
    calm = np.argsort(drawn["wind_shelter"])[:40]
    assert drawn["wind_shelter"].min() >= 0.5 / 1.6 and (drawn["evaporation"][calm] == "smith_lof_jones").sum() < 12
    roomy = replace(GARDEN.pond, room=True)
    assert "wind_shelter" not in with_wind_as_drawn(roomy, samples_of(roomy, 20))


def test_inputs_without_effect_are_left_out(learned):
    bare = replace(
        GARDEN.pond, walls=(), filter_air_flow=0.0, casing_u_value_area=0.0, aeration_air_flow=0.0, water_change=0.0
    )
    assert "wall_factor" not in samples_of(bare, 20) and "wall_factor" in samples_of(GARDEN.pond, 20)
    drawn, whole = (learned_samples(pond, learned[0], 20) for pond in (bare, GARDEN.pond))
    assert set(whole) - set(drawn) == {"wall_factor", "stream_factor"}


def test_an_input_that_decides_is_put_first(short_garden):
    """A price right in the middle of what five seasons save: the wind overturns it, the walls' small share does not."""
    middle = short_garden.uncertainty.saving_money.middle
    torn = assessment.assess(short(cover__life="5 years", cover__price=f"£{5 * middle:.2f}")).uncertainty
    assert torn.measure_first[0].overturns and torn.measure_first[0].name in ("wind_shelter", "surface_factor")
    for one in torn.measure_first:
        price = 5 * middle
        assert one.overturns == ((5 * one.low >= price) != (5 * one.high >= price))
    assert "pays for itself" in measurement_text(torn.measure_first[0], GARDEN.currency)


def one(**fields):
    """An input's effect with plain numbers and the given fields."""
    return replace(
        InputEffect(
            "wind_shelter",
            0.4,
            "how much wind",
            "the cover saves",
            310.0,
            390.0,
            455.0,
            True,
            False,
            "over its life",
            None,
        ),
        **fields,
    )


def test_the_sentence_says_by_when_the_cover_should_pay():
    assert "changes whether the cover pays for itself over its life." in measurement_text(one(), units.GBP)
    assert "pays for itself within 5 seasons." in measurement_text(
        one(overturns=True, within="within 5 seasons"), units.GBP
    )
    nameless = assessment.assess(short(cover__life=None), scenarios=20).uncertainty.measure_first[0]
    assert nameless.within == "within 5 seasons" and "over its life" not in measurement_text(nameless, GARDEN.currency)


def test_the_sentence_says_where_an_unmeasurable_input_weighs_more():
    """It is never named as what to measure, and what is named is not called the likeliest of all."""
    first = from_text((PONDS / "my_first_sheet.toml").read_text(encoding="utf-8"), PONDS)
    found = assessment.assess(first).uncertainty
    assert found.variance_shares[0][0] == "price" and found.measure_first[0].outweighed_by == "price"
    said = measurement_text(found.measure_first[0], first.currency)
    assert said.startswith("Most likely to overturn this, of what can be measured: ")
    assert "What a kWh will cost matters more, but you can't measure it, only insure against it." in said
    assert "of what can be measured" not in measurement_text(one(), units.GBP)
    price = measurement_text(one(name="price"), units.GBP)
    assert "only insure against it" in price and "None" not in price


def test_an_input_that_overturns_is_not_outweighed_by_a_larger_share():
    rows = [("price", 0.5, False), ("wind_shelter", 0.3, True), ("sky_view", 0.1, False)]
    first, second, last = ranked(tuple(one(name=n, share=s, overturns=o) for n, s, o in rows))
    assert (first.name, first.outweighed_by) == ("wind_shelter", None)
    assert (second.name, last.name) == ("sky_view", "price")
    calm = ranked(tuple(one(name=n, share=s, overturns=False) for n, s, _ in rows))
    assert (calm[0].name, calm[0].outweighed_by) == ("wind_shelter", "price")


def test_a_cover_without_a_price_decides_nothing():
    free = assessment.assess(short(cover__price=None), scenarios=20).uncertainty.measure_first
    assert all(one.overturns is None for one in free) and "pays for itself" not in measurement_text(
        free[0], GARDEN.currency
    )


def test_an_open_pond_asks_what_it_costs():
    bare = assessment.assess(short(cover=None), scenarios=20).uncertainty.measure_first[0]
    assert bare.of == "the open pond costs" and bare.in_money
    untariffed = assessment.assess(short(cover=None, tariff=None), scenarios=20).uncertainty.measure_first[0]
    assert untariffed.of == "the open pond takes" and "kWh" in measurement_text(untariffed, GARDEN.currency)


def test_the_range_that_is_explained_is_printed():
    """The price moves no kWh: where it may matter most, the range in money must be printed too."""
    for changes, unit in (({}, "money"), ({"tariff": None}, "kWh")):
        found = assessment.assess(short(cover=None, **changes), scenarios=40)
        said = " ".join(summary.season_text(found).split())
        assert f"What matters most for the likely range in {unit} (8 in 10 of 40 runs" in said
        if unit == "money":
            ends = [
                " ".join(units.money(end, GARDEN.currency).split())
                for end in (found.open.money, found.uncertainty.open_money.low, found.uncertainty.open_money.high)
            ]
            assert "in money {}, likely {} to {}.".format(*ends) in said
        else:
            assert "in money" not in said.split("Heat over the season")[0].replace("range in money", "")


# --- a meter in place of the judgements ------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def learned():
    """The fit of a synthetic pond, metered for five weeks, that loses a quarter less than its sheet says.

    With it the assessment by that fit, and the assessment of the pond as it really is.
    """

    def lossy(sheet):
        walls = tuple(replace(wall, u_value=0.75 * wall.u_value) for wall in sheet.pond.walls)
        cover = replace(sheet.pond.cover, u_value=0.7 * sheet.pond.cover.u_value, gap_air_flow=0.0005)
        return replace(sheet, pond=replace(sheet.pond, wind_shelter=0.3, sky_view=0.7, walls=walls, cover=cover))

    first, last = (pd.Timestamp(day).date() for day in ("2025-11-03", "2025-12-07"))
    forgotten = tuple(day for at, day in enumerate(pd.date_range(first, last).date) if (at // 2) % 2 == 0)
    told = replace(
        GARDEN, start=first, end=last, start_temp=18.0, cover_plan=replace(GARDEN.cover_plan, exceptions=forgotten)
    )
    season = assessment.run_season(
        lossy(told), assessment.boundary_conditions(told, assessment.weather_of(told)), covered=True
    )
    use = pd.DataFrame({"kwh": season.hours["heater"] / 1000, "hours": 1.0}, index=season.hours.index.rename("start"))
    fitted = assessment.learn(told, use)
    return fitted, assessment.assess(GARDEN, fitted=fitted), assessment.assess(lossy(GARDEN), scenarios=0)


def test_a_meter_narrows_the_range_and_moves_it_to_the_truth(learned, garden):
    fitted, got, true = learned
    width = {
        name: found.uncertainty.open_kwh.high - found.uncertainty.open_kwh.low
        for name, found in (("judged", garden), ("met", got))
    }
    assert got.uncertainty.learned and not garden.uncertainty.learned and got.fitted is fitted
    for name in ("open", "covered"):
        truth = getattr(true, name).electricity_kwh
        band, judged = getattr(got.uncertainty, f"{name}_kwh"), getattr(garden.uncertainty, f"{name}_kwh")
        assert band.low < truth < band.high
        assert abs(band.middle - truth) < abs(judged.middle - truth)
    assert width["met"] < width["judged"]


def test_what_was_learned_is_in_text_and_json(learned):
    _, got, _ = learned
    said = " ".join(summary.season_text(got).split())
    assert "learned from its meter" in said
    told = export.as_dict(got)
    assert told["doubt"]["learned"] and told["meter"]["days"] >= 30 and told["meter"]["sentences"]
    names = {name for name, _ in got.uncertainty.variance_shares}
    assert {"surface_factor", "cover_factor", "wall_factor"} <= names and not {
        "u_value",
        "gap_air_flow",
        "sky_view",
    } & names


def test_learned_medians_are_printed_beside_the_sheet_s_numbers(learned):
    """A range of the learned pond is never printed as that of the sheet's number."""
    _, got, _ = learned
    said = " ".join(summary.season_text(got).split())
    found = got.uncertainty

    def kwh(value):
        return f"{value:,.0f} kWh"

    assert f"Going by the sheet, the cover saves {kwh(got.saving_kwh)}" in said
    assert f"Going by the pond's own meter, it saves {kwh(found.saving_kwh.middle)}, likely" in said
    assert f"in money {' '.join(units.money(found.saving_money.middle, GARDEN.currency).split())}, likely" in said
    assert (
        f"Going by its meter, the open pond takes {kwh(found.open_kwh.middle)} and the covered one "
        f"{kwh(found.covered_kwh.middle)}; going by the sheet, {kwh(got.open.electricity_kwh)} and "
        f"{kwh(got.covered.electricity_kwh)}."
    ) in said
    assert f"as learned {units.significant(found.payback.middle, 2)}, likely" in said
    assert "The cover saves" not in said
    bare = summary.season_text(assessment.assess(short(cover=None), scenarios=20, fitted=learned[0]))
    assert "Going by the sheet, the open pond takes" in bare and "Going by its meter, the open pond takes" not in bare


def test_learned_inputs_are_not_called_judgements(learned, garden):
    _, got, _ = learned
    for name in ("evaporation", "wind_shelter", "wall_factor"):
        row, judged = (
            next(each for each in found.uncertainty.measure_first if each.name == name) for found in (got, garden)
        )
        assert row.meaning == f"{UNCERTAIN_INPUTS[name].words} (as the meter left it)"
        assert judged.meaning == meaning(name, learned=False)
    assert "judgement" in next(each for each in got.uncertainty.measure_first if each.name == "price").meaning
    told = export.as_dict(got)["doubt"]
    assert {row["unknown"]: row["meaning"] for row in told["matters"]} == {
        row["unknown"]: row["meaning"] for row in told["measure_first"]
    }


def test_samples_are_the_same_every_time(learned):
    fitted, *_ = learned
    one, two = (learned_samples(GARDEN.pond, fitted, 50) for _ in range(2))
    assert all(np.array_equal(one[name], two[name]) for name in one) and one["wind_shelter"].max() <= 1.0
    assert "cover_factor" not in learned_samples(replace(GARDEN.pond, cover=None), fitted, 10)


def test_station_and_year_scale_all_losses_alike_and_the_sun_by_itself(learned):
    fitted, *_ = learned
    drawn, made = fitted.samples(400, 1), learned_samples(GARDEN.pond, fitted, 400)
    misled = made["wall_factor"] / drawn["wall_factor"]
    assert np.log(misled).std() == pytest.approx(samples.RECORD_ERROR, rel=0.02) and samples.RECORD_ERROR > 0
    assert made["cover_factor"] / drawn["cover_factor"] == pytest.approx(misled)
    year = np.log(made["surface_factor"] / drawn["surface_factor"] / misled)
    assert year.std() == pytest.approx(samples.YEAR_LOSSES, rel=0.02)
    sun = np.log(made["sun_factor"] / drawn["sun_factor"])
    assert sun.std() == pytest.approx(samples.YEAR_SUN, rel=0.02)


def test_too_short_a_log_and_an_unheated_sheet_are_refused():
    log = meter_file.read(LOGS / "garden_pond_open.csv", "Europe/London").use
    with pytest.raises(InsufficientReadings, match="whole days"):
        assessment.learn(GARDEN, log.iloc[:100])
    with pytest.raises(ValueError, match="has no heating"):
        assessment.learn(changed(pond__set_point=None), log)


@pytest.mark.parametrize("times", [3, 10, 1000])
def test_a_log_above_what_the_heater_can_draw_is_refused(times):
    """Such as Wh taken for kWh, or the meter of the whole house: a fit would only widen its ranges."""
    log = meter_file.read(LOGS / "garden_pond_open.csv", "Europe/London").use
    with pytest.raises(OutOfRange, match="at most 6.00 kW.*unit"):
        assessment.learn(GARDEN, log.assign(kwh=times * log["kwh"]))


def test_repairs_of_the_file_are_listed():
    made = meter_file.read(LOGS / "garden_pond_clock_change.csv", "Europe/London")
    said = assessment.learn(GARDEN, made.use, repairs=made.repairs).sentences
    assert made.repairs and all(f"In the meter file: {one.sentence}" in said for one in made.repairs)


def test_a_log_of_another_year_than_its_weather_is_refused_with_both_dates():
    log = meter_file.read(LOGS / "garden_pond_open.csv", "Europe/London").use
    log = log.set_axis(log.index - pd.Timedelta(days=365))
    days = assessment.weather_of(
        replace(GARDEN, start=pd.Timestamp("2026-01-01").date(), end=pd.Timestamp("2026-02-01").date())
    )
    measured = replace(days, kind=MEASURED, hours=days.hours["2026-01-01":"2026-02-01"])
    with pytest.raises(
        InsufficientReadings,
        match="readings run from 2025-01-05 to 2025-01-19, the weather from 2026-01-01 to 2026-02-01",
    ):
        assessment.learn(GARDEN, log, measured)


def test_a_cover_on_in_every_metered_night_is_questioned(learned):
    """A log of open nights with a sheet that has the cover on would be learned as a very bad cover."""
    log = meter_file.read(LOGS / "garden_pond_open.csv", "Europe/London").use
    said = " ".join(assessment.learn(GARDEN, log).sentences)
    assert "the cover on in every metered night" in said and "cover.except" in said
    assert "cover.except" not in " ".join(learned[0].sentences)  # its open nights are named
    assert "cover.except" not in " ".join(assessment.learn(changed(cover=None), log).sentences)


@pytest.fixture(scope="module")
def measured_days(tmp_path_factory):
    """Log and weather of the same synthetic four weeks as files: the sheet's own pond, open."""
    first, last = (pd.Timestamp(day).date() for day in ("2026-01-05", "2026-02-01"))
    told = replace(GARDEN, start=first, end=last, start_temp=18.0)
    place = assessment.boundary_conditions(told, assessment.weather_of(told))
    season = assessment.run_season(told, place, covered=False)
    folder, hours = tmp_path_factory.mktemp("metered"), place.hours
    rows = [
        f"{stamp.isoformat()},{row.air_temp:.2f},{100 * row.rel_humidity:.1f},{row.wind_speed:.2f},{row.solar:.1f}"
        for stamp, row in hours.iterrows()
    ]
    head = (
        "# place: Beside the pond (invented)",
        "# latitude: 52.4 deg",
        "# longitude: 13.1 deg",
        "# altitude: 81 m",
        "time,air_temp [°C],rel_humidity [%],wind_speed [m/s at 10 m],solar [W/m²]",
    )
    (folder / "days.csv").write_text("\n".join((*head, *rows)) + "\n", encoding="utf-8")
    kwh = "\n".join(f"{stamp.isoformat()},{watts / 1000:.4f}" for stamp, watts in season.hours["heater"].items())
    (folder / "meter.csv").write_text(f"start,kWh\n{kwh}\n", encoding="utf-8")
    return folder


def test_with_weather_of_the_metered_days_nothing_is_for_trying_only(capsys, measured_days, few_runs):
    sheet = str(measured_days / "open.toml")
    Path(sheet).write_text(
        (PONDS / "garden_pond.toml")
        .read_text(encoding="utf-8")
        .replace(
            'off = "08:00"',
            'off = "08:00"\nexcept = ['
            + ", ".join(f'"{day.date()}"' for day in pd.date_range("2026-01-04", "2026-02-02"))
            + "]",
        ),
        encoding="utf-8",
    )
    meter, days = (str(measured_days / name) for name in ("meter.csv", "days.csv"))
    given = ["season", sheet, "--meter", meter, "--meter-weather", days]
    assert front.main([*given, "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["meter"]["days"] >= 25 and told["doubt"]["learned"]
    assert not any("only a trial" in sentence for sentence in told["meter"]["sentences"])
    assert told["weather"]["place"] == "Potsdam"  # the season itself is still the sheet's year


def test_reading_options_are_for_one_meter_file(capsys):
    sheet, log = str(PONDS / "garden_pond.toml"), str(LOGS / "garden_pond_open.csv")
    assert front.main(["season", sheet, "--meter", log, "--unit", "kWh", "--unit", "Wh"]) == 2
    assert "--unit is given 2 times: once is enough" in capsys.readouterr().err
    assert front.main(["season", sheet, "--unit", "kWh"]) == 2
    assert "No meter file is given for --unit. Give --meter FILE too" in capsys.readouterr().err


def test_the_command_with_a_meter(capsys, tmp_path, few_runs):
    sheet, log = str(PONDS / "garden_pond.toml"), str(LOGS / "garden_pond_open.csv")
    assert front.main(["season", sheet, "--meter", log]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "only a trial" in said and "learned from its meter" in said
    assert front.main(["season", sheet, "--meter", str(tmp_path / "none.csv")]) == 2
    assert "none.csv" in capsys.readouterr().err
    assert front.main(["season", sheet, "--meter-weather", "potsdam"]) == 2
    assert "--meter" in capsys.readouterr().err


def test_the_range_of_payback_counts_never():
    assert LikelyRange.of(payback.simple_payback(100.0, np.array([-1.0, 10.0, 20.0]))).high == np.inf


# --- pairing scenarios -----------------------------------------------------------------------------------------------


def test_arrays_give_the_ranges(short_garden):
    found, arrays = short_garden.uncertainty, short_garden.uncertainty.arrays
    for name in ("open_kwh", "open_money", "covered_kwh", "covered_money", "saving_kwh", "saving_money"):
        assert vars(LikelyRange.of(getattr(arrays, name))) == vars(getattr(found, name)), name
    assert arrays.described_kwh is arrays.covered_kwh and arrays.described_money is arrays.covered_money


def test_two_sheets_have_the_same_draws(short_garden):
    """One kelvin less saves money in every single scenario, so the paired range is far narrower than either range."""
    cooler = assessment.assess(short(pond__set_point="17 °C", pond__start_temp="17 °C"))
    paired = short_garden.uncertainty.arrays.open_money - cooler.uncertainty.arrays.open_money
    assert (paired > 0).all()
    likely, alone = LikelyRange.of(paired), short_garden.uncertainty.open_money
    assert likely.high - likely.low < 0.3 * (alone.high - alone.low)
    without = assessment.assess(short(cover=None)).uncertainty.arrays
    assert without.open_kwh == pytest.approx(
        short_garden.uncertainty.arrays.open_kwh
    )  # also without its cover's inputs
    assert without.described_kwh is without.open_kwh and without.saving_kwh is None


def test_the_difference_of_a_choice_is_paired():
    """Water held at 15 °C takes less in every scenario; a flat rate runs nothing anew and has no range of its own."""
    sheet = short()
    record = assessment.weather_of(sheet)
    house = {"house_kwh": 4000, "house_cheap_share": 0.1, "flat_rate": 0.25}
    table = what_if.what_if(sheet, record, ("hold_22", "hold_15", "flat_rate"), **house)
    assert [row.key for row in what_if.pending_rows(table)] == ["hold_15", "hold_22"]  # the best first
    first, last = what_if.with_likely_ranges(table, 40)
    told = {row.key: row.likely for row in first.rows}
    assert told["hold_15"] is not None and told["hold_22"] is None  # still pending
    rows = {row.key: row for row in last.rows}
    for key, sign in (("hold_15", -1), ("hold_22", 1)):
        likely = rows[key].likely
        assert likely.low < likely.middle < likely.high and likely.low * sign > 0 and likely.high * sign > 0
        assert likely.low < rows[key].difference < likely.high
    assert rows["flat_rate"].likely is None and rows[what_if.AS_IT_IS].likely is None
    assert not what_if.pending_rows(last)
