"""What if: one pond, one weather year, the keeper's choices side by side in one table.

`CHOICES` lists them. Each is the sheet with something changed and a whole season of its own, reckoned by `analysis.assessment`; or
the season as it is at other prices. `text.what_if_text` writes the table down.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterable
from dataclasses import dataclass

from pondheat.analysis import assessment
from pondheat.analysis.scenarios.choices import CHOICES, GROUPS
from pondheat.analysis.scenarios.context import Asked, Case, Outcome
from pondheat.core import units
from pondheat.core.ranges import choose
from pondheat.season.simulate import HOTTEST, TooHot
from pondheat.season.weather import weather
from pondheat.season.weather.weather import Weather
from pondheat.sheet.pond_sheet import Sheet
from pondheat.text import summary

__all__ = ["AS_IT_IS", "CHOICES", "GROUPS", "Row", "Table", "what_if"]
AS_IT_IS = "as_it_is"


@dataclass(frozen=True)
class Row:
    """One choice over one season: heat and what is taken for it and the pump [kWh], money, difference to the sheet as
    it is [money], lowest water temperature [degC], hours in which the heater is short, hours with ice on the water.

    group: one of GROUPS, empty for the sheet as it is. as_warm: the same temperature is asked as in the sheet, held in
    no fewer hours, and the water too warm in no more. mean_temp, highest_temp: of the water [degC]. taken_band,
    money_band: low and high where the choice is itself uncertain. In the row of a flat rate money holds what the house's
    own bill changes by.
    """

    key: str
    words: str
    group: str
    heat_kwh: float
    electricity_kwh: float
    gas_kwh: float
    money: float | None
    difference: float | None
    lowest_temp: float
    mean_temp: float
    highest_temp: float
    short_hours: int
    ice_hours: int
    as_warm: bool
    taken_band: tuple[float, float] | None = None
    money_band: tuple[float, float] | None = None
    notes: tuple[str, ...] = ()

    @property
    def taken_kwh(self) -> float:
        """Electricity and gas [kWh]."""
        return self.electricity_kwh + self.gas_kwh

    @property
    def of_pond(self) -> bool:
        """Whether the money is the pond's alone, and so can be held against that of other rows."""
        return self.key != "flat_rate"

    @property
    def worth(self) -> float:
        """What rows are compared by: money, or kWh without a tariff."""
        return self.taken_kwh if self.money is None else self.money


@dataclass(frozen=True)
class Table:
    """All choices for one sheet, the sheet as it is first; `text.limitations`: a choice's words and why it is missing."""

    name: str
    currency: units.Currency
    first: dt.date
    last: dt.date
    weather: str
    mean_depth: float
    rows: tuple[Row, ...]
    left_out: tuple[tuple[str, str], ...]

    @property
    def grouped(self) -> tuple[Row, ...]:
        """The rows in the order of GROUPS, the sheet as it is first."""
        return tuple(sorted(self.rows, key=lambda row: GROUPS.index(row.group) if row.group else -1))

    @property
    def unheated(self) -> Row | None:
        """The first row that takes no heat."""
        return next((row for row in self.rows if row.heat_kwh == 0), None)


def what_if(
    sheet: Sheet,
    record: Weather | None = None,
    choices: Iterable[str] | None = None,
    progress: Callable[[float], None] | None = None,
    *,
    house_kwh: float | None = None,
    house_cheap_share: float | None = None,
    flat_rate: float | None = None,
    flat_standing_charge: float | None = None,
    solar_peak_kw: float | None = None,
    solar_kwh_per_day: float | None = None,
    export_rate: float | None = None,
    room_temp: float | None = None,
) -> Table:
    """Compare choices for one pond in the same weather, each over its whole season.

    record: weather already read; otherwise the sheet's own source is. choices: keys of CHOICES, all where None; the
    sheet as it is always stands first. progress: called with the share done, 0–1. What follows is asked for and never
    guessed (`analysis.scenarios.context.Asked` says what each is); a choice that needs one not given is left out. Raises OutOfRange
    for a key that is not known or a number that cannot be meant, else what `analysis.assessment.setting` and `analysis.assessment.weather_of` do.
    """
    keys = [choices] if isinstance(choices, str) else list(CHOICES if choices is None else dict.fromkeys(choices))
    for key in keys:
        choose("choice", key, CHOICES)
    asked = Asked(
        house_kwh,
        house_cheap_share,
        flat_rate,
        flat_standing_charge,
        solar_peak_kw,
        solar_kwh_per_day,
        export_rate,
        room_temp,
    )
    case = Case(sheet, record or assessment.weather_of(sheet), asked)
    rows, left_out = [_row(AS_IT_IS, "the sheet as it is", "", case, Outcome(sheet, case.base))], []
    for done, key in enumerate(keys, 1):
        if progress is not None:
            progress(done / (len(keys) + 1))
        choice = CHOICES[key]
        try:
            outcome = choice.attempt(case)
        except TooHot:  # one such choice does not take the others away
            outcome = f"the water would pass {HOTTEST:g} °C in the sun"
        if isinstance(outcome, str):
            left_out.append((choice.words, outcome))
        else:
            rows.append(_row(key, choice.words, choice.group, case, outcome))
    if progress is not None:
        progress(1.0)
    return Table(
        sheet.name,
        sheet.currency,
        case.index[0].date(),
        case.index[-1].date(),
        weather.summary(case.record),
        sheet.pond.volume / sheet.pond.surface_area,
        tuple(rows),
        tuple(left_out),
    )


def _row(key: str, words: str, group: str, case: Case, outcome: Outcome) -> Row:
    season, base = outcome.season, case.base
    money = season.money if outcome.money is None else outcome.money
    shorter = season.short_hours > base.short_hours
    hot, hot_as_it_is = (summary.too_warm_hours(case.sheet, one) for one in (season, base))
    as_warm = outcome.as_warm
    if as_warm is None:
        as_warm = outcome.sheet.set_point == case.sheet.set_point and not shorter
    as_warm = as_warm and hot <= hot_as_it_is  # the cheapest water is no bargain where it cooks the fish
    notes = outcome.notes
    if hot > hot_as_it_is:
        notes = (
            *notes,
            f"the water gets too warm: {season.highest_temp:.1f} °C at its highest, above {summary.too_warm_above(case.sheet):g} °C in "
            f"{units.digits(hot)} hours ({units.digits(hot_as_it_is)} as it is). Warm water holds little oxygen.",
        )
    if shorter:
        notes = (
            "short of heat in more hours than the sheet as it is, so what is taken is that of a pond not kept as "
            "warm as asked.",
            *notes,
        )
    return Row(
        key,
        words,
        group,
        season.heat_kwh,
        season.electricity_kwh,
        season.gas_kwh,
        money,
        None if money is None else money - base.money,
        season.lowest_temp,
        float(season.hours["water_temp"].mean()),
        season.highest_temp,
        season.short_hours,
        int((season.hours["ice"] > 0).sum()),
        as_warm,
        outcome.taken_band,
        outcome.money_band,
        notes,
    )
