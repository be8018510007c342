"""Did the cover really save, or was the weather milder? An open and a covered log, a pond sheet and the days' weather.

`compare_files` is the whole answer; `text.savings_text` writes it down. The comparing itself is `meter.savings.period_comparison.compare`.
"""

from __future__ import annotations

import datetime as dt
import re
import unicodedata
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import pandas as pd

from pondheat.analysis import assessment
from pondheat.core import value_parsers
from pondheat.core.ranges import OutOfRange
from pondheat.core.units import Currency
from pondheat.meter.reading import energy_use, meter_file
from pondheat.meter.reading.energy_use import CostByRate, UseStatistics, night_of
from pondheat.meter.reading.meter_file import Readings
from pondheat.meter.reading.read_log import ReadingsFault
from pondheat.meter.savings import period_comparison
from pondheat.meter.savings.alignment import Aligned, align
from pondheat.meter.savings.night_readings import COVERED, OPEN
from pondheat.meter.savings.period_comparison import Comparison
from pondheat.money import tariffs
from pondheat.money.tariffs import Tariff
from pondheat.season.heaters import Heater
from pondheat.season.weather.record import MEASURED, TYPICAL
from pondheat.season.weather.weather import Weather
from pondheat.sheet.pond_sheet import Sheet

READING = (
    "kind",
    "dates",
    "stamps",
    "clock",
    "unit",
    "column",
    "temp_column",
    "decimal",
    "rating",
    "voltage",
    "power_factor",
    "flashes_per_kwh",
    "calorific_value",
    "correction_factor",
    "digits",
)
"""What `meter.reading.meter_file.read` can be told where a file does not say."""
TOO_MUCH = 2.5  # times the modelled need of the open pond: more than a sheet is off by, so not the heater (judgement)
LONGEST = 36.0  # h; a longer reading, spread evenly, would make nights alike that nobody has read (judgement)
# More than the heater takes by so much, in such a share of the time, is not the heater alone (judgement).
BEYOND, OFTEN = 1.2, 0.02
HALVED = 0.5  # saving for which it is said how large the heater's share of a whole house must be


class Incomparable(OutOfRange):
    """Two logs that cannot be compared as given; the message says why and what to do."""


@dataclass(frozen=True)
class Amount:
    """A value with the low and high end of its interval."""

    value: float
    low: float
    high: float


@dataclass(frozen=True, eq=False)
class Proof:
    """What a cover saved, and all it rests on.

    names: of the files, made fit for print; readings: as read, one for each file; uses: kWh by interval of the open and
    of the covered spell; costs: the same by rate, None without a tariff; statistics: of each spell. saved_kwh,
    saved_money: for each covered night [kWh, money], money None without a tariff. house: a sentence where the meter
    counts more than a pond can take, else None. shown, verdict: what may be claimed.
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
    saved_kwh: Amount
    saved_money: Amount | None
    house: str | None
    notes: tuple[str, ...]

    @property
    def weather_of_these_days(self) -> bool:
        """Whether the weather is that of the very days, or stands in a room whose air the sheet names."""
        return self.weather.kind == MEASURED or self.sheet.room is not None

    @property
    def shown(self) -> bool:
        """Whether a saving may be claimed."""
        return self.comparison.shown and self.weather_of_these_days and self.house is None

    @property
    def verdict(self) -> str:
        """A few sentences, the claim first."""
        found = self.comparison.verdict
        if self.comparison.outcomes[0].high < 0:
            found += (
                " Were the two files exchanged? That of the open nights comes first."
                if len(self.readings) == 2
                else " Are the dates given those of the covered nights?"
            )
        if self.house is not None:
            return "Not shown: the meter counts much more than this pond can take."
        if not self.weather_of_these_days:
            kind = f"a {TYPICAL}" if self.weather.kind == TYPICAL else self.weather.kind
            return (
                f"Not shown, for trying only: the weather is {kind} ({self.weather.place}), not that of these "
                f"days; give theirs with --weather. If it were theirs, the verdict would be: “{found}”"
            )
        return found


def plain(text: str) -> str:
    """Text without characters that steer a screen: control characters, turned writing and the like become “?”."""
    return "".join("?" if unicodedata.category(letter)[0] == "C" else letter for letter in text)


def printable(name) -> str:
    """A file's name fit for one line of a screen: control characters become “?”, long names are cut."""
    text = plain(Path(str(name)).name)
    return text if len(text) <= 60 else f"{text[:40]}…{text[-15:]}"


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
    reading: Sequence[Mapping] = ({},),
) -> Proof:
    """Compare the log of an open pond with that of the covered one, in the weather of those days.

    open_file, covered_file: paths (or bytes) of meter files; covered_file None where one file holds both kinds of
    nights, and covered_nights then names the dates on whose evening the cover was laid. weather: those days' weather,
    by default the sheet's own source; tariff: by default the sheet's. base_load: [W] on the meter whose heat misses the
    water; pump_on_meter: whether the sheet's pump stands on the same meter as the heater. timezone: of the clock the
    files were written by, by default the sheet's. reading: options of `READING` for `meter.reading.meter_file.read`, one mapping
    for both files or one for each. progress: called with the share done, from 0 to 1.
    Raises Incomparable, ReadingsFault, `season.weather.record.WeatherFault`, OutOfRange, Unreadable.
    """
    files = [open_file] if covered_file is None else [open_file, covered_file]
    if (covered_file is None) == (covered_nights is None):
        raise Incomparable(
            "Give two files, the open spell's and the covered one's, or one file and the dates of its "
            "covered nights (--covered-nights 2026-01-19,2026-01-22..2026-01-25)."
        )
    zone = value_parsers.time_zone(timezone or sheet.timezone).key
    names = tuple("the file" if isinstance(file, bytes) else printable(file) for file in files)
    readings = tuple(
        _read(file, name, zone, reading[min(at, len(reading) - 1)], at / 2, progress)
        for at, (file, name) in enumerate(zip(files, names))
    )
    notes: list[str] = []
    _tell(progress, 0.8)
    _same_thing(readings, names, sheet.heater, notes)
    use, label, stretches = _together(readings, names, sheet, covered_nights, notes)
    first, last = use.index[0].date(), use.index[-1].date()
    of_days = replace(sheet, start=first, end=last, start_temp=15.0)  # given, so that no days are needed before
    record = weather or assessment.weather_of(of_days)
    if record.kind == MEASURED:  # whole: a log begins and ends when it likes, and what has no weather is cut and told
        _shared(use, record)
        of_days = replace(of_days, start=None, end=None)
    place = assessment.setting(of_days, record)
    _tell(progress, 0.85)
    use, held = _water_known(use, place, notes)
    aligned = align(
        use,
        sheet.pond,
        place.hours.index,
        place.air,
        set_point=held,
        cop=_cop(sheet.heater, place, notes),
        pump_heat=sheet.pump_heat,
        base_load=base_load + (sheet.pump_power if pump_on_meter else 0.0),
    )
    _tell(progress, 0.9)
    found = (
        period_comparison.compare(aligned, covered=covered_nights)
        if stretches is None
        else period_comparison.compare(aligned, periods=_by_the_hour(stretches, place.hours.index))
    )
    uses = {which: use[label.reindex(use.index) == which] for which in (OPEN, COVERED)}
    tariff = _tariff(sheet, tariff, notes)
    costs = tariff and {which: energy_use.cost_by_rate(part, tariff) for which, part in uses.items()}
    kwh, money = _saved(aligned, found, costs, tariff)
    if beyond := _beside(use, sheet.heater):
        notes.append(beyond)
    if sheet.room is not None:
        notes.append(
            f"The room is taken at the sheet's {sheet.room[0]:g} °C throughout; if it was colder in one of "
            "the spells, that counts as the cover's doing."
        )
    notes += [*sheet.notes, *place.notes]
    proof = Proof(
        sheet,
        record,
        names,
        readings,
        uses,
        aligned,
        found,
        costs,
        {which: energy_use.statistics(part, sheet.timezone) for which, part in uses.items()},
        kwh,
        money,
        _house(aligned, found, base_load),
        tuple(dict.fromkeys(notes)),
    )
    _tell(progress, 1.0)
    return proof


def tariff_of(path, currency: Currency) -> Tariff:
    """A tariff from a TOML file; raises Incomparable with all that is wrong in it."""
    made, faults = tariffs.read(path, currency)
    if made is None or faults:
        raise Incomparable(
            "\n".join(f"{printable(path)}: {where + ': ' if where else ''}{sentence}" for where, sentence in faults)
        )
    return made


def dates_of(text: str) -> list[dt.date]:
    """Dates as typed on a command line, with ranges: both ends belong to them.

    >>> [f"{day:%d}" for day in dates_of("2026-01-19, 2026-01-22..2026-01-24")]
    ['19', '22', '23', '24']
    """
    made: list[dt.date] = []
    for part in filter(None, re.split(r"[,;\s]+", re.sub(r"\s*\.\.\s*", "..", text.strip()))):
        ends = part.split("..")
        try:
            first, last = dt.date.fromisoformat(ends[0]), dt.date.fromisoformat(ends[-1])
        except ValueError:
            first = last = None
        if first is None or len(ends) > 2:
            raise Incomparable(
                f"“{part[:40]}” is no date or span of dates: write 2026-01-19, or 2026-01-22..2026-01-25."
            )
        if last < first or (last - first).days > 1000:
            raise Incomparable(f"“{part[:40]}” ends before it begins, or lasts for years: which nights were covered?")
        made += [first + dt.timedelta(days=k) for k in range((last - first).days + 1)]
    if not made:
        raise Incomparable("No covered night is named: write them as 2026-01-19,2026-01-22..2026-01-25.")
    return made


def _tell(progress: Callable[[float], None] | None, share: float) -> None:
    if progress is not None:
        progress(share)


# --- the readings ---------------------------------------------------------------------------------------------------


def _read(file, name: str, timezone: str, options: Mapping, done: float, progress) -> Readings:
    """One file, with its name before what is wrong in it."""
    try:
        return meter_file.read(
            file, timezone, **options, progress=lambda share: _tell(progress, 0.8 * (done + share / 2))
        )
    except ReadingsFault as wrong:
        said = str(wrong) if isinstance(file, bytes) else str(wrong).replace(Path(str(file)).name, name)
        raise ReadingsFault(said if name in said else f"{name}: {said}") from None


def _same_thing(readings: tuple[Readings, ...], names: tuple[str, ...], heater: Heater, notes: list[str]) -> None:
    """Both files count what the sheet's heater takes, as far as they say."""
    for one, name in zip(readings, names):
        if one.kind.startswith("gas") and heater.kind != "gas":
            raise Incomparable(
                f"{name} counts gas, but the sheet's heater is of kind {heater.kind}: write "
                '[heater] kind = "gas" and its efficiency into the sheet.'
            )
    if len({one.kind.startswith("gas") for one in readings}) > 1:
        raise Incomparable("One file counts gas and the other does not: both must be of the same heater's meter.")
    logged = ["water_temp" in one.use and one.use["water_temp"].notna().sum() >= 2 for one in readings]
    if any(logged) and not all(logged):
        notes.append(
            f"{names[logged.index(False)]} has no water temperature; the set point stands for it in both "
            "spells, so that they are treated alike."
        )


def _read_by_night(use: pd.DataFrame, name: str, notes: list[str]) -> pd.DataFrame:
    """Without readings so long that they do not tell one night from the next."""
    long = use["hours"].to_numpy(float) > LONGEST
    if long.all():
        raise Incomparable(
            f"{name} has readings of {use['hours'].median():.0f} hours and more: how much one night "
            "differs from the next, and so how sure a saving is, cannot be told from them. Read the meter at "
            "least once a day, best at noon."
        )
    if long.any():
        notes.append(
            f"{int(long.sum())} readings of more than {LONGEST:.0f} hours in {name} are left out: they do not "
            "tell one night from the next."
        )
    elif use["hours"].median() > 6:
        notes.append(
            f"{name} has readings of {use['hours'].median():.0f} hours: they are spread evenly over them, so "
            "that nights run into each other a little unless they are read at noon."
        )
    return use[~long]


def _together(readings: tuple[Readings, ...], names: tuple[str, ...], sheet: Sheet, covered_nights, notes: list[str]):
    """All intervals in the pond's time zone, the spell each belongs to, and the spells' stretches (None: by dates)."""
    parts = [
        _read_by_night(one.use.tz_convert(value_parsers.time_zone(sheet.timezone)), name, notes)
        for one, name in zip(readings, names)
    ]
    if len(parts) == 1:
        use = parts[0]
        night = night_of(use.index).date
        missing = sorted(set(covered_nights) - set(night))
        if len(missing) == len(set(covered_nights)):
            raise Incomparable(
                f"None of the covered nights lies in {names[0]}, which runs from "
                f"{use.index[0]:%Y-%m-%d} to {use.index[-1]:%Y-%m-%d}."
            )
        if missing:
            notes.append(f"{len(missing)} of the covered nights lie outside {names[0]}, the first {missing[0]}.")
        return use, pd.Series(np.where(np.isin(night, list(covered_nights)), COVERED, OPEN), use.index), None
    alike = all("water_temp" in part and part["water_temp"].notna().sum() >= 2 for part in parts)
    if not alike:
        parts = [part.drop(columns="water_temp", errors="ignore") for part in parts]
    use = pd.concat(parts)
    label = pd.Series(np.repeat([OPEN, COVERED], [len(part) for part in parts]), use.index)
    order = np.argsort(use.index.asi8, kind="stable")
    use, label = use.iloc[order], label.iloc[order]
    end = use.index + pd.to_timedelta(use["hours"].to_numpy(float), "h")
    changes = label[1:].to_numpy() != label[:-1].to_numpy()
    over = np.flatnonzero((use.index[1:] < end[:-1] - pd.Timedelta("4s")) & changes)
    if len(over):
        raise Incomparable(
            f"Both files have readings of the same time, first {use.index[over[0] + 1]:%Y-%m-%d %H:%M}: "
            "was one file given twice? Each night was either open or covered."
        )
    begins = np.flatnonzero(np.append(True, changes))
    untils = np.append(begins[1:], len(use)) - 1
    return use, label, [(label.iloc[at], use.index[at], end[until]) for at, until in zip(begins, untils)]


def _by_the_hour(stretches: list[tuple], index: pd.DatetimeIndex) -> list[tuple]:
    """Stretches that begin with the hour of the weather in which their first reading begins, if the hour is free."""
    made: list[tuple] = []
    for which, start, end in stretches:
        at = int(index.searchsorted(start, side="right")) - 1
        start = index[at] if at >= 0 else start
        made.append((which, max(start, made[-1][2]) if made else start, end))
    return made


def _shared(use: pd.DataFrame, record: Weather) -> None:
    first, last = use.index[0], use.index[-1]
    begins, ends = record.hours.index[0], record.hours.index[-1] + pd.Timedelta("1h")
    if last < begins or first >= ends:
        raise Incomparable(
            f"The weather of {printable(record.place)} has hours from {begins:%Y-%m-%d} to "
            f"{ends:%Y-%m-%d}, the readings run from {first:%Y-%m-%d} to {last:%Y-%m-%d}: weather of "
            "those very days is wanted, of a station near by."
        )


def _water_known(use: pd.DataFrame, place: assessment.BoundaryConditions, notes: list[str]):
    """The use of times for which the water's temperature is known, and the set point where it stands for it."""
    if "water_temp" in use and use["water_temp"].notna().sum() >= 2:
        return use, None
    held = pd.Series(place.set_point, place.hours.index)
    if held.isna().all():
        return use, None  # refused by `align`, with what to give
    hour = np.clip(held.index.searchsorted(use.index, side="right") - 1, 0, len(held) - 1)
    unheld = held.isna().to_numpy()[hour]
    if unheld.all():
        return use, None
    if unheld.any():
        notes.append(
            f"{int(unheld.sum())} readings of days without a set point are left out: how warm the water was "
            "then is not known."
        )
    return use[~unheld], held.ffill().bfill().to_numpy()


def _cop(heater: Heater, place: assessment.BoundaryConditions, notes: list[str]):
    """Heat for each kilowatt-hour of the meter, one value or one an hour."""
    if heater.kind == "gas":
        return heater.efficiency
    if heater.kind == "none":
        notes.append("The sheet names no heater: each kilowatt-hour of the meter is taken to warm the water.")
    if heater.kind != "heat pump":
        return 1.0
    air = place.hours["air_temp"].to_numpy()
    water = np.where(np.isnan(place.set_point), 15.0, place.set_point)
    alone = replace(heater, backup=0.0, lowest_air_temp=-100.0)
    heat = np.maximum(np.minimum(alone.limit(air), 1.0), 1e-9)
    notes.append(
        f"A heat pump: the meter's kilowatt-hours become heat by a modelled COP ({heater.cop_formula}), which "
        "a real one misses by a tenth or more"
        + ("; what its backup took counts as if the pump had taken it." if heater.backup else ".")
    )
    return heat / alone.taken(heat, water, air)[0]


# --- money ----------------------------------------------------------------------------------------------------------


def _tariff(sheet: Sheet, tariff: Tariff | None, notes: list[str]) -> Tariff | None:
    """The tariff of the energy on the meter."""
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


def _saved(aligned: Aligned, found: Comparison, costs, tariff: Tariff | None) -> tuple[Amount, Amount | None]:
    """What each covered night saved [kWh, money]: what it would have used open, less what it used, by the first way."""
    days = found.nights.days[~found.nights.days["forgotten"]]
    bare, laid = (days[days["label"] == which] for which in (OPEN, COVERED))
    open_heat = bare["used"].sum() / bare["open_need"].sum() * laid["open_need"].mean()
    would = open_heat / aligned.efficiency
    first = found.outcomes[0]
    shares = (first.saving, first.low, first.high)
    kwh = Amount(*(float(share * would) for share in shares))
    if costs is None:
        return kwh, None
    tax = 1.0 if tariff.tax_included else 1 + tariff.tax_rate
    price = {
        which: cost.energy_money / cost.kwh * tax if cost.kwh > 0 else float("nan") for which, cost in costs.items()
    }
    return kwh, Amount(*(float(would * (price[OPEN] - (1 - share) * price[COVERED])) for share in shares))


# --- a meter of the whole house ---------------------------------------------------------------------------------------


def _beside(use: pd.DataFrame, heater: Heater) -> str | None:
    """A sentence where the meter often counts more than the heater takes; not for a heat pump, whose use varies."""
    if heater.kind not in ("resistance", "gas"):
        return None
    most = heater.power / (heater.efficiency if heater.kind == "gas" else 1.0)
    hours = use["hours"].to_numpy(float)
    beyond = hours[1000 * use["kwh"].to_numpy(float) > BEYOND * most * hours].sum()
    if beyond <= OFTEN * hours.sum():
        return None
    return (
        f"In {100 * beyond / hours.sum():.0f} % of the time the meter counted more than the sheet's heater takes "
        f"({most / 1000:g} kW): if something else is on it, take that off with --base-load, or log the heater by "
        "itself."
    )


def _house(aligned: Aligned, found: Comparison, base_load: float) -> str | None:
    """A sentence where the open nights took far more than the pond could; how large the heater's share has to be."""
    days = found.nights.days[~found.nights.days["forgotten"]]
    bare = days[days["label"] == OPEN]
    used, need = bare["used"].mean(), bare["open_need"].mean()
    if used <= TOO_MUCH * need:
        return None
    count = [int((days["label"] == which).sum()) for which in (OPEN, COVERED)]
    said = (
        f"The meter counted {used:.3g} kWh of heat in an open night, of which this pond, by its sheet, needs about "
        f"{need:.3g} ({100 * need / used:.0f} %): does it count the whole house, or is the sheet of another pond? "
    )
    if min(count) < 2:
        return said + "Log the heater by itself."
    scatter = float(bare["kwh"].std() / bare["kwh"].mean())
    needed = period_comparison.share_needed(HALVED, scatter, *map(float, count))
    if needed > 1:
        return said + (
            f"Its use differs from night to night by {100 * scatter:.0f} %, so that over {sum(count)} "
            "nights not even a halved heater would show: log the heater by itself."
        )
    return said + (
        f"Its use differs from night to night by {100 * scatter:.0f} %: before a cover that halves the "
        f"heater's use can be shown over {sum(count)} nights, the heater must be {100 * needed:.0f} % of "
        "the meter. Log the heater by itself, or take off the rest with --base-load if it is steady."
    )
