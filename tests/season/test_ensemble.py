"""Many scenarios at once say what one season after another says, in any order, for every kind of pond."""

from dataclasses import replace

import numpy as np
import pytest

from pondheat.analysis import assessment
from pondheat.core.places import PONDS
from pondheat.core.ranges import OutOfRange
from pondheat.heat.balance import Alternative, Pond, Wall
from pondheat.heat.covers import Cover
from pondheat.meter import factors
from pondheat.meter.fitting import heat_terms
from pondheat.meter.fitting.priors import SAMPLE_NAMES
from pondheat.meter.surface_models import SurfaceModel
from pondheat.season.ensemble import SAMPLED, run_ensemble
from pondheat.season.heaters import Heater
from pondheat.season.schedule import covered_share, values_by_date
from pondheat.season.simulate import air_of, simulate
from pondheat.sheet import pond_sheet

WALLS = (Wall(15.6, 0.5), Wall(10.0, 0.5, "ground"))
GARDEN = Pond(10.0, 12.0, WALLS, 0.002, 0.5, 3.0, 0.0005, 0.12 / 86_400, None, 0.5, 0.8, 0.2)
TANK = Pond(1.2, 1.0, (Wall(3.7, 0.45),), 0.0003, 0.5, 0.0, 0.0002, 0.05 / 86_400, None, 0.3, 0.6, 0.3)
SHEET = Cover("sheet", 3.1, 0.8, 0.002)
NIGHT, ALWAYS = (18 * 60, 8 * 60), (None, None)
FACTORS = ("wall_factor", "surface_factor", "cover_factor", "stream_factor", "sun_factor")
# name: pond, set point, heater's limit [W], cover's hours
SUNK_OR_BARE = (Alternative("sunk", 0.5, "ground"), Alternative("bare", 5.0, "air"))
CASES = {
    "walls that nobody described": (
        replace(GARDEN, walls=(Wall(16.0, 0.5, "ground", SUNK_OR_BARE),)),
        18.0,
        20_000,
        None,
    ),
    "open": (GARDEN, 18.0, 20_000, None),
    "open, heater too small": (GARDEN, 18.0, 3000, None),
    "sheet at night": (replace(GARDEN, cover=SHEET), 18.0, 20_000, NIGHT),
    "sheet at night, heater too small": (replace(GARDEN, cover=SHEET), 18.0, 1500, NIGHT),
    "sheet day and night": (replace(GARDEN, cover=SHEET), 18.0, 20_000, ALWAYS),
    "sheet over part of the water": (replace(GARDEN, cover=replace(SHEET, share=0.6)), 18.0, 20_000, NIGHT),
    "thin sheet, wide gap": (replace(GARDEN, cover=Cover("sheet", 6.0, 0.9, 0.05)), 14.0, 20_000, NIGHT),
    "floating": (replace(GARDEN, cover=Cover("floating", 4.0, 0.5)), 18.0, 20_000, NIGHT),
    "film": (replace(GARDEN, cover=Cover("film", evaporation_cut=0.15)), 18.0, 20_000, ALWAYS),
    "insulated lid": (replace(GARDEN, cover=Cover("insulated lid", 0.5, 0.0, 0.001)), 18.0, 20_000, NIGHT),
    "small tank": (TANK, 22.0, 1000, None),
    "small tank, sheet": (replace(TANK, cover=Cover("sheet", 1.4, 0.55, 0.0005)), 22.0, 1000, NIGHT),
    "no sky at all": (replace(GARDEN, sky_view=0.0), 18.0, 20_000, None),
    "another formula": (replace(GARDEN, evaporation="penman_1956", cover=SHEET), 18.0, 20_000, NIGHT),
    "a formula that does not condense": (replace(GARDEN, evaporation="vdi_2089"), 8.0, 20_000, None),
}


def pair(case, hours, samples=None, **more):
    """One scenario by `run_ensemble`, and the same by `simulate`: (heat [kWh], lowest [°C]) of each."""
    pond, set_point, limit, clock = case
    covered = 0.0 if clock is None else covered_share(hours.index, *clock)
    room = more.pop("room", (None, None))
    air = air_of(hours, 10.0, None, None, *room)
    start = more.pop("start_temp", 18.0)
    many = run_ensemble(
        pond,
        air,
        samples or {"wall_factor": np.array([1.0])},
        set_point=set_point,
        limit=limit,
        covered=covered,
        start_temp=start,
        **more,
    )
    one = simulate(
        pond,
        hours,
        air,
        set_point=set_point,
        heater=Heater(power=limit),
        covered=covered,
        start_temp=start,
        pump_heat=more.get("gain", 0.0),
    )
    return (float(many.heat_kwh[0]), float(many.lowest_temp[0])), (one.heater.sum() / 1000, one.water_temp.min())


@pytest.fixture(scope="module")
def cold_to_hot(year):
    """Frost, thaw and hot days: middle of January to May."""
    return year.iloc[24 * 142 : 24 * 272]


@pytest.mark.parametrize("name", CASES)
def test_one_scenario_is_the_season_itself(name, cold_to_hot):
    """It is the same hour step."""
    (heat, lowest), (own_heat, own_lowest) = pair(CASES[name], cold_to_hot)
    assert own_heat > 100
    assert heat == pytest.approx(own_heat, rel=1e-9)
    assert lowest == pytest.approx(own_lowest, abs=1e-6)


def test_in_a_room(cold_to_hot):
    tank = replace(TANK, room=True, shade=1.0, cover=Cover("sheet", 1.4, 0.55, 0.0005))
    (heat, _), (own, _) = pair((tank, 22.0, 1000, NIGHT), cold_to_hot, room=(10.0, 0.8))
    assert own > 100 and heat == pytest.approx(own, rel=1e-9)


def test_pump_heat_and_set_point_by_date(year):
    hours = year.iloc[24 * 60 : 24 * 240]  # all three: November to April
    wanted = values_by_date(hours.index, [((9, 1), 18.0), ((12, 1), None), ((3, 1), 12.0)])
    (heat, _), (own, _) = pair((GARDEN, wanted, 6000, None), hours, gain=97.0)
    assert own > 1000 and heat == pytest.approx(own, rel=1e-9)


def test_unheated_with_ice(year):
    """A cold winter without a heater: both stand at 0 °C; heated out of the ice, both pay for melting it."""
    cold = year.iloc[24 * 90 : 24 * 240].assign(air_temp=year.air_temp - 8)  # December to April
    shallow = replace(GARDEN, volume=4.0, wind_shelter=1.0)
    (heat, lowest), (own, own_lowest) = pair((shallow, np.nan, 0.0, None), cold)
    assert heat == own == 0 and lowest == own_lowest == 0.0
    # heated from 1 March on, out of the ice: every kilogram has to be melted by the heater, 93 Wh each
    wanted = values_by_date(cold.index, [((3, 1), 10.0), ((10, 1), None)])
    (heat, _), (own, _) = pair((shallow, wanted, 8000, None), cold)
    assert own > 3000 and heat == pytest.approx(own, rel=1e-9)


def changed(pond, change, samples, hours, clock):
    """Heat [kWh] of one scenario, of the pond changed so by `simulate`, and of the pond as it is."""
    covered, air = covered_share(hours.index, *clock), air_of(hours, 10.0)
    fixed = {"set_point": 18.0, "covered": covered, "start_temp": 18.0}
    many = run_ensemble(pond, air, {name: np.array([value]) for name, value in samples.items()}, limit=20_000, **fixed)
    own, plain = (
        simulate(each, hours, air, heater=Heater(power=20_000), **fixed).heater.sum() / 1000
        for each in (change(pond), pond)
    )
    return many.heat_kwh[0], own, plain


def test_an_error_of_the_sky_is_added_to_its_long_wave(year):
    """A sampled formula counts only where the weather has no long wave of its own, an error everywhere."""
    hours = year.iloc[24 * 30 : 24 * 60]
    own = hours.assign(sky_long_wave=280.0)

    def heat(weather, **samples):
        drawn = {name: np.array([value]) for name, value in samples.items()}
        found = run_ensemble(GARDEN, air_of(weather, 10.0), drawn, set_point=18.0, limit=20_000, start_temp=18.0)
        return found.heat_kwh[0]

    brighter = heat(hours.assign(sky_long_wave=300.0), wall_factor=1.0)
    assert heat(own, sky_error=20.0) == pytest.approx(brighter, rel=1e-9)
    assert heat(own, sky_error=0.0) > brighter * 1.01
    assert heat(own, sky="clark_allen") == pytest.approx(heat(own, sky_error=0.0), rel=1e-12)


@pytest.mark.parametrize(
    "name, value, change",
    [
        ("wind_shelter", 0.8, lambda pond: replace(pond, wind_shelter=0.8)),
        ("sky_view", 0.4, lambda pond: replace(pond, sky_view=0.4)),
        ("u_value", 1.4, lambda pond: replace(pond, cover=replace(pond.cover, u_value=1.4))),
        ("gap_air_flow", 0.01, lambda pond: replace(pond, cover=replace(pond.cover, gap_air_flow=0.01))),
        ("cover_used", 0.0, lambda pond: replace(pond, cover=None)),
        (
            "wall_factor",
            1.4,
            lambda pond: replace(pond, walls=tuple(replace(w, u_value=1.4 * w.u_value) for w in pond.walls)),
        ),
        ("evaporation", "carrier", lambda pond: replace(pond, evaporation="carrier")),
        ("sky", "clark_allen", lambda pond: replace(pond, sky="clark_allen")),
    ],
)
def test_each_sample_is_the_pond_changed_so(name, value, change, year):
    got, own, plain = changed(CASES["sheet at night"][0], change, {name: value}, year.iloc[24 * 30 : 24 * 90], NIGHT)
    assert got == pytest.approx(own, rel=1e-9)
    assert abs(own / plain - 1) > 0.01  # the sample matters at all


def wider(factor):
    """A pond of so much more surface in the same sun, its leaks as wide: open water and cover lose in proportion."""

    def change(pond):
        lid = pond.cover and replace(pond.cover, gap_air_flow=factor * pond.cover.gap_air_flow)
        return replace(pond, surface_area=factor * pond.surface_area, shade=1 - (1 - pond.shade) / factor, cover=lid)

    return change


@pytest.mark.parametrize(
    "case, clock, samples, change",
    [
        ("open", NIGHT, {"surface_factor": 1.3}, wider(1.3)),
        ("film", ALWAYS, {"surface_factor": 1.3}, wider(1.3)),
        ("sheet day and night", ALWAYS, {"cover_factor": 1.3}, wider(1.3)),
        ("thin sheet, wide gap", ALWAYS, {"cover_factor": 0.85}, wider(0.85)),
        ("floating", ALWAYS, {"cover_factor": 1.3}, wider(1.3)),
        ("sheet over part of the water", NIGHT, {"surface_factor": 1.3, "cover_factor": 1.3}, wider(1.3)),
        (
            "sheet at night",
            NIGHT,
            {"stream_factor": 1.5},
            lambda pond: replace(
                pond,
                filter_air_flow=1.5 * pond.filter_air_flow,
                casing_u_value_area=1.5 * pond.casing_u_value_area,
                aeration_air_flow=1.5 * pond.aeration_air_flow,
                water_change=1.5 * pond.water_change,
            ),
        ),
        (
            "sheet day and night",
            ALWAYS,
            {"cover_light": 0.2},
            lambda pond: replace(pond, cover=replace(pond.cover, light=0.2)),
        ),
        ("walls that nobody described", NIGHT, {"construction": "bare"}, lambda pond: pond.built_as("bare")),
        ("sheet at night", NIGHT, {"sun_factor": 0.7}, lambda pond: replace(pond, shade=1 - 0.7 * (1 - pond.shade))),
    ],
)
def test_each_factor_is_the_pond_changed_so(case, clock, samples, change, year):
    got, own, plain = changed(CASES[case][0], change, samples, year.iloc[24 * 30 : 24 * 90], clock)
    assert got == pytest.approx(own, rel=1e-9)
    assert abs(own / plain - 1) > 0.02


def test_a_factor_leaves_the_other_terms_alone(year):
    """No cover on: its factor changes nothing; the cover always on: nothing of the open surface is left."""
    hours = year.iloc[: 24 * 20]
    pond, air = CASES["sheet at night"][0], air_of(hours, 10.0)
    for covered, name in ((0.0, "cover_factor"), (1.0, "surface_factor")):
        heat = run_ensemble(
            pond, air, {name: np.array([1.0, 2.0])}, set_point=18.0, limit=20_000, covered=covered
        ).heat_kwh
        assert heat[0] == heat[1] > 0


@pytest.mark.parametrize("by", [-1.5, 1.0])
@pytest.mark.parametrize("covered", [False, True])
def test_a_warmer_year_is_the_season_in_warmer_weather(by, covered, year):
    hours = year.iloc[24 * 40 : 24 * 100]
    pond = replace(GARDEN, cover=SHEET if covered else None)
    air = air_of(hours, 10.0)
    warm = replace(
        air.warmer(by), ground_temp=np.asarray(air.ground_temp) + by, mains_temp=np.asarray(air.mains_temp) + by
    )
    lies = 1.0 if covered else 0.0
    fixed = {"set_point": 18.0, "covered": lies, "start_temp": 18.0, "limit": 20_000}
    got = run_ensemble(pond, air, {"year_warmth": np.array([by, 0.0])}, **fixed).heat_kwh
    plain = {"wall_factor": np.array([1.0])}
    want, usual = (
        run_ensemble(pond, warm, plain, **fixed).heat_kwh[0],
        run_ensemble(pond, air, plain, **fixed).heat_kwh[0],
    )
    assert got[0] == pytest.approx(want, rel=5e-3) and got[1] == pytest.approx(usual, rel=1e-6)
    assert abs(want / usual - 1) > 0.05


def test_new_water_of_a_colder_year_never_comes_frozen(year):
    """Water of half a degree, in a year colder by 2 K, comes at 0 °C and not colder."""
    hours = year.iloc[24 * 100 : 24 * 110]
    pond, air = replace(GARDEN, water_change=2e-5), air_of(hours, 10.0, 8.0, 0.5)
    fixed = {"set_point": 18.0, "start_temp": 18.0, "limit": 30_000}
    cold = air.warmer(-2.0)
    got = run_ensemble(pond, air, {"year_warmth": np.array([-2.0])}, **fixed).heat_kwh[0]
    at_zero, warmer = (
        run_ensemble(
            pond, replace(cold, ground_temp=6.0, mains_temp=mains), {"wall_factor": np.ones(1)}, **fixed
        ).heat_kwh[0]
        for mains in (0.0, 1.5)
    )
    assert got == pytest.approx(at_zero, rel=3e-3)
    assert 2 * at_zero - warmer > 1.01 * at_zero  # what water of −1.5 °C would have taken


@pytest.mark.parametrize("name", [name for name, (pond, *_) in CASES.items() if pond.cover])
def test_open_and_covered_side_by_side_are_what_they_are_apart(name, year):
    """One run of both ponds is the run of each, but for rounding; also where only one of them is kept warm."""
    pond, set_point, limit, clock = CASES[name]
    hours = year.iloc[24 * 120 : 24 * 240]
    fixed = {
        "set_point": set_point,
        "limit": min(limit, 5000),
        "start_temp": set_point,
        "gain": 97.0,
        "covered": covered_share(hours.index, *clock),
    }
    samples = {
        "wind_shelter": np.array([0.3, 0.7, 0.5]),
        "evaporation": np.array(["vdi_2089", "ryan_harleman", "carrier"]),
        "year_warmth": np.array([-1.0, 0.0, 1.5]),
        "u_value": np.array([3.0, 2.5, 4.0]),
    }
    both = {name: np.concatenate([values, values]) for name, values in samples.items()} | {
        "cover_used": np.repeat([0, 1], 3)
    }
    together = run_ensemble(pond, air_of(hours, 10.0), both, **fixed)
    bare = {name: values for name, values in samples.items() if name != "u_value"}
    apart = (
        run_ensemble(replace(pond, cover=None), air_of(hours, 10.0), bare, **fixed),
        run_ensemble(pond, air_of(hours, 10.0), samples, **fixed),
    )
    for field in ("heat_kwh", "lowest_temp"):
        want = np.concatenate([getattr(each, field) for each in apart])
        assert getattr(together, field) == pytest.approx(want, rel=1e-9)
    assert (apart[1].heat_kwh < apart[0].heat_kwh).all()


def test_every_sampled_name_is_tried_above():
    one, more = (
        test.pytestmark[0].args[1]
        for test in (test_each_sample_is_the_pond_changed_so, test_each_factor_is_the_pond_changed_so)
    )
    tested = {row[0] for row in one} | {name for row in more for name in row[2]}
    assert tested | {"year_warmth", "sky_error"} == set(SAMPLED)


@pytest.mark.parametrize("name", CASES)
def test_factors_of_one_change_nothing(name, year):
    pond, set_point, limit, clock = CASES[name]
    hours = year.iloc[24 * 130 : 24 * 150]
    samples = {"wind_shelter": np.array([0.3, 0.7]), "evaporation": np.array(["vdi_2089", "ryan_harleman"])}
    plain, ones = (
        run_ensemble(
            pond,
            air_of(hours, 10.0),
            samples | more,
            set_point=set_point,
            limit=limit,
            gain=97.0,
            covered=0.0 if clock is None else covered_share(hours.index, *clock),
            start_temp=set_point,
            weights=np.ones((len(hours), 2)),
            first=500.0,
        )
        for more in ({}, {name: np.ones(2) for name in FACTORS})
    )
    assert plain.heat_kwh.min() > 50
    for field in ("heat_kwh", "weighted_kwh", "lowest_temp"):
        assert getattr(ones, field) == pytest.approx(getattr(plain, field), rel=1e-12)


@pytest.mark.parametrize("covered", [False, True])
def test_factors_of_one_are_the_season_of_the_sheet(covered):
    """The garden pond that comes with the library, a whole season."""
    garden = pond_sheet.read(PONDS / "garden_pond.toml")
    place = assessment.boundary_conditions(garden, assessment.weather_of(garden))
    season = assessment.run_season(garden, place, covered)
    pond = garden.pond if covered else replace(garden.pond, cover=None)
    runs = run_ensemble(
        pond,
        place.air,
        {name: np.ones(1) for name in FACTORS},
        set_point=place.set_point,
        limit=garden.heater.limit(place.hours["air_temp"].to_numpy()),
        covered=place.covered,
        gain=garden.pump_heat,
        counted=place.counted,
        start_temp=float(place.set_point[0]),
    )
    assert runs.heat_kwh[0] == pytest.approx(season.heat_kwh, rel=1e-9)


@pytest.mark.parametrize("clock", [None, NIGHT, ALWAYS], ids=["open", "covered at night", "covered"])
@pytest.mark.parametrize("name", [*FACTORS, "all"])
def test_a_factor_means_what_the_meter_learns_by_it(name, clock, year):
    """Within 0.5 % of what `meter.fitting.pond_fit` predicts with the same factor, over a winter month."""
    hours = year[year.index.month == 1]
    pond = replace(GARDEN, cover=None if clock is None else SHEET)
    covered = 0.0 if clock is None else covered_share(hours.index, *clock)
    air = air_of(hours, 10.0)
    learned = heat_terms.Conditions(pond, hours.index, air, 18.0, covered, 20_000, pump_heat=97.0)
    terms = heat_terms.linear_terms(learned, (SurfaceModel(pond.evaporation, 1.0, 1.0),))
    tried = np.ones((3, len(factors.FACTORS)))
    for column, own in enumerate(factors.FACTORS):
        if SAMPLE_NAMES[own] in (FACTORS if name == "all" else (name,)):
            tried[:, column] = (1.0, 0.6, 1.7) if name != "all" else (1.0, 0.6 + 0.1 * column, 1.7 - 0.1 * column)
    kwh = heat_terms.modelled_kwh(learned, terms, np.zeros(3, int), tried).sum(axis=0)
    samples = {
        SAMPLE_NAMES[own]: tried[:, column]
        for column, own in enumerate(factors.FACTORS)
        if SAMPLE_NAMES[own] in FACTORS
    }
    runs = run_ensemble(pond, air, samples, set_point=18.0, limit=20_000, covered=covered, gain=97.0, start_temp=18.0)
    assert runs.heat_kwh == pytest.approx(kwh, rel=5e-3)
    if (name, clock) not in {("cover_factor", None), ("surface_factor", ALWAYS)}:
        assert np.ptp(kwh) > 0.02 * kwh[0]  # the factor matters at all


def test_scenarios_in_any_order(year):
    """Each scenario keeps its own result, whatever stands beside it and however formulae are mixed."""
    hours = year.iloc[: 24 * 60]
    pond, air = CASES["sheet at night"][0], air_of(hours, 10.0)
    rng = np.random.default_rng(5)
    count = 12
    samples = {
        "evaporation": np.array(["penman_1956", "ryan_harleman", "vdi_2089"] * 4),
        "wind_shelter": rng.uniform(0.2, 1, count),
        "sky_view": rng.uniform(0, 1, count),
        "u_value": rng.uniform(1, 6, count),
        "gap_air_flow": rng.uniform(0, 0.01, count),
        "wall_factor": rng.uniform(0.5, 2, count),
    }
    fixed = {
        "set_point": 18.0,
        "limit": 2500,
        "covered": covered_share(hours.index, *NIGHT),
        "start_temp": 18.0,
        "weights": np.column_stack([np.ones(len(hours)), hours.index.hour < 7]),
    }
    whole = run_ensemble(pond, air, samples, **fixed)
    order = rng.permutation(count)
    shuffled = run_ensemble(pond, air, {k: v[order] for k, v in samples.items()}, **fixed)
    assert np.allclose(shuffled.heat_kwh, whole.heat_kwh[order], rtol=1e-9)
    assert np.allclose(shuffled.weighted_kwh, whole.weighted_kwh[order], rtol=1e-9)
    assert np.allclose(shuffled.lowest_temp, whole.lowest_temp[order], rtol=1e-9)
    for at in (0, 2, 7):
        alone = run_ensemble(pond, air, {k: v[at : at + 1] for k, v in samples.items()}, **fixed)
        assert alone.heat_kwh[0] == pytest.approx(whole.heat_kwh[at], rel=1e-6)
    assert np.allclose(whole.weighted_kwh[:, 0], whole.heat_kwh)
    assert len(set(whole.heat_kwh.round(3))) == count


def test_weights_turn_heat_into_what_a_heat_pump_takes(cold_to_hot):
    """Electricity of each hour over its heat, as weight, gives the season's electricity."""
    pond, air = GARDEN, air_of(cold_to_hot, 10.0)
    pump = Heater("heat pump", 6000, fade=0.4 / 15, lowest_air_temp=-5, backup=6000)
    outdoor = cold_to_hot.air_temp.to_numpy()
    frame = simulate(pond, cold_to_hot, air, set_point=18.0, heater=pump, start_temp=18.0)
    heat = np.where(frame.heater > 1, frame.heater, 1.0)
    weight = pump.taken(heat, np.full(len(cold_to_hot), 18.0), outdoor)[0] / heat
    many = run_ensemble(
        pond,
        air,
        {"wall_factor": np.ones(3)},
        set_point=18.0,
        limit=pump.limit(outdoor),
        start_temp=18.0,
        weights=weight[:, None],
    )
    assert many.weighted_kwh[:, 0] == pytest.approx([frame.electricity.sum() / 1000] * 3, rel=1e-6)
    assert many.heat_kwh[0] > 2 * many.weighted_kwh[0, 0]


def test_only_counted_hours_are_summed(year):
    hours = year.iloc[: 24 * 60]
    air, counted = air_of(hours, 10.0), np.arange(24 * 60) >= 24 * 30
    fixed = {"set_point": 18.0, "limit": 20_000, "start_temp": 18.0}
    whole, first = (
        run_ensemble(GARDEN, air, {"wall_factor": np.ones(1)}, **fixed, counted=c) for c in (None, ~counted)
    )
    late = run_ensemble(GARDEN, air, {"wall_factor": np.ones(1)}, **fixed, counted=counted)
    assert late.heat_kwh[0] + first.heat_kwh[0] == pytest.approx(whole.heat_kwh[0])
    assert late.heat_kwh[0] > first.heat_kwh[0] > 0  # October and September


def test_what_cannot_be_sampled_is_refused(year):
    hours = year.iloc[:48]
    air = air_of(hours, 10.0)
    with pytest.raises(OutOfRange, match="“wind” cannot be sampled. Known: evaporation, wind_shelter"):
        run_ensemble(GARDEN, air, {"wind": np.ones(2)}, set_point=18.0, limit=1000)
    for samples in ({}, {"sky_view": np.ones(2), "wall_factor": np.ones(3)}):
        with pytest.raises(OutOfRange, match="differ in length, or there are none"):
            run_ensemble(GARDEN, air, samples, set_point=18.0, limit=1000)


def test_progress_is_told(year):
    told = []
    run_ensemble(
        GARDEN,
        air_of(year.iloc[: 24 * 60], 10.0),
        {"wall_factor": np.ones(40)},
        set_point=18.0,
        limit=1000,
        progress=told.append,
    )
    assert told == sorted(told) and told[0] > 0 and told[-1] == 1
