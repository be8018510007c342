"""One pond by every evaporation formula: each is the season of that sheet, and the words fit the numbers."""

import pytest

from pondheat.analysis import assessment, formula_spread
from pondheat.analysis.uncertain_inputs import FORMULAS, NEAR_SURFACE
from pondheat.heat import surface
from pondheat.sheet import pond_sheet
from pondheat.show import ponds


@pytest.fixture(scope="module")
def found():
    told = []
    made = formula_spread.seasons_by_formula(ponds.invented(), progress=told.append)
    assert told == sorted(told) and told[-1] == 1
    return made


def test_seasons_are_those_of_the_edited_sheet(found):
    by_name = {one.formula: one for one in found if one.wind == 1}
    assert set(by_name) == set(surface.EVAPORATION) == set(formula_spread.FORMULA_INFO)
    for name in ("carrier", "ryan_harleman"):
        text = pond_sheet.with_values(ponds.invented_text(), {"formulas.evaporation": name})
        wanted = assessment.assess(pond_sheet.from_text(text), scenarios=0)
        assert by_name[name].open_kwh == pytest.approx(wanted.open.heat_kwh)
        assert by_name[name].covered_money == pytest.approx(wanted.covered.money)
        assert by_name[name].short_hours == wanted.open.short_hours


def test_lower_wind_is_a_more_sheltered_pond(found):
    near = [one for one in found if one.wind != 1]
    assert {one.formula: one.wind for one in near} == NEAR_SURFACE and found[-len(near) :] == tuple(near)
    text = pond_sheet.with_values(
        ponds.invented_text(), {"formulas.evaporation": "smith_lof_jones", "place.wind_shelter": 0.5 * 0.4}
    )
    assert near[0].open_kwh == pytest.approx(assessment.assess(pond_sheet.from_text(text), scenarios=0).open.heat_kwh)


def test_least_heat_first_with_indoor_formulae_at_the_ends(found):
    ten = [one for one in found if one.wind == 1]
    heat = [one.open_kwh for one in ten]
    assert heat == sorted(heat) and heat[-1] > 3 * heat[0]
    outdoors = [formula_spread.FORMULA_INFO[one.formula].outdoors for one in ten]
    assert outdoors == [False] * 2 + [True] * 6 + [False] * 2
    assert formula_spread.FORMULA_INFO[surface.DEFAULT_EVAPORATION].outdoors


def test_formulae_of_the_likely_ranges():
    """Page 17: eight formulae, ours in six runs of twenty."""
    taken = [name for name in surface.EVAPORATION if formula_spread.in_uncertainty(name)]
    assert len(taken) == 8 and FORMULAS.count("ryan_harleman") == 6 and len(FORMULAS) == 20


def test_each_formula_takes_the_wind_at_its_own_height():
    flux = formula_spread.evaporation_by_formula(18.0, 8.0, 0.8, 2.0)
    assert list(flux.values()) == sorted(flux.values())
    assert flux["ryan_harleman"] == pytest.approx(surface.evaporation(18.0, 8.0, 0.8, 2.0))
    high = surface.wind_at_height(2.0, 2.0, 7.0)
    assert flux["brady_graves_geyer"] == pytest.approx(surface.evaporation(18.0, 8.0, 0.8, high, "brady_graves_geyer"))
    assert flux["brady_graves_geyer"] > surface.evaporation(18.0, 8.0, 0.8, 2.0, "brady_graves_geyer")
