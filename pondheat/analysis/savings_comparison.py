"""Did the cover save, or was the weather milder? An open and a covered log, a pond sheet and the days' weather.

`compare_files` gives the whole answer, `text.savings_text` puts it into words; the statistics are those of
`meter.savings.period_comparison`.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import pandas as pd

from pondheat.analysis import assessment, shared_meter
from pondheat.analysis.comparison_files import (
    Incomparable,
    Stretch,
    by_the_hour,
    has_water_temp,
    merge,
    read_file,
    require_same_meter,
    require_shared_days,
)
from pondheat.analysis.printable import printable_name
from pondheat.analysis.results import BoundaryConditions
from pondheat.analysis.uncertainty import input_per_heat
from pondheat.core import value_parsers
from pondheat.core.number_format import counted
from pondheat.meter.reading import energy_use
from pondheat.meter.reading.energy_use import CostByRate, UseStatistics
from pondheat.meter.reading.meter_file import Readings
from pondheat.meter.savings import period_comparison
from pondheat.meter.savings.alignment import Aligned, align
from pondheat.meter.savings.night_readings import COVERED, OPEN
from pondheat.meter.savings.verdict import Comparison
from pondheat.money.tariffs import Tariff
from pondheat.season.heaters import Heater
from pondheat.season.weather.record import MEASURED, TYPICAL
from pondheat.season.weather.weather import Weather
from pondheat.sheet.pond_sheet import Sheet


@dataclass(frozen=True)
class Interval:
    """A value with the low and high end of its confidence interval."""

    value: float
    low: float
    high: float


@dataclass(frozen=True, eq=False)
class SavingsComparison:
    """What a cover saved, and everything behind it.

    names: of the files, safe to print; readings: as read, one for each file; uses: kWh by interval, open and covered;
    costs: the same by rate, None without a tariff; statistics: of each; saved_kwh [kWh], saved_money [money]: for each
    covered night, money None without a tariff; house: a sentence if the meter counts more than the pond can use,
    otherwise None.
    """

    sheet: Sheet
    weather: Weather
    names: tuple[str, ...]
    readings: tuple[Readings, ...]
    uses: dict[str, pd.DataFrame]
    aligned: Aligned
    comparison: Comparison
    costs: dict[str, CostByRate] | None
    statistics: dict[str, UseStatistics]
    saved_kwh: Interval
    saved_money: Interval | None
    house: str | None
    notes: tuple[str, ...]

    @property
    def weather_of_these_days(self) -> bool:
        """Whether the weather is that of the metered days, or the pond is in a room whose air the sheet gives."""
        measured = self.weather.kind == MEASURED and not self.weather.bridged
        return measured or self.sheet.room is not None

    @property
    def shown(self) -> bool:
        """Whether a saving may be claimed."""
        return self.comparison.shown and self.weather_of_these_days and self.house is None

    @property
    def verdict(self) -> str:
        """The verdict in a few sentences, the claim first."""
        found = self.comparison.verdict
        if self.comparison.outcomes[0].high < 0:
            found += (
                " Were the two files swapped? The one for the open nights comes first."
                if len(self.readings) == 2
                else " Are the dates given those of the covered nights?"
            )
        if self.house is not None:
            return "Not shown: the meter counts much more than this pond can take."
        if not self.weather_of_these_days:
            kind = f"a {TYPICAL}" if self.weather.kind == TYPICAL else self.weather.kind
            kind = f"in part a {TYPICAL}, which bridges gaps" if self.weather.bridged else kind
            return (
                f"Not shown, only a trial: the weather is {kind} ({self.weather.place}), not that of these "
                f"days; give that with --weather. If theirs were the same, the verdict would be: “{found}”"
            )
        return found


def compare_files(
    open_file,
    covered_file,
    sheet: Sheet,
    weather: Weather | None = None,
    tariff: Tariff | None = None,
    progress: Callable[[float], None] | None = None,
    *,
    covered_nights: Sequence[dt.date] | None = None,
    base_load: float = 0.0,
    pump_on_meter: bool = False,
    timezone: str | None = None,
    reading: Sequence[Mapping[str, Any]] = ({},),
    before_weather: Callable[[Sheet], None] | None = None,
) -> SavingsComparison:
    """The log of an open pond compared with that of the covered pond, in the weather of those days.

    open_file, covered_file: paths (or bytes) of meter files; covered_file None where one file has both kinds of
    nights, and covered_nights then gives the dates on whose evening the cover was laid; weather: of those days,
    otherwise the sheet's own source; tariff: otherwise the sheet's; base_load [W]: on the same meter, without warming
    the water; pump_on_meter: whether the sheet's pump is on the same meter as the heater; timezone: of the files'
    clock, otherwise the sheet's; reading: options of `comparison_files.READING`, one mapping for both files or one for
    each; before_weather: called with the sheet of the logs' days before its weather is read, to fetch it; progress:
    called with the share done, 0–1. Raises Incomparable, ReadingsFault, `season.weather.record.WeatherError`,
    OutOfRange, Unreadable.
    """
    files = _files(open_file, covered_file, covered_nights)
    tell = progress or (lambda share: None)
    zone = value_parsers.time_zone(timezone or sheet.timezone).key
    names, readings = _read_logs(files, zone, reading, tell)
    notes: list[str] = []
    tell(0.8)
    require_same_meter(readings, names, sheet.heater, notes)
    use, label, stretches = merge(readings, names, sheet, covered_nights, notes)
    of_days, record = _weather_of_days(sheet, use, weather, before_weather)
    conditions = assessment.boundary_conditions(of_days, record)
    tell(0.85)
    most = assessment.largest_draw(sheet, conditions, pump_on_meter) + base_load / 1000
    use = shared_meter.without_spikes(use, sheet, most, notes)
    use, set_point = _with_known_water(use, conditions, notes)
    beside_heater = base_load + (sheet.pump_power if pump_on_meter else 0.0)
    aligned = _aligned(use, set_point, sheet, conditions, beside_heater, notes)
    tell(0.9)
    found = _compared(aligned, sheet, covered_nights, stretches, conditions)
    uses = {which: use[label.reindex(use.index) == which] for which in (OPEN, COVERED)}
    tariff = _tariff(sheet, tariff, notes)
    costs = None if tariff is None else {which: energy_use.cost_by_rate(part, tariff) for which, part in uses.items()}
    kwh, money = _saved(aligned, found, costs, tariff)
    notes += _notes_on(sheet, use, most, conditions)
    made = SavingsComparison(
        sheet,
        record,
        names,
        readings,
        uses,
        aligned,
        found,
        costs,
        statistics={which: energy_use.statistics(part, sheet.timezone) for which, part in uses.items()},
        saved_kwh=kwh,
        saved_money=money,
        house=shared_meter.whole_house(found),
        notes=tuple(dict.fromkeys(notes)),
    )
    tell(1.0)
    return made


def _files(open_file, covered_file, covered_nights: Sequence[dt.date] | None) -> list:
    """The files that were given, one or two; raises Incomparable where they don't say which nights were covered."""
    if (covered_file is None) == (covered_nights is None):
        raise Incomparable(
            "Give two files, of the open nights and of the covered ones, or one file and the dates of its "
            "covered nights (--covered-nights 2026-01-19,2026-01-22..2026-01-25)."
        )
    return [open_file] if covered_file is None else [open_file, covered_file]


def _read_logs(
    files: Sequence, zone: str, reading: Sequence[Mapping[str, Any]], tell: Callable[[float], None]
) -> tuple[tuple[str, ...], tuple[Readings, ...]]:
    """Names of the files, safe to print, and their readings; the last of the options holds for any further file."""
    names = tuple("the file" if isinstance(file, bytes) else printable_name(file) for file in files)
    return names, tuple(
        read_file(file, name, zone, reading[min(at, len(reading) - 1)], _part(tell, at))
        for at, (file, name) in enumerate(zip(files, names))
    )


def _part(tell: Callable[[float], None], at: int) -> Callable[[float], None]:
    """Progress of reading one of two files, as a share of the whole."""
    return lambda share: tell(0.8 * (at + share) / 2)


def _weather_of_days(
    sheet: Sheet, use: pd.DataFrame, weather: Weather | None, before_weather: Callable[[Sheet], None] | None
) -> tuple[Sheet, Weather]:
    """The sheet of the metered days, and the weather of these days; arguments as for `compare_files`."""
    # a start temperature, so that no days are needed before the first reading
    of_days = replace(sheet, start=use.index[0].date(), end=use.index[-1].date(), start_temp=15.0)
    if weather is None and before_weather is not None:
        before_weather(of_days)
    record = weather or assessment.weather_of(of_days, real_days=True)
    if record.kind == MEASURED:  # the whole record: readings without weather are cut and noted
        require_shared_days(use, record)
        of_days = replace(of_days, start=None, end=None)
    return of_days, record


def _aligned(
    use: pd.DataFrame, set_point, sheet: Sheet, conditions: BoundaryConditions, beside_heater: float, notes: list[str]
) -> Aligned:
    """The readings with the weather; beside_heater: other power on the meter [W]."""
    return align(
        use,
        sheet.pond,
        conditions.index,
        conditions.air,
        set_point=set_point,
        cop=_heat_per_input(sheet.heater, conditions, notes),
        pump_heat=sheet.pump_heat,
        base_load=beside_heater,
    )


def _compared(
    aligned: Aligned,
    sheet: Sheet,
    covered_nights: Sequence[dt.date] | None,
    stretches: list[Stretch] | None,
    conditions: BoundaryConditions,
) -> Comparison:
    """The comparison of covered with open times, told apart by dates of covered nights or by the two files."""
    times = (sheet.cover_plan.on, sheet.cover_plan.off)
    if stretches is None:
        return period_comparison.compare(aligned, covered=covered_nights, cover_times=times)
    return period_comparison.compare(aligned, periods=by_the_hour(stretches, conditions.index), cover_times=times)


def _notes_on(sheet: Sheet, use: pd.DataFrame, most: float, conditions: BoundaryConditions) -> list[str]:
    """Sentences on what else may be on the meter, on the room, and those of sheet and weather."""
    beyond = shared_meter.beyond_the_heater(use, sheet.heater, most)
    room = (
        []
        if sheet.room is None
        else [
            f"The room is assumed to stay at the sheet's [{sheet.room[0]:.3g} °C]; if it was colder in one "
            "of the two periods, that counts as the cover's doing."
        ]
    )
    return [*([beyond] if beyond else []), *room, *sheet.notes, *conditions.notes]


def _with_known_water(
    use: pd.DataFrame, conditions: BoundaryConditions, notes: list[str]
) -> tuple[pd.DataFrame, np.ndarray | None]:
    """Readings of times with a known water temperature, and the set point [degC] where that takes its place."""
    if has_water_temp(use):
        return use, None
    set_point = pd.Series(conditions.set_point, conditions.index)
    if set_point.isna().all():
        return use, None  # refused by `align`, with what to give
    hour = np.clip(conditions.index.searchsorted(use.index, side="right") - 1, 0, len(set_point) - 1)
    unknown = set_point.isna().to_numpy()[hour]
    if unknown.all():
        return use, None
    if unknown.any():
        notes.append(
            f"{counted(unknown.sum(), 'reading', 'readings')} of days without a set point left out: how warm "
            "the water was "
            "then is not known."
        )
    return use[~unknown], set_point.ffill().bfill().to_numpy()


def _heat_per_input(heater: Heater, conditions: BoundaryConditions, notes: list[str]) -> float | np.ndarray:
    """Heat to the water per kWh of the meter [–], one value or one for each hour."""
    if heater.kind == "gas":
        return heater.efficiency
    if heater.kind == "none":
        notes.append("The sheet has no heater: each kilowatt-hour of the meter is assumed to warm the water.")
    if heater.kind != "heat pump":
        return 1.0
    notes.append(
        f"A heat pump: the meter's kilowatt-hours become heat by a modelled COP ({heater.cop_formula}), which "
        "a real one misses by a tenth or more"
        + ("; what its backup took counts as if the pump had taken it." if heater.backup else ".")
    )
    return 1 / input_per_heat(conditions, heater)[:, 0]


# --- money ----------------------------------------------------------------------------------------------------------


def _tariff(sheet: Sheet, tariff: Tariff | None, notes: list[str]) -> Tariff | None:
    """The tariff of the energy on the meter: the one given, otherwise the sheet's; of gas for a gas heater."""
    if tariff is None and sheet.heater.kind == "gas" and sheet.gas_rate is not None:
        other = sheet.tariff or Tariff("gas", otherwise=sheet.gas_rate, currency=sheet.currency)
        tariff = Tariff(
            "gas",
            otherwise=sheet.gas_rate,
            tax_rate=other.tax_rate,
            tax_included=other.tax_included,
            currency=sheet.currency,
        )
    tariff = tariff or sheet.tariff
    if tariff is None:
        notes.append("No tariff is given, so no money: write [tariff] into the sheet, or give --tariff.")
    return tariff


def _saved(
    aligned: Aligned, found: Comparison, costs: dict[str, CostByRate] | None, tariff: Tariff | None
) -> tuple[Interval, Interval | None]:
    """Saving per covered night, as energy [kWh] and money: open use in that weather less what was used.

    By the first of the comparison's estimators; money None without a tariff.
    """
    without_cover = found.without_cover / aligned.efficiency
    first = found.outcomes[0]
    shares = (first.saving, first.low, first.high)
    kwh = Interval(*(float(share * without_cover) for share in shares))
    if costs is None or tariff is None:
        return kwh, None
    tax = 1.0 if tariff.tax_included else 1 + tariff.tax_rate
    price = {
        which: cost.energy_money / cost.kwh * tax if cost.kwh > 0 else float("nan") for which, cost in costs.items()
    }
    return kwh, Interval(*(float(without_cover * (price[OPEN] - (1 - share) * price[COVERED])) for share in shares))
