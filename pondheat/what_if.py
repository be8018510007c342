"""What if: one pond, one weather year, the keeper's choices side by side in one table.

`CHOICES` lists them. Each is the sheet with something changed and a whole season of its own, reckoned by `study`.
"""

from __future__ import annotations

import datetime as dt
import textwrap
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace

import numpy as np

from pondheat import study, units
from pondheat.fish import cautions
from pondheat.fish.temperature import WINTERING_DEPTH
from pondheat.heat.balance import Wall
from pondheat.heat.covers import Cover
from pondheat.heat.walls import MATERIALS
from pondheat.ranges import choose
from pondheat.season import schedule, weather
from pondheat.season.heaters import Heater
from pondheat.season.weather import Weather
from pondheat.sheet import Sheet
from pondheat.sources import Constant
from pondheat.summary import WIDTH, wrapped

LID_U_VALUE = Constant(0.7, "W/m**2/K", "practice", "50 mm of EPS between the surface resistances of ISO 6946 gives "
                                                    "0.65; joints make it 0.7 (judgement)")
ADDED_INSULATION = Constant(0.05, "m", "practice", "a usual board of EPS (judgement)")
NIGHT = (18 * 60, 8 * 60)  # minutes of the clock, where a sheet names no hours: after the sun, before work (judgement)
COLD_MONTHS = (((11, 1), (3, 31)), ((5, 1), (9, 30)))  # north of the equator, south of it
AS_IT_IS = "as_it_is"


@dataclass(frozen=True)
class Choice:
    """A choice in words; `change` gives the changed sheet, or why the choice makes no sense for that sheet.

    always_when_cold: the cover lies day and night in the cold months, and as the sheet says in the others.
    """

    words: str
    change: Callable[[Sheet], Sheet | str]
    always_when_cold: bool = False


@dataclass(frozen=True)
class Row:
    """One choice over one season: heat and what is taken for it and the pump [kWh], money, difference to the sheet as
    it is [money], lowest water temperature [degC], hours in which the heater is short, hours with ice on the water.

    as_warm: the same temperature is asked as in the sheet, and held in no fewer hours.
    """

    key: str
    words: str
    heat_kwh: float
    electricity_kwh: float
    gas_kwh: float
    money: float | None
    difference: float | None
    lowest_temp: float
    short_hours: int
    ice_hours: int
    as_warm: bool
    notes: tuple[str, ...] = ()

    @property
    def taken_kwh(self) -> float:
        """Electricity and gas [kWh]."""
        return self.electricity_kwh + self.gas_kwh


@dataclass(frozen=True)
class Table:
    """All choices for one sheet, the sheet as it is first; `left_out`: a choice's words and why it is missing."""

    name: str
    currency: units.Currency
    first: dt.date
    last: dt.date
    weather: str
    mean_depth: float
    rows: tuple[Row, ...]
    left_out: tuple[tuple[str, str], ...]

    @property
    def unheated(self) -> Row | None:
        """The first row that takes no heat."""
        return next((row for row in self.rows if row.heat_kwh == 0), None)


# --- the choices: each a sheet with something changed, or a reason against it -----------------------------------------

def _is_heated(sheet: Sheet) -> bool:
    return sheet.heater.kind != "none" and any(temp is not None for _, temp in sheet.set_point)


def _no_heat(sheet: Sheet) -> Sheet | str:
    return replace(sheet, set_point=()) if _is_heated(sheet) else "the sheet heats nothing as it is"


def _held_at(temp: float) -> Callable[[Sheet], Sheet | str]:
    def change(sheet: Sheet) -> Sheet | str:
        if sheet.heater.kind == "none":
            return "the sheet has no heater"
        if {held for _, held in sheet.set_point} == {temp}:
            return "the sheet asks for that as it is"
        return replace(sheet, set_point=(((1, 1), temp),))
    return change


def _never_covered(sheet: Sheet) -> Sheet | str:
    return replace(sheet, pond=replace(sheet.pond, cover=None)) if sheet.pond.cover else "the sheet has no cover"


def _with_nights(sheet: Sheet) -> Sheet:
    """The sheet with its cover's own hours; nights where those are day and night or there is no cover."""
    plan = sheet.cover_plan
    if plan.on is not None and plan.on != plan.off:
        return sheet
    return replace(sheet, cover_plan=replace(plan, on=NIGHT[0], off=NIGHT[1]))


def _covered_at_night(sheet: Sheet) -> Sheet | str:
    return _with_nights(sheet) if sheet.pond.cover else "the sheet has no cover"


def _covered_when_cold(sheet: Sheet) -> Sheet | str:
    return sheet if sheet.pond.cover else "the sheet has no cover"


def _insulated_lid(sheet: Sheet) -> Sheet | str:
    old = sheet.pond.cover or Cover()
    if old.kind == "insulated lid" and old.u_value <= LID_U_VALUE.value:
        return "the sheet has a lid as good or better"
    lid = replace(old, kind="insulated lid", u_value=LID_U_VALUE.value, light=0.0)
    return replace(_with_nights(sheet), pond=replace(sheet.pond, cover=lid))


def _insulated_walls(sheet: Sheet) -> Sheet | str:
    resistance = ADDED_INSULATION.value / MATERIALS["EPS"].value
    if not sheet.pond.walls:
        return "the sheet has no walls"
    if not any(wall.against == "air" for wall in sheet.pond.walls):
        return "no wall stands in the air, where boards could be put on it"

    def better(wall: Wall) -> Wall:
        return replace(wall, u_value=wall.u_value / (1 + wall.u_value * resistance)) if wall.against == "air" else wall

    return replace(sheet, pond=replace(sheet.pond, walls=tuple(better(wall) for wall in sheet.pond.walls)))


def _heat_pump(sheet: Sheet) -> Sheet | str:
    if not _is_heated(sheet):
        return "the sheet heats nothing"
    if sheet.heater.kind == "heat pump":
        return "the sheet has one already"
    return replace(sheet, heater=Heater("heat pump", sheet.heater.power))


def _half_as_strong(sheet: Sheet) -> Sheet | str:
    if not _is_heated(sheet):
        return "the sheet heats nothing"
    heater = sheet.heater
    return replace(sheet, heater=replace(heater, power=heater.power / 2, backup=heater.backup / 2))


CHOICES: dict[str, Choice] = {
    "no_heat": Choice("no heat at all", _no_heat),
    "floor_4": Choice("a floor: held at 4 °C", _held_at(4.0)),
    "hold_15": Choice("held at 15 °C", _held_at(15.0)),
    "hold_18": Choice("held at 18 °C", _held_at(18.0)),
    "hold_22": Choice("held at 22 °C", _held_at(22.0)),
    "cover_never": Choice("never covered", _never_covered),
    "cover_nights": Choice("covered at night", _covered_at_night),
    "cover_cold_months": Choice("always covered in cold months", _covered_when_cold, always_when_cold=True),
    "insulated_lid": Choice("an insulated lid at night", _insulated_lid),
    "insulated_walls": Choice("50 mm more insulation on walls", _insulated_walls),
    "heat_pump": Choice("a heat pump instead", _heat_pump),
    "half_heater": Choice("a heater half as strong", _half_as_strong),
}


# --- the table --------------------------------------------------------------------------------------------------------

def what_if(sheet: Sheet, record: Weather | None = None, choices: Iterable[str] | None = None,
            progress: Callable[[float], None] | None = None) -> Table:
    """Compare choices for one pond in the same weather, each over its whole season.

    record: weather already read; otherwise the sheet's own source is. choices: keys of CHOICES, all where None; the
    sheet as it is always stands first. progress: called with the share done, 0–1. Raises OutOfRange for a key that is
    not known, else what `study.setting` and `study.weather_of` raise.
    """
    keys = [choices] if isinstance(choices, str) else list(CHOICES if choices is None else dict.fromkeys(choices))
    for key in keys:
        choose("choice", key, CHOICES)
    record = record or study.weather_of(sheet)
    place = study.setting(sheet, record)
    base = _run(sheet, place)
    rows, left_out = [_row(AS_IT_IS, "the sheet as it is", sheet, sheet, base, base)], []
    for done, key in enumerate(keys, 1):
        if progress is not None:
            progress(done / (len(keys) + 1))
        choice = CHOICES[key]
        changed = choice.change(sheet)
        if isinstance(changed, str):
            left_out.append((choice.words, changed))
            continue
        as_before = changed.set_point == sheet.set_point and changed.cover_plan == sheet.cover_plan
        laid = place if as_before else study.setting(changed, record)
        if choice.always_when_cold:
            laid = _always_when_cold(laid, sheet.latitude if sheet.latitude is not None else record.latitude)
            if np.array_equal(laid.covered, place.covered):
                left_out.append((choice.words, "this changes nothing in the sheet's season"))
                continue
        season = base if changed is sheet and laid is place else _run(changed, laid)
        rows.append(_row(key, choice.words, sheet, changed, season, base))
    if progress is not None:
        progress(1.0)
    index = base.hours.index
    return Table(sheet.name, sheet.currency, index[0].date(), index[-1].date(), weather.summary(record),
                 sheet.pond.volume / sheet.pond.surface_area, tuple(rows), tuple(left_out))


def _run(sheet: Sheet, place: study.Setting) -> study.Season:
    return study.run_season(sheet, place, covered=sheet.pond.cover is not None)


def _always_when_cold(place: study.Setting, latitude: float | None) -> study.Setting:
    cold = COLD_MONTHS[latitude is not None and latitude < 0]
    always = schedule.covered_share(place.hours.index, days=(cold,))
    return replace(place, covered=np.maximum(place.covered, always))


def _row(key: str, words: str, sheet: Sheet, changed: Sheet, season: study.Season, base: study.Season) -> Row:
    difference = None if season.money is None else season.money - base.money
    shorter = season.short_hours > base.short_hours
    notes = _notes(key, sheet, changed, season, shorter)
    return Row(key, words, season.heat_kwh, season.electricity_kwh, season.gas_kwh, season.money, difference,
               season.lowest_temp, season.short_hours, int((season.hours["ice"] > 0).sum()),
               changed.set_point == sheet.set_point and not shorter, tuple(notes))


def _notes(key: str, sheet: Sheet, changed: Sheet, season: study.Season, shorter: bool) -> list[str]:
    notes = []
    if shorter:
        notes.append("short of heat in more hours than the sheet as it is, so what is taken is that of a pond not "
                     "kept as warm as asked.")
    plan = changed.cover_plan
    if key in ("cover_nights", "insulated_lid"):
        whose = "as in the sheet" if plan is sheet.cover_plan else "taken as the night"
        notes.append(f"on from {_clock(plan.on)} to {_clock(plan.off)}, {whose}.")
    if key == "insulated_lid":
        notes.append(f"U {LID_U_VALUE.value:g} W/m²K ({LID_U_VALUE.note}); no light comes through.")
    if key == "cover_cold_months":
        notes.append("day and night from November to March (May to September south of the equator), no evening "
                     "forgotten; as in the sheet in the other months.")
    if key == "insulated_walls":
        notes.append("of EPS, only on walls and floors that stand in the air.")
    if key == "heat_pump":
        taken = season.electricity_kwh - float(changed.pump_power) * len(season.hours) / 1000
        cop = f"gives {season.heat_kwh / taken:.1f} kWh of heat for each kWh; " if taken > 0 else ""
        heater = changed.heater
        notes.append(f"{cop}its COP ({heater.cop_formula}) follows the air hour by hour; as strong as the sheet's "
                     f"heater at {heater.rated_air_temp:g} °C, weaker in colder air, off below "
                     f"{units.digits(heater.lowest_air_temp)} °C, no backup.")
    return notes


def _clock(minutes: int) -> str:
    return f"{minutes // 60:02d}:{minutes % 60:02d}"


# --- as text ----------------------------------------------------------------------------------------------------------

def table_text(table: Table) -> str:
    """A table as plain text of at most 100 columns, answers first."""
    lines = wrapped(f"{table.name}, {_day(table.first)} to {_day(table.last)}: what if?") + [""]
    lines += _answers(table)
    lines += ["", *_grid(table), ""]
    noted: dict[str, list[str]] = {}
    for row in table.rows:
        for note in row.notes:
            noted.setdefault(note, []).append(row.words)
    for note, words in noted.items():
        lines += wrapped(f"{', '.join(words)}: {note}", "- ")
    priced = "Money is that of heater and pump with its tax, without the standing charge. "
    lines += wrapped("Each line is one run of the whole season in the same weather. "
                      f"{'' if table.rows[0].money is None else priced}What a choice costs to buy is not in it, nor "
                      "how sure the numbers are.")
    if table.left_out:
        lines += wrapped("Left out: " + "; ".join(f"{words} ({reason})" for words, reason in table.left_out) + ".")
    lines += [*wrapped(table.weather), "", *wrapped(cautions.STANDING)]
    for key in ("gas_exchange", "children", "structure_and_wind"):  # what a cover can do
        caution = cautions.CAUTIONS[key]
        lines += wrapped(f"{caution.title}: {caution.text}")
    return "\n".join(lines)


def _worth(row: Row) -> float:
    return row.taken_kwh if row.money is None else row.money


def _amount(row: Row, table: Table) -> str:
    return f"{units.digits(row.taken_kwh)} kWh" if row.money is None else units.money(row.money, table.currency)


def _answers(table: Table) -> list[str]:
    lines = []
    if len(table.rows) > 1:
        dearest, cheapest = max(table.rows, key=_worth), min(table.rows, key=_worth)
        ice = f", with ice in {units.digits(cheapest.ice_hours)} hours" if cheapest.ice_hours else ""
        lines += wrapped(f"Dearest: {dearest.words}, {_amount(dearest, table)} over the season. Cheapest: "
                          f"{cheapest.words}, {_amount(cheapest, table)}; its water falls to "
                          f"{_degrees(cheapest)} °C{ice}.")
        warm = min((row for row in table.rows if row.as_warm), key=_worth)
        if warm is not cheapest:
            lines += wrapped(f"Of those that keep the water as warm as the sheet does, the cheapest: {warm.words}, "
                              f"{_amount(warm, table)}.")
    bare = table.unheated
    if bare is not None:
        pump = (f"The pump still takes {units.digits(bare.electricity_kwh)} kWh"
                + ("" if bare.money is None else f", {units.money(bare.money, table.currency)}") + "."
                if bare.electricity_kwh > 0 else "A pump, of which the sheet says nothing, would still cost.")
        lines += wrapped(
            f"No heat is normal practice for carp that pass the winter unfed in farm ponds about "
            f"{WINTERING_DEPTH.value:g} m deep. A shallower garden pond with its filter running gets colder; this one "
            f"is {units.significant(table.mean_depth, 2)} m deep on average. {pump} Ask a fish vet about weak or young "
            "fish.")
    return lines or ["Nothing is compared with the sheet as it is."]


def _degrees(row: Row) -> str:
    return units.digits(row.lowest_temp, 1)


def _grid(table: Table) -> list[str]:
    heads = ["heat kWh", "taken kWh", "money", "more or less", "lowest °C", "short h", "ice h"]
    priced = table.rows[0].money is not None
    cells = [[units.digits(row.heat_kwh), units.digits(row.taken_kwh), _amount(row, table),
              ("+" if row.difference > 0 else "") + units.money(row.difference, table.currency) if priced else "",
              _degrees(row), units.digits(row.short_hours), units.digits(row.ice_hours)] for row in table.rows]
    grid = [line if priced else line[:2] + line[4:] for line in (heads, *cells)]
    widths = [max(map(len, column)) for column in zip(*grid)]
    words = WIDTH - sum(width + 2 for width in widths)
    lines = []
    for label, line in zip(("", *(row.words for row in table.rows)), grid):
        *above, last = textwrap.wrap(label, max(words, 12)) or [""]
        lines += above + [f"{last:<{words}}" + "".join(f"  {cell:>{width}}" for cell, width in zip(line, widths))]
    return lines


def _day(date: dt.date) -> str:
    return f"{date.day} {date:%B %Y}"
