"""The one answer: its shape, its rounding, the order of its lines, and that its numbers are those of the assessment."""

import re
from dataclasses import replace

import pytest

from pondheat.analysis import assessment
from pondheat.analysis.results import LikelyRange
from pondheat.analysis.scenarios import what_if
from pondheat.core import units
from pondheat.core.places import PONDS
from pondheat.sheet import pond_sheet
from pondheat.text import summary
from pondheat.text.amounts import keeper_kwh, keeper_money, rounded_share, rounding_step, share_of
from pondheat.text.best_choice import NOTHING_TO_BUY, UNHEATED, best_choice, shortfalls
from pondheat.text.pond_answer import BEST, CHANGES, FISH, HEATER, MOST_LINES, pond_answer, span_text

GARDEN = (PONDS / "garden_pond.toml").read_text(encoding="utf-8")
LONGEST = 220  # characters: three printed lines of some 72
COLD_WEEKS = {"season": {"start": "2026-01-01", "end": "2026-01-21"}}
CASES = {
    "garden": {},
    "no tariff": {"tariff": None},
    "no cover": {"cover": None},
    "too weak": {"heater.power": "1 kW"},
    "too weak a heat pump, too warm in May": {
        "heater": {"kind": "heat pump", "power": "2 kW"},
        "cover.on": None,
        "cover.off": None,
    },
    "no heat": {"pond.set_point": None, "heater": None},
    "no heat, no pump": {"pond.set_point": None, "heater": None, "pump": None},
    "shallow, no heat": {
        "pond.set_point": None,
        "heater": None,
        "cover": None,
        "pond.volume": "0.6 m³",
        "pump": None,
        "filter": None,
    },
    "idle": {"pond.set_point": "2 °C", "season": {"start": "2025-06-01", "end": "2025-07-31"}},
    "by date": {"pond.set_point": {"1 Sep": "18 °C", "1 Dec": "12 °C", "1 Mar": "16 °C"}, "heater.power": "2 kW"},
    "bare": {name: None for name in ("wall", "base", "place", "filter", "pump", "aeration", "water")},
    "a few weeks": COLD_WEEKS,
}


def sheet(**changes) -> pond_sheet.Sheet:
    return pond_sheet.from_text(pond_sheet.with_values(GARDEN, changes), PONDS)


@pytest.fixture(scope="module")
def made():
    """A function that gives assessment, choices and answer of a case, worked out once."""
    known = {}

    def give(name):
        if name not in known:
            pond = sheet(**CASES[name])
            found = assessment.assess(pond, scenarios=12)
            table = what_if.what_if(pond, found.weather, (*NOTHING_TO_BUY, UNHEATED, "half_heater"))
            known[name] = found, table, pond_answer(found, table)
        return known[name]

    return give


def value_of(text: str) -> float:
    return float(re.sub(r"[^\d.]", "", text))


RARE = (
    "a few weeks",
    "too weak a heat pump, too warm in May",
    "no heat, no pump",
    "idle",
    "by date",
)  # in the long command


@pytest.mark.parametrize("name", [pytest.param(name, marks=pytest.mark.long if name in RARE else ()) for name in CASES])
def test_it_has_a_shape(name, made):
    _, _, answer = made(name)
    assert len(answer.lines) <= MOST_LINES
    parts = [str(answer.headline), str(answer.beside), *(f"{title}: {text}" for title, text in answer.lines)]
    for part in (*parts, *answer.warnings, *answer.sure[:1]):
        assert part and len(part) <= LONGEST, (len(part), part)
    assert len(str(answer.headline)) <= 90
    order = [title for title, _ in answer.lines]
    assert order == sorted(order, key=[FISH, BEST, HEATER, CHANGES].index)
    assert "\u202f" not in " ".join(parts)


@pytest.mark.parametrize("name", ["garden", "no tariff", "no cover"])
def test_the_headline_s_numbers_are_those_of_the_assessment(name, made):
    found, _, answer = made(name)
    unsure = found.uncertainty
    value, likely = {
        "garden": (found.saving and found.saving.total, unsure.saving_money),
        "no tariff": (found.saving_kwh, unsure.saving_kwh),
        "no cover": (found.open.money, unsure.open_money),
    }[name]
    step = rounding_step(value, likely)
    for key, exact in (("amount", value), ("low", likely.low), ("high", likely.high)):
        assert abs(value_of(answer.headline.numbers[key]) - exact) <= step / 2 + 1e-6


def test_what_endangers_fish_comes_first(made):
    found, _, answer = made("shallow, no heat")
    assert found.as_described.frozen_share > 0.5
    assert answer.lines[0][0] == FISH and "Warning" in answer.lines[0][1]
    _, _, warm = made("too weak a heat pump, too warm in May")
    assert warm.lines[0][0] == FISH and "too warm" in warm.lines[0][1]


def test_the_best_choice_keeps_the_fish_as_well_and_costs_nothing(made):
    _, table, answer = made("garden")
    best, base = best_choice(table), table.rows[0]
    assert best.key == "cover_cold_months" and best.as_warm and best.money < base.money
    always = next(row for row in table.rows if row.key == "cover_always")
    assert always.money < best.money and not always.as_warm, "cheaper, but too warm in May"
    text = dict(answer.lines)[BEST]
    assert "day and night from November to March" in text
    assert keeper_money(best.money, units.GBP, 10) in text and keeper_money(base.money, units.GBP, 10) in text
    assert pond_answer(made("garden")[0]).lines[0][0] == HEATER, "without choices none is named"


def test_the_heater_in_plain_words(made):
    assert "it holds [18 °C]" in dict(made("garden")[2].lines)[HEATER]
    found, _, answer = made("too weak")
    text = dict(answer.lines)[HEATER]
    assert f"can't keep up for {units.digits(found.covered.short_hours)} hours" in text
    assert f"{found.covered.lowest_temp:.1f} °C" in text and "backup" not in text
    assert "backup" in " ".join(made("too weak a heat pump, too warm in May")[2].rest + answer.rest)


def test_a_choice_that_fails_the_fish_says_so(made):
    _, table, _ = made("garden")
    failing = shortfalls(table)
    weak = next(row for row in table.rows if row.key == "half_heater")
    assert failing["half_heater"] == f"falls to [{weak.lowest_temp:.1f} °C]" and "cover_cold_months" not in failing
    assert failing["cover_always"].startswith("reaches ") and "as_it_is" not in failing


def test_no_heat_and_the_fish_side_by_side(made):
    _, table, answer = made("garden")
    cost, fish = answer.unheated
    assert keeper_money(table.unheated.money, units.GBP, 10) in cost and "for the pump" in cost
    assert f"{table.unheated.lowest_temp:.1f} °C" in fish and "fish vet" in fish
    assert made("no heat")[2].unheated is None, "the answer itself says it"
    assert "Carp do not eat" in made("no heat")[2].lines[0][1]


def test_what_the_sheet_leaves_out_is_said_with_how_sure(made):
    assert "its walls" in made("bare")[2].sure[1] and "a pump" in made("bare")[2].sure[1]
    assert len(made("garden")[2].sure) == 1


def test_the_shell_prints_it_first(made):
    found, table, answer = made("garden")
    lines = summary.season_text(found, table=table).split("\n")
    assert lines[3] == f"{answer.headline}."
    said = " ".join(lines)
    assert said.index("Best next step") < said.index("How sure") < said.index("In detail")


def test_a_span_is_named(made):
    assert span_text(made("garden")[0]) == "a winter"
    assert span_text(made("a few weeks")[0]) == "in these 21 days"
    assert span_text(made("idle")[0]) == "in these 61 days"


@pytest.mark.parametrize(
    "value, likely, step",
    [
        (1326, LikelyRange(1130, 1320, 1530), 10),
        (2118, LikelyRange(1296, 1960, 2856), 100),
        (50, LikelyRange(-400, 50, 600), 1),
        (533, None, 10),
        (2285, None, 10),
        (92, None, 1),
        (469_000, LikelyRange(499_473, 469_000, 441_901), 1000),  # of one input alone: less sun costs more
    ],
)
def test_a_range_decides_the_rounding(value, likely, step):
    assert rounding_step(value, likely) == pytest.approx(step)


def test_amounts_as_a_keeper_says_them():
    assert keeper_money(1326, units.GBP, 10) == "£1,330" and keeper_money(2285, units.GBP, 10) == "£2,290"
    assert keeper_money(6.72, units.GBP, 0.1) == "£6.70" and keeper_money(-18.4, units.GBP, 1) == "−£18"
    assert keeper_kwh(10344, 100) == "10,300 kWh" and keeper_kwh(3.14, 0.1) == "3.1 kWh"
    assert (rounded_share(0.43, 0.2), rounded_share(0.43, 0.05), rounded_share(0.43)) == (45, 43, 43)


def test_what_a_meter_taught_decides_whether_the_cover_saves(made):
    found, *_ = made("garden")
    against = LikelyRange(-60.0, -40.0, -20.0)
    learned = replace(found, uncertainty=replace(found.uncertainty, saving_money=against, learned=True))
    assert found.saving.total > 0
    answer = pond_answer(learned)
    beside = str(answer.beside)
    assert beside.startswith("This comes from your pond's own meter: the cover still saves ") and "; That" not in beside
    assert ". The rest comes from the sheet: with its cover the pond costs " in beside
    headline = str(answer.headline)
    assert headline.startswith("Going by its own meter the cover saves nothing: it costs about £40 more")


def test_what_is_beside_a_learned_headline_is_the_meter_s_too(made):
    """Not the sheet's kWh beside the meter's money, and the sheet's amounts say that they are."""
    found, *_ = made("garden")
    unsure = found.uncertainty
    twice = {
        name: LikelyRange(*(2 * getattr(vars(unsure)[name], end) for end in ("low", "middle", "high")))
        for name in ("open_kwh", "covered_kwh", "saving_kwh", "open_money", "covered_money", "saving_money")
    }
    learned = replace(found, uncertainty=replace(unsure, learned=True, payback=LikelyRange(1.2, 1.4, 1.6), **twice))
    beside = pond_answer(learned).beside
    likely = twice["saving_kwh"]
    energy = keeper_kwh(likely.middle, rounding_step(likely.middle, likely))
    assert str(beside).startswith(f"This comes from your pond's own meter: the saving is {energy}, about ")
    assert beside.numbers["share"] == f"{share_of(likely.middle, twice['open_kwh'].middle, likely)} %"
    assert "in the second winter" in str(beside)
    assert str(beside).endswith(
        f"The rest comes from the sheet: with its cover the pond costs about {beside.numbers['cost']}, "
        f"for {keeper_kwh(found.covered.input_kwh, 10)}."
    )


def test_kwh_beside_a_learned_cost_are_the_meter_s_first(made):
    found, *_ = made("no cover")
    energy, money = LikelyRange(9_000.0, 10_000.0, 11_500.0), LikelyRange(2_100.0, 2_400.0, 2_700.0)
    unsure = replace(found.uncertainty, learned=True, open_kwh=energy, open_money=money)
    answer = pond_answer(replace(found, uncertainty=unsure))
    assert "£2,400" in str(answer.headline)
    by_sheet = keeper_kwh(found.open.input_kwh, rounding_step(found.open.input_kwh))
    assert str(answer.beside).startswith(
        f"This comes from your pond's own meter: it takes 10,000 kWh. Going by the sheet, it takes {by_sheet}."
    )


def test_a_share_is_rounded_alike_in_the_answer_and_its_details(made):
    """Not 60 % beside the headline and 58 % below it."""
    for name in ("garden", "no tariff"):
        found, _, answer = made(name)
        wide = LikelyRange(0.2 * found.saving_kwh, found.saving_kwh, 1.5 * found.saving_kwh)
        for likely in (wide, LikelyRange(found.saving_kwh - 1, found.saving_kwh, found.saving_kwh + 1)):
            told = pond_answer(replace(found, uncertainty=replace(found.uncertainty, saving_kwh=likely)))
            assert f"over the season ({told.beside.numbers['share']})" in " ".join(told.rest)


def answer_of(**changes):
    return pond_answer(assessment.assess(sheet(**(COLD_WEEKS | changes)), scenarios=0))


def test_a_saving_over_a_much_colder_open_pond_says_so_beside_it(made):
    found, _, answer = made("too weak")
    said = "Without its cover, the heater can't keep up for"
    assert found.open.short_hours > 0.05 * len(found.open.hours)
    assert any(said in text and "would save more" in text for text in answer.warnings)
    assert said not in " ".join(answer.rest), "once is enough"
    found, _, answer = made("garden")
    assert 0 < found.open.short_hours < 0.05 * len(found.open.hours)
    assert said in " ".join(answer.rest) and said not in " ".join(answer.warnings)


def test_a_heater_that_gives_nothing_in_the_cold_is_not_idle():
    stopped = answer_of(heater={"kind": "heat pump", "power": "6 kW", "lowest_air_temp": "20 °C"})
    assert "the heater can't keep up with it or without it" in str(stopped.headline)
    assert "give it a backup" in dict(stopped.lines)[HEATER]
    weak = {"kind": "heat pump", "power": "2 kW", "lowest_air_temp": "20 °C", "backup": "0.1 kW"}
    assert "give it a stronger backup" in dict(answer_of(heater=weak).lines)[HEATER]


def test_a_set_point_beyond_the_keeper_s_own_limits_is_named():
    hot = dict(answer_of(**{"pond.set_point": "29 °C"}).lines)[FISH]
    assert "The set point itself, [29 °C], is above that." in hot and "Lift the cover" not in hot
    cold = dict(answer_of(**{"pond.set_point": "9 °C"}).lines)[FISH]
    assert "The set point itself, [9 °C], is below that." in cold
    assert "set point itself" not in str(answer_of(**{"heater.power": "1 kW"}).lines)


def test_a_saving_of_heat_that_costs_money_is_still_one_of_heat():
    paid = answer_of(tariff={"rate": "-5 p/kWh"})
    assert "it costs about" in str(paid.headline) and str(paid.beside).startswith("The cover still saves")


def test_a_change_that_leaves_out_the_headline_says_what_it_is_counted_from(made):
    found, *_ = made("garden")
    saved, first = found.saving.total, found.uncertainty.measure_first[0]

    def changes_line(low, middle, high):
        effect = replace(first, of="the cover saves", in_money=True, low=low, middle=middle, high=high)
        unsure = replace(found.uncertainty, measure_first=(effect,))
        return dict(pond_answer(replace(found, uncertainty=unsure)).lines)[CHANGES]

    assert "counted from" not in changes_line(saved - 50, saved, saved + 50)
    assert re.search(
        r"counted from £[\d,]+ in the middle of the runs\.$", changes_line(saved + 20, saved + 60, saved + 90)
    )


def test_the_payback_s_range_is_beside_the_payback():
    told = summary.season_text(assessment.assess(sheet(**{"cover.price": "£4000"}), scenarios=12))
    assert re.search(r"such seasons \([^)]*\), likely [\d.]+\s+to\s+[\d.]+;", " ".join(told.split()))
