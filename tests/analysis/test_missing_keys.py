"""What a sheet leaves out widens the likely range, or the answer itself says what isn't counted.

The shipped sheets lose one key or one table at a time. The likely range of what is left must hold the result of the
whole sheet, unless the sheet is refused or its answer names the part that is left out.
"""

import copy
import functools
import tomllib

import pytest

from pondheat.analysis import assessment
from pondheat.core.places import PONDS
from pondheat.sheet.construction import CONSTRUCTIONS
from pondheat.sheet.pond_sheet import SheetError, from_text, text_of
from pondheat.sheet.unstated import LEFT_OUT, UNSTATED, missing_text
from pondheat.text.pond_answer import pond_answer

SCENARIOS = 100
# These say what the question is, not what the pond is: without them another question is answered, and the answer's
# first lines name it (dates, temperature held, no cover, no money).
OF_THE_QUESTION = {"season", "season.start", "season.end", "pond.set_point", "cover", "tariff", "timezone", "heater"}
SIX_WEEKS = {"start": "2025-12-01", "end": "2026-01-11"}
SHIPPED = ("garden_pond", "growing_on_tank")


@functools.cache
def document(name):
    """A shipped sheet with a season of six cold weeks."""
    found = tomllib.loads((PONDS / f"{name}.toml").read_text(encoding="utf-8"))
    found["season"], found["pond"]["start_temp"] = dict(SIX_WEEKS), found["pond"]["set_point"]
    return found


@functools.cache
def whole(name):
    """The answers of the whole sheet [kWh]: open, covered, saved."""
    found = assessment.assess(from_text(text_of(document(name)), PONDS), scenarios=0)
    return {"open_kwh": found.open.input_kwh, "covered_kwh": found.covered.input_kwh, "saving_kwh": found.saving_kwh}


def paths(name):
    """Every table and every key of a sheet."""
    for key, value in document(name).items():
        yield key
        if isinstance(value, dict):
            yield from (f"{key}.{one}" for one in value)
        elif isinstance(value, list) and isinstance(value[0], dict):
            yield from (f"{key}.{one}" for one in value[0])


def without(name, path):
    """The sheet without a key or a table."""
    left, (table, _, key) = copy.deepcopy(document(name)), path.partition(".")
    if not key:
        del left[table]
    else:
        for one in left[table] if isinstance(left[table], list) else [left[table]]:
            del one[key]
    return text_of(left)


CASES = [(name, path) for name in SHIPPED for path in paths(name) if path not in OF_THE_QUESTION]
# Of the usual run: what leaving it out makes least certain, and a key or two of each kind of table.
USUAL = ("weather", "wall", "base.layers", "cover.u_value", "cover.gap", "place", "filter", "pump.power", "water")


def usual(name, path):
    """Whether a case is tried every time; the second sheet leaves out the same keys."""
    return name == SHIPPED[0] and (path in USUAL or path in UNSTATED)


@pytest.mark.parametrize(
    "name, path",
    [pytest.param(*case, marks=() if usual(*case) else pytest.mark.long) for case in CASES],
    ids=lambda value: str(value),
)
def test_a_missing_key_widens_the_range_or_is_named_in_the_answer(name, path):
    try:
        sheet = from_text(without(name, path), PONDS)
    except SheetError:
        return  # refused: no claim is made
    said = missing_text(sheet.unstated)
    table = path.partition(".")[0]
    named = [words for part, words in LEFT_OUT.items() if part == table and part in sheet.unstated]
    if named or path in ("cover.on", "cover.off"):
        assert all(words in said for words in named) and said
        return
    found = assessment.assess(sheet, scenarios=SCENARIOS)
    for key, truth in whole(name).items():
        likely = getattr(found.uncertainty, key)
        assert likely.low <= truth <= likely.high, (key, truth, likely)
    if path in UNSTATED:
        assert UNSTATED[path] in said and said in pond_answer(found).sure


def test_cover_hours_that_are_missing_are_said():
    left = copy.deepcopy(document("garden_pond"))
    del left["cover"]["on"], left["cover"]["off"]
    assert "day and night" in missing_text(from_text(text_of(left), PONDS).unstated)


@pytest.mark.parametrize("construction", CONSTRUCTIONS)
def test_the_range_of_a_pond_without_walls_allows_for_every_construction(construction):
    """Five ponds that the same short sheet may describe."""
    sheet, likely = _without_walls(), _likely_without_walls()
    built = assessment.replace(sheet, pond=sheet.pond.built_as(construction))
    truth = assessment.assess(built, scenarios=0).open.input_kwh
    assert likely.low <= truth <= likely.high


@functools.cache
def _without_walls():
    left = copy.deepcopy(document("garden_pond"))
    del left["wall"], left["base"]
    left["heater"]["power"] = "20 kW"  # so that no pond is short of heat, which would hide what its walls lose
    return from_text(text_of(left), PONDS)


@functools.cache
def _likely_without_walls():
    return assessment.assess(_without_walls()).uncertainty.open_kwh  # as many scenarios as a keeper gets


def test_a_construction_that_is_given_narrows_the_range():
    left = copy.deepcopy(document("garden_pond"))
    del left["wall"], left["base"]
    left["heater"]["power"] = "20 kW"

    def likely(construction):
        left["pond"]["construction"] = construction
        sheet = from_text(text_of(left), PONDS)
        assert {CONSTRUCTIONS[name].kind for name in sheet.pond.constructions} == {construction}
        return assessment.assess(sheet, scenarios=SCENARIOS).uncertainty.open_kwh

    sunk, raised, either = likely("sunk"), likely("raised"), _likely_without_walls()
    assert sunk.high - sunk.low < either.high - either.low
    assert raised.high > sunk.high


def indoors(**base):
    left = copy.deepcopy(document("garden_pond"))
    del left["wall"], left["base"]
    left["place"] = {"surroundings": "room", "room_temp": "12 °C", "room_humidity": "80 %"}
    return from_text(text_of(left | ({"base": base} if base else {})), PONDS)


def test_a_tank_in_a_room_stands_in_the_room_s_air():
    """It isn't taken as sunk in the ground; it may be, as in a greenhouse, and then its sheet says how deep."""
    sheet = indoors()
    sides, floor = sheet.pond.walls
    assert (sides.against, floor.against) == ("air", "ground")
    assert set(sheet.pond.constructions) == set(CONSTRUCTIONS)
    assert any("we assume the pond is above the ground" in note for note in sheet.notes)
    assert indoors(depth="1.2 m").pond.walls[0].against == "ground"


def test_guesses_widen_the_range_as_missing_keys_do():
    sure = copy.deepcopy(document("garden_pond"))
    guessed = {**copy.deepcopy(sure), "assumed": ["cover.u_value", "cover.gap", "place.wind_shelter", "place.sky_view"]}
    wide, narrow = (
        assessment.assess(from_text(text_of(one), PONDS), scenarios=SCENARIOS).uncertainty.covered_kwh
        for one in (guessed, sure)
    )
    assert wide.low < narrow.low and wide.high > narrow.high
