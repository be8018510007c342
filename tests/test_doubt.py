"""How sure: what the coming year and its prices do, what a fitted meter takes the place of, and what to measure first."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from pondheat import __main__ as front
from pondheat import doubt, study, summary, units
from pondheat.meter import readings_file
from pondheat.meter.fitting import Untold
from pondheat.money import payback
from pondheat.sheet import from_text, with_values

ROOT = Path(__file__).resolve().parents[1]
PONDS, LOGS = ROOT / "data" / "ponds", ROOT / "data" / "readings"
GARDEN = from_text((PONDS / "garden_pond.toml").read_text(encoding="utf-8"), PONDS)


@pytest.fixture(scope="module")
def garden():
    return study.assess(GARDEN)


def changed(**values):
    text = (PONDS / "garden_pond.toml").read_text(encoding="utf-8")
    return from_text(with_values(text, {name.replace("__", "."): value for name, value in values.items()}), PONDS)


# --- the coming year ------------------------------------------------------------------------------------------------

def test_a_colder_year_costs_more_and_a_dearer_one_moves_money_alone(garden):
    by_name = {one.unknown: one for one in garden.doubt.measure_first}
    assert by_name["year_warmth"].low > by_name["year_warmth"].middle > by_name["year_warmth"].high
    assert by_name["price"].low < by_name["price"].middle < by_name["price"].high
    untaxed = study.assess(changed(tariff=None))
    assert "price" not in dict(untaxed.doubt.matters)
    assert untaxed.doubt.open_kwh.__dict__ == pytest.approx(garden.doubt.open_kwh.__dict__)


def test_the_weather_of_one_real_year_says_less_of_the_next():
    usual, real = (doubt.samples_of(GARDEN.pond, 2000, measured_year=real)["year_warmth"].std() for real in (False, True))
    assert usual == pytest.approx(0.9, rel=0.02) and real == pytest.approx(0.9 * np.sqrt(2), rel=0.02)


# --- what to measure first -------------------------------------------------------------------------------------------

def test_what_can_be_measured_comes_first_and_each_says_how(garden):
    first = garden.doubt.measure_first
    assert {one.unknown for one in first} == {name for name, _ in garden.doubt.matters}
    measurable = [one.how is not None for one in first]
    assert measurable == sorted(measurable, reverse=True)
    assert {one.unknown for one in first if one.how is None} == {"year_warmth", "price"}
    said = first[0].sentence(GARDEN.currency)
    assert "£" in said and first[0].how in said and units.money(float(f"{first[0].low:.3g}"), GARDEN.currency) in said
    assert " ".join(said.split()) in " ".join(summary.season_text(garden).split())


def test_low_and_high_are_means_of_the_outer_fifths():
    """By hand, where the answer is the unknown itself: fifths of 0 … 99 have the means 9.5 and 89.5."""
    values = np.random.default_rng(0).permutation(100).astype(float)
    means = doubt.result_by(values, values)
    assert (means.iloc[0], means.iloc[-1]) == (9.5, 89.5)


def test_an_unknown_that_decides_is_put_first():
    """A price right in the middle of what five seasons save: wind overturns it, thin walls' small share does not."""
    sheet = changed(cover__life="5 years")
    middle = study.assess(sheet).doubt.saving_money.middle
    torn = study.assess(changed(cover__life="5 years", cover__price=f"£{5 * middle:.2f}")).doubt
    assert torn.measure_first[0].overturns and torn.measure_first[0].unknown == "wind_shelter"
    for one in torn.measure_first:
        price = 5 * middle
        assert one.overturns == ((5 * one.low >= price) != (5 * one.high >= price))
    assert "pays for itself" in torn.measure_first[0].sentence(sheet.currency)


def test_a_cover_without_a_price_decides_nothing():
    free = study.assess(changed(cover__price=None)).doubt.measure_first
    assert all(one.overturns is None for one in free) and "pays for itself" not in free[0].sentence(GARDEN.currency)


def test_an_open_pond_asks_what_it_costs():
    bare = study.assess(changed(cover=None)).doubt.measure_first[0]
    assert bare.of == "the open pond costs" and bare.money
    untariffed = study.assess(changed(cover=None, tariff=None)).doubt.measure_first[0]
    assert untariffed.of == "the open pond takes" and "kWh" in untariffed.sentence(GARDEN.currency)


# --- a meter in place of the judgements ------------------------------------------------------------------------------

@pytest.fixture(scope="module")
def learned():
    """An invented pond whose open water and cover lose a quarter less than its sheet has it, metered for five weeks."""
    def lossy(sheet):
        walls = tuple(replace(wall, u_value=0.75 * wall.u_value) for wall in sheet.pond.walls)
        cover = replace(sheet.pond.cover, u_value=0.7 * sheet.pond.cover.u_value, gap_air_flow=0.0005)
        return replace(sheet, pond=replace(sheet.pond, wind_shelter=0.3, sky_view=0.7, walls=walls, cover=cover))

    first, last = (pd.Timestamp(day).date() for day in ("2025-11-03", "2025-12-07"))
    forgotten = tuple(day for at, day in enumerate(pd.date_range(first, last).date) if (at // 2) % 2 == 0)
    told = replace(GARDEN, start=first, end=last, start_temp=18.0,
                   cover_plan=replace(GARDEN.cover_plan, exceptions=forgotten))
    season = study.run_season(lossy(told), study.setting(told, study.weather_of(told)), covered=True)
    use = pd.DataFrame({"kwh": season.hours["heater"] / 1000, "hours": 1.0}, index=season.hours.index.rename("start"))
    fitted = study.learn(told, use)
    return fitted, study.assess(GARDEN, fitted=fitted), study.assess(lossy(GARDEN), scenarios=0)


def test_the_meter_narrows_the_band_and_moves_it_to_the_truth(learned, garden):
    fitted, got, true = learned
    width = {name: found.doubt.open_kwh.high - found.doubt.open_kwh.low for name, found in (("judged", garden), ("met", got))}
    assert got.doubt.learned and not garden.doubt.learned and got.fitted is fitted
    for name in ("open", "covered"):
        truth = getattr(true, name).electricity_kwh
        band, judged = getattr(got.doubt, f"{name}_kwh"), getattr(garden.doubt, f"{name}_kwh")
        assert band.low < truth < band.high
        assert abs(band.middle - truth) < abs(judged.middle - truth)
    assert width["met"] < width["judged"]


def test_what_the_meter_told_stands_in_text_and_json(learned):
    _, got, _ = learned
    said = " ".join(summary.season_text(got).split())
    assert "learned from its meter" in said
    told = study.as_dict(got)
    assert told["doubt"]["learned"] and told["meter"]["days"] >= 30 and told["meter"]["sentences"]
    names = {name for name, _ in got.doubt.matters}
    assert {"surface_factor", "cover_factor", "wall_factor"} <= names and not {"u_value", "gap_air_flow", "sky_view"} & names


def test_samples_are_the_same_every_time(learned):
    fitted, *_ = learned
    one, two = (doubt.learned_samples(GARDEN.pond, fitted, 50) for _ in range(2))
    assert all(np.array_equal(one[name], two[name]) for name in one) and one["wind_shelter"].max() <= 1.0
    assert "cover_factor" not in doubt.learned_samples(replace(GARDEN.pond, cover=None), fitted, 10)


def test_too_short_a_log_and_an_unheated_sheet_are_refused_in_words():
    log = readings_file.read(LOGS / "garden_pond_open.csv", "Europe/London").use
    with pytest.raises(Untold, match="whole days"):
        study.learn(GARDEN, log.iloc[:100])
    with pytest.raises(ValueError, match="heats nothing"):
        study.learn(changed(pond__set_point=None), log)


def test_the_command_with_a_meter(capsys, tmp_path):
    sheet, log = str(PONDS / "garden_pond.toml"), str(LOGS / "garden_pond_open.csv")
    assert front.main(["season", sheet, "--meter", log]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "for trying only" in said and "learned from its meter" in said
    assert front.main(["season", sheet, "--meter", str(tmp_path / "none.csv")]) == 2
    assert "none.csv" in capsys.readouterr().err
    assert front.main(["season", sheet, "--meter-weather", "potsdam"]) == 2
    assert "--meter" in capsys.readouterr().err


def test_band_of_payback_counts_never():
    assert doubt.Band.of(payback.simple_payback(100.0, np.array([-1.0, 10.0, 20.0]))).high == np.inf
