"""The one answer about a pond: a headline with its likely range, at most three short lines, how sure it is, the rest.

Page 16, the shell, the public interface and the decision sheet all show this and word nothing of their own.
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass

from pondheat.analysis.assessment import SHORT_SEASON
from pondheat.analysis.freezing import freezing_warning
from pondheat.analysis.results import (
    LEAST_HEAT,
    Assessment,
    InputEffect,
    LikelyRange,
    is_southern,
    too_warm_above,
    too_warm_hours,
)
from pondheat.analysis.scenarios.what_if import ScenarioRow, ScenarioTable
from pondheat.analysis.sensitivity import SAVES
from pondheat.analysis.uncertain_inputs import UNCERTAIN_INPUTS
from pondheat.core import units
from pondheat.money.payback import winter_text
from pondheat.sheet.unstated import missing_text
from pondheat.text import answers
from pondheat.text.amounts import hours_text, keeper_amount, keeper_kwh, keeper_money, rounding_step, share_of
from pondheat.text.best_choice import advice, best_choice, cold_water_text
from pondheat.text.layout import kw_text
from pondheat.text.uncertainty_text import capital, headline_value

MOST_LINES = 3
WHOLE_YEAR = 300  # days of a season that is called a year
FISH, BEST, HEATER, CHANGES = "For the fish", "Best next step", "The heater", "What could change this"
MIDWINTER, SOUTHERN_MIDWINTER = 1, 7  # months


@dataclass(frozen=True)
class Phrase:
    """A sentence with named gaps, and the text of the number in each."""

    pattern: str
    numbers: Mapping[str, str]

    def __str__(self) -> str:
        return self.pattern.format(**self.numbers)


@dataclass(frozen=True)
class PondAnswer:
    """The answer about one assessment.

    headline: one sentence, without its full stop; beside: smaller, what belongs to it; lines: at most MOST_LINES, each
    with its title; warnings: dangers that found no room among the lines, a saving over a colder pond, weather of
    another place, never folded; unheated: title and text of the pond without heat, None where nothing is known of it;
    sure: how sure, in short sentences; rest: everything else.
    """

    headline: Phrase
    beside: Phrase
    lines: tuple[tuple[str, str], ...]
    warnings: tuple[str, ...]
    unheated: tuple[str, str] | None
    sure: tuple[str, ...]
    rest: tuple[str, ...]


def pond_answer(found: Assessment, table: ScenarioTable | None = None) -> PondAnswer:
    """The answer about an assessment; table: its choices, of which the best is named, if they were worked out."""
    headline, beside = _Headline(found).phrases()
    dangers = _dangers(found)
    lines = [(FISH, dangers[0])] if dangers else []
    if found.needs_heat and found.sheet.is_heated:
        lines += _best(table) + _heater(found) + _changes(found)
    elif not found.sheet.is_heated:
        season = found.as_described
        ice = int((season.hours["ice"] > 0).sum())
        cold = cold_water_text(season.lowest_temp, found.sheet.pond.volume / found.sheet.pond.surface_area, ice)
        lines += [] if dangers else [(FISH, cold)]
    kept, left = lines[:MOST_LINES], lines[MOST_LINES:]
    rest = (*(f"{title}: {text}" for title, text in left), *answers.details(found))
    stand_in = [found.weather.stand_in] if found.weather.stand_in and not found.sheet.room else []
    warnings = (*dangers[1:], *answers.much_colder_open(found), *stand_in, *answers.unproved_by_the_fit(found))
    return PondAnswer(headline, beside, tuple(kept), warnings, _unheated(table), _sure(found), rest)


def span_text(found: Assessment) -> str:
    """What a season's amounts are of: “a winter”, “a year”, “a season”, or “in these 42 days”."""
    days = round(len(found.open.hours) / 24)
    if days < SHORT_SEASON:
        return f"in {'this one day' if days == 1 else f'these {days} days'}"
    if days >= WHOLE_YEAR:
        return "a year"
    midwinter = SOUTHERN_MIDWINTER if is_southern(found.sheet, found.weather) else MIDWINTER
    first = dt.date(found.first.year, midwinter, 15)
    first = first if first >= found.first else first.replace(year=first.year + 1)
    return "a winter" if first <= found.last else "a season"


class _Headline:
    """Headline and what is beside it, of one assessment."""

    def __init__(self, found: Assessment):
        self.found, self.currency, self.span = found, found.sheet.currency, span_text(found)
        self.unsure = found.uncertainty

    def phrases(self) -> tuple[Phrase, Phrase]:
        """The headline, and the smaller sentences beside it."""
        found = self.found
        if found.sheet.is_heated and not found.needs_heat:
            return Phrase("The pond stays as warm as you ask by itself", {}), Phrase(
                "The heater has nothing to do.", {}
            )
        if not found.sheet.is_heated:
            return self._unheated()
        if found.covered is not None:
            return self._saving()
        return self._cost()

    def _amount(self, kwh: float, money: float | None, likely_kwh, likely_money) -> tuple[float, dict[str, str]]:
        """The amount that is told, as the meter taught it if one did; texts of it and of its likely range, if any."""
        value, likely = (kwh, likely_kwh) if money is None else (money, likely_money)
        if self.unsure is not None and self.unsure.learned and likely is not None:
            value = likely.middle
        step = rounding_step(value, likely)

        def write(amount: float) -> str:
            return keeper_amount(amount, None if money is None else self.currency, step)

        texts = {"amount": write(abs(value)), "span": self.span}
        if likely is None:
            return value, texts
        return value, texts | {"low": write(likely.low), "high": write(likely.high)}

    def _range(self, numbers: Mapping[str, str], prefix: str = "") -> str:
        return f" ({prefix}{{low}} to {{high}})" if "low" in numbers else ""

    def _saving(self) -> tuple[Phrase, Phrase]:
        found, unsure = self.found, self.unsure
        saved_kwh = found.saving_kwh
        assert saved_kwh is not None
        money = None if found.saving is None else found.saving.total
        ranges = (None, None) if unsure is None else (unsure.saving_kwh, unsure.saving_money)
        value, numbers = self._amount(saved_kwh, money, *ranges)
        subject = "Going by its own meter the cover" if unsure is not None and unsure.learned else "The cover"
        if found.open.short_hours and abs(saved_kwh) < LEAST_HEAT:
            flat_out = Phrase(f"{subject} saves nothing: the heater can't keep up with it or without it", {})
            return flat_out, self._beside_saving(saved_kwh, money)
        if value >= 0:
            pattern = f"{subject} saves about {{amount}} {{span}}{self._range(numbers)}"
        else:
            verb = "takes" if money is None else "costs"
            pattern = (
                f"{subject} saves nothing: it {verb} about {{amount}} more {{span}}"
                f"{self._range(numbers, 'as a saving, ')}"
            )
        return Phrase(pattern, numbers), self._beside_saving(saved_kwh, money)

    def _beside_saving(self, saved_kwh: float, money: float | None) -> Phrase:
        """Energy and share saved, the payback, and what the covered pond costs."""
        found, numbers, parts = self.found, {}, []
        covered, used, unsure = found.as_described, found.open.input_kwh, self.unsure
        likely, years = None if unsure is None else unsure.saving_kwh, found.payback_years
        learned = unsure is not None and unsure.learned
        if unsure is not None and learned:  # of the same pond as the headline
            used = unsure.open_kwh.middle
            saved_kwh = saved_kwh if likely is None else likely.middle
            money = money if unsure.saving_money is None else unsure.saving_money.middle
            years = years if unsure.payback is None else unsure.payback.middle
        if money is not None and saved_kwh > 0:
            numbers["energy"] = keeper_kwh(saved_kwh, rounding_step(saved_kwh, likely))
        if used > 0 and saved_kwh > 0:
            numbers["share"] = f"{share_of(saved_kwh, used, likely)} %"
            energy = "{energy}, " if "energy" in numbers else ""
            opening = "The cover still saves" if money is not None and money < 0 else "The saving is"
            parts.append(f"{opening} {energy}about {{share}} of what the open pond takes")
        price = found.sheet.cover_plan.price
        if price is not None and years is not None and math.isfinite(years):
            numbers["price"] = units.money(price, self.currency)
            numbers["winter"] = winter_text(years)
            parts.append("at {price}, the cover is paid back {winter}")
        told = "; ".join(parts)
        numbers |= self._cost_numbers(covered.input_kwh, covered.money)
        cost = "costs about {cost}, for {used}" if covered.money is not None else "takes about {used}"
        if learned:
            lead = f": {told[0].lower()}{told[1:]}" if told else ""
            rest = f"The rest comes from the sheet: with its cover the pond {cost}."
            return Phrase(f"This comes from your pond's own meter{lead}. {rest}", numbers)
        lead = f"{capital(told)}. " if told else ""
        return Phrase(f"{lead}With its cover the pond {cost}.", numbers)

    def _cost_numbers(self, kwh: float, money: float | None) -> dict[str, str]:
        """Texts of what a season takes and costs."""
        told = {"used": keeper_kwh(kwh, rounding_step(kwh)), "span": self.span}
        return told if money is None else told | {"cost": keeper_money(money, self.currency, rounding_step(money))}

    def _cost(self) -> tuple[Phrase, Phrase]:
        found, unsure = self.found, self.unsure
        ranges = (None, None) if unsure is None else (unsure.open_kwh, unsure.open_money)
        _, numbers = self._amount(found.open.input_kwh, found.open.money, *ranges)
        verb = "takes" if found.open.money is None else "costs"
        headline = Phrase(f"The open pond {verb} about {{amount}} {{span}}{self._range(numbers)}", numbers)
        used, told = self._cost_numbers(found.open.input_kwh, None), "Going by the sheet, it takes {used}."
        if unsure is not None and unsure.learned:
            energy, by_meter = unsure.open_kwh, ""
            if found.open.money is not None:
                used["energy"] = keeper_kwh(energy.middle, rounding_step(energy.middle, energy))
                by_meter = ": it takes {energy}"
            told = f"This comes from your pond's own meter{by_meter}. Going by the sheet, it takes {{used}}."
        return headline, Phrase(f"{told} The sheet has no cover, so there is no saving to show.", used)

    def _unheated(self) -> tuple[Phrase, Phrase]:
        season = self.found.as_described
        told = "No heat, no heating cost: the water falls to {coldest}"
        if freezing_warning(season.frozen_share):
            told = "Without heat this pond can freeze through"
        headline = Phrase(told, {"coldest": f"[{units.digits(season.lowest_temp, 1)} °C]"})
        if season.input_kwh <= 0:
            return headline, Phrase("The sheet has no pump; running one would still cost money.", {})
        numbers = self._cost_numbers(season.input_kwh, season.money)
        cost = ", about {cost}" if season.money is not None else ""
        return headline, Phrase(f"The pump still takes {{used}}{cost} {{span}}.", numbers)


def _dangers(found: Assessment) -> list[str]:
    """What endangers the fish, the worst first."""
    sheet, season, dangers = found.sheet, found.as_described, []
    as_described, bare = (freezing_warning(one.frozen_share) for one in (season, found.open))
    if as_described:
        dangers.append(
            f"Warning. {as_described}" + ("" if sheet.is_heated else " Do not leave this pond without heat.")
        )
    elif bare:
        dangers.append(f"Warning. Without its cover: {bare[0].lower()}{bare[1:]}")
    if hours := too_warm_hours(sheet, season):
        dangers.append(
            f"The water gets too warm: [{season.highest_temp:.1f} °C] at its highest, above "
            f"[{too_warm_above(sheet):.3g} °C] in {hours_text(hours)}. Warm water holds little "
            f"oxygen.{answers.too_warm_advice(found)}"
        )
    if season.below_floor_hours and sheet.is_heated:
        asked = min(temp for _, temp in sheet.set_point if temp is not None)
        itself = (
            f" The set point itself, [{asked:.3g} °C], is below that."
            if sheet.floor is not None and asked < sheet.floor
            else ""
        )
        dangers.append(
            f"The water is below your lowest [{sheet.floor:.3g} °C] in {hours_text(season.below_floor_hours)}, "
            f"[{season.lowest_temp:.1f} °C] at its coldest.{itself}"
        )
    return dangers


def _best(table: ScenarioTable | None) -> list[tuple[str, str]]:
    """The cheapest choice that keeps the fish as well and costs nothing to buy."""
    best = None if table is None else best_choice(table)
    if table is None or best is None:
        return []
    amounts = [_worth(row, table) for row in (best, table.rows[0])]
    return [
        (BEST, f"{advice(best, table)}: about {amounts[0]} instead of {amounts[1]}, and the water is just as warm.")
    ]


def _worth(row: ScenarioRow, table: ScenarioTable) -> str:
    """What a choice costs, or takes where there is no tariff."""
    return keeper_amount(row.worth, None if row.money is None else table.currency, rounding_step(row.worth))


def _heater(found: Assessment) -> list[tuple[str, str]]:
    """Whether the heater keeps up, in plain words."""
    sheet, season = found.sheet, found.as_described
    hours, lowest = hours_text(season.short_hours), f"[{season.lowest_temp:.1f} °C]"
    if not season.short_hours:
        held = f"[{sheet.set_point[0][1]:.3g} °C]" if len(sheet.set_point) == 1 else "what you ask"
        colder = "" if sheet.room else " A colder winter may come."
        return [(HEATER, f"it holds {held} in every hour of this weather.{colder}")]
    backup = ""
    if sheet.heater.kind == "heat pump":
        needed = "a stronger" if sheet.heater.backup else "a"
        backup = f" A heat pump is weakest when it is coldest: give it {needed} backup."
    warming = "; that includes warming up after a change of temperature" if len(sheet.set_point) > 1 else ""
    return [
        (
            HEATER,
            f"it can't keep up for {hours}: the water falls to {lowest}{warming}, and the bill is for a colder "
            f"pond. The coldest day needs {kw_text(season.worst_day_kw)} kW on average.{backup}",
        )
    ]


def _changes(found: Assessment) -> list[tuple[str, str]]:
    """The unknown that is likeliest to overturn the answer."""
    unsure = found.uncertainty
    if unsure is None or not unsure.variance_shares:
        return []
    first = unsure.measure_first[0]
    step = rounding_step(first.middle, LikelyRange(first.low, first.middle, first.high))

    def write(value: float) -> str:
        return keeper_amount(value, found.sheet.currency if first.in_money else None, step)

    known = UNCERTAIN_INPUTS[first.name].words
    text = f"{known}. On its own, that means {_by_one_input(first, write)} {span_text(found)}"
    if not min(first.low, first.high) <= headline_value(found, first) <= max(first.low, first.high):
        text += f", counted from {write(first.middle)} in the middle of the runs"
    return [(CHANGES, f"{text}.")]


def _by_one_input(effect: InputEffect, write: Callable[[float], str]) -> str:
    """From where to where one unknown alone moves the answer."""
    low, high = sorted((effect.low, effect.high))
    if effect.of != SAVES or low >= 0:
        return f"{effect.of} {write(low)} to {write(high)}"
    costs = "costs" if effect.in_money else "takes"
    if high < 0:
        return f"the cover {costs} {write(-high)} to {write(-low)} more"
    return f"the cover {costs} {write(-low)} more or saves {write(high)}"


def _unheated(table: ScenarioTable | None) -> tuple[str, str] | None:
    """What no heat costs, and what it means for the fish, side by side."""
    row = None if table is None else table.unheated
    if table is None or row is None or row is table.rows[0]:
        return None
    cost = "no heating bill; a pump would still cost money"
    if row.taken_kwh > 0:
        cost = f"{_worth(row, table)}, for the pump"
    if row.freezing:
        return f"No heat at all: {cost}", f"Warning. {row.freezing} Do not leave this pond without heat."
    return f"No heat at all: {cost}", capital(cold_water_text(row.lowest_temp, table.mean_depth, row.ice_hours))


def _sure(found: Assessment) -> tuple[str, ...]:
    """How sure the answer is, and what the sheet leaves out."""
    unsure = found.uncertainty
    runs = "" if unsure is None else f"8 in 10 of {unsure.scenarios} runs fall within the range. "
    said = f"{runs}No measured heated or covered pond was found to test this: your own meter is the better judge."
    missing = missing_text(found.sheet.unstated) if found.needs_heat and found.sheet.is_heated else ""
    return (said, missing) if missing else (said,)
