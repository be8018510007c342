"""Electricity tariffs with time-of-day windows, dates or half-hourly prices, in local civil time.

A tariff's table, in a file of its own or in a pond sheet::

    [tariff]
    name = "Night saver"
    otherwise = "30 p/kWh"             # all hours outside the windows; a flat tariff may use rate = instead
    standing_charge = "53 p/day"
    tax = "5 %"
    tax_included = true
    rounding = "hundredth"             # or "none"
    # prices = "prices.csv"            # instead of otherwise: a file of half-hourly prices, columns time,price
    # prices_timezone = "UTC"          # of its times, where they name no offset
    # prices_dates = "day first"       # or "month first", where its dates don't show it
    # prices_of = "North"              # the region or product to read, where the file has several
    # export_rate = "10 p/kWh"         # paid for each kilowatt-hour exported

    [[tariff.window]]
    name = "night"
    rate = "12 p/kWh"
    start = "00:30"
    end = "07:30"
    # days = "weekdays"                # or "weekends", or ["Saturday", …]; all days if omitted
    # from = "10-01"                   # within dates; a dated window takes precedence over one without dates
    # to = "03-31"
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import tzinfo
from functools import lru_cache
from pathlib import Path

import numpy as np
import pandas as pd

from pondheat.core import toml_errors, units, value_parsers
from pondheat.core.files import read_input_text, why_not_read
from pondheat.core.ranges import choose, plain, require
from pondheat.core.units import Unreadable
from pondheat.money import civil_time, price_file
from pondheat.money import windows as clock_windows
from pondheat.money.civil_time import DAY, HOUR, MINUTE
from pondheat.money.price_series import PriceSeries
from pondheat.money.windows import Window

KEYS = (
    "name",
    "currency",
    "rate",
    "otherwise",
    "prices",
    "prices_timezone",
    "prices_dates",
    "prices_of",
    "window",
    "standing_charge",
    "tax",
    "tax_included",
    "rounding",
    "export_rate",
)
ROUNDINGS = ("none", "hundredth")
ALL_HOURS, OTHER_HOURS, GAS, EXPORT = "all hours", "other hours", "gas", "sent back"


class TariffError(ValueError):
    """The parts of a tariff contradict each other; the message says which."""


@dataclass(frozen=True)
class Tariff:
    """An electricity tariff.

    name: text; windows: the rates valid at certain hours; otherwise: rate of all other hours [money/kWh]; price_series:
    half-hourly prices, instead of `otherwise`; standing_charge: [money/day]; tax_rate: [–]; tax_included: whether rates
    and standing charge include the tax; rounding: “none”, or “hundredth” (the total is rounded once); export_rate: paid
    for exported electricity [money/kWh]; rate_names: names of the rates, in order of the windows, derived.
    Raises OutOfRange, and `TariffError` where windows overlap, leave gaps without `otherwise`, or no rate is given.
    """

    name: str
    windows: tuple[Window, ...] = ()
    otherwise: float | None = None
    standing_charge: float = 0.0
    tax_rate: float = 0.0
    tax_included: bool = True
    currency: units.Currency = units.GBP
    price_series: PriceSeries | None = None
    rounding: str = "none"
    export_rate: float | None = None
    rate_names: tuple[str, ...] = field(init=False, repr=False, compare=False)

    def __post_init__(self):
        object.__setattr__(self, "windows", tuple(self.windows))
        require(
            rate=self.otherwise,
            standing_charge=self.standing_charge,
            tax_rate=self.tax_rate,
            export_rate=self.export_rate,
        )
        choose("rounding", self.rounding, ROUNDINGS)
        wrong = _conflicts(self.windows, self.otherwise, self.price_series)
        if wrong:
            raise TariffError(wrong[0][1])
        names = [window.name for window in self.windows]
        if self.otherwise is not None or self.price_series is not None:
            names.append(OTHER_HOURS if self.windows else ALL_HOURS)
        object.__setattr__(self, "rate_names", tuple(dict.fromkeys(names)))

    def rates(self, index: pd.DatetimeIndex, step_minutes: int = 60) -> tuple[np.ndarray, pd.DataFrame]:
        """Mean rate of each interval [money/kWh], and the share of the interval at each named rate [–].

        index: starts of the intervals, with a time zone; step_minutes: their length [minute]. Local civil time is that
        of the index's zone. Intervals are split exactly where a window begins or ends and where clocks change; energy
        is assumed evenly spread over an interval. Dated windows take precedence. Raises `core.units.Unreadable` for an
        index without a zone, or for times the price file does not cover.

        >>> night = Tariff("example", (Window("night", 0.12, "00:30", "07:30"),), otherwise=0.30)
        >>> hours = pd.date_range("2025-01-15 00:00", periods=2, freq="h", tz="Europe/London")
        >>> [round(float(rate), 3) for rate in night.rates(hours)[0]]
        [0.21, 0.12]
        """
        shares, costs = self.rate_shares(index, step_minutes)
        return costs.sum(axis=1), pd.DataFrame(shares, index=index, columns=list(self.rate_names))

    def rate_shares(self, index: pd.DatetimeIndex, step_minutes: int = 60) -> tuple[np.ndarray, np.ndarray]:
        """Share of each interval at each rate [–], and share × rate [money/kWh].

        index, step_minutes: as for `rates`. Both arrays have the shape (intervals, rate_names) and are read-only, as
        those of the last few calls are kept: a panel asks for the same hours at every move.
        """
        require(step_minutes=step_minutes)
        begin = civil_time.instants(index)
        return _rate_shares(self, civil_time.zone_of(index), begin.tobytes(), int(step_minutes) * MINUTE)

    def rate_segments(self, tz: tzinfo, begin: int, end: int) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Segments of constant rate: their starts, positions in `rate_names` and rates [money/kWh].

        tz: the zone of the clock windows; begin, end: instants, seconds since 1970 UTC. A segment lasts until the next
        one starts. Raises `core.units.Unreadable` for times outside the price file.
        """
        cuts = {minute for window in self.windows for minute in window.clock_minutes}
        starts, local = civil_time.segments(tz, begin, end, cuts)
        if self.price_series is not None:
            extra = np.setdiff1d(self.price_series.step_starts(begin, end), starts)
            starts = np.concatenate([starts, extra])
            local = np.concatenate([local, civil_time.local_seconds(extra, tz)]) if extra.size else local
            order = np.argsort(starts)
            starts, local = starts[order], local[order]
        owner = np.full(len(starts), len(self.rate_names) - 1)
        rate = np.full(len(starts), np.nan if self.otherwise is None else self.otherwise)
        outside = np.ones(len(starts), dtype=bool)
        for window in sorted(self.windows, key=lambda each: each.dated):  # dated windows last, so that they prevail
            valid = window.holds_at(local % DAY) & window.holds_on(local // DAY)
            owner[valid], rate[valid], outside[valid] = self.rate_names.index(window.name), window.rate, False
        if self.price_series is not None and outside.any():
            rate[outside] = self.price_series.price_at(starts[outside])
        return starts, owner, rate


@lru_cache(maxsize=16)
def _rate_shares(tariff: Tariff, tz: tzinfo, begins: bytes, step: int) -> tuple[np.ndarray, np.ndarray]:
    """`Tariff.rate_shares` of the intervals that begin at these instants, packed as bytes, and last for `step` [s]."""
    begin = np.frombuffer(begins, np.int64)
    shares, costs = (np.zeros((len(begin), len(tariff.rate_names))) for _ in range(2))
    if begin.size:
        starts, owner, rate = tariff.rate_segments(tz, int(begin.min()), int(begin.max()) + step)
        bounds = np.append(starts, begin.max() + step)
        lengths = np.diff(bounds)
        # Cumulative time at a rate is piecewise linear; its rise over an interval is that interval's share.
        for column in range(len(tariff.rate_names)):
            seconds = np.where(owner == column, lengths, 0)
            for result, slope in ((shares, seconds), (costs, seconds * rate)):
                line = np.append(0, np.cumsum(slope))
                result[:, column] = (np.interp(begin + step, bounds, line) - np.interp(begin, bounds, line)) / step
    for result in (shares, costs):
        result.setflags(write=False)
    return shares, costs


def _conflicts(
    windows: tuple[Window, ...], otherwise: float | None, prices: PriceSeries | None
) -> list[tuple[str, str]]:
    """Contradictions among the parts of a tariff, as (key path, sentence)."""
    wrong = [(f"window[{second + 1}]", sentence) for _, second, sentence in clock_windows.overlaps(windows)]
    rates_by_name: dict[str, float] = {}
    for number, window in enumerate(windows, start=1):
        if window.name in (ALL_HOURS, OTHER_HOURS, GAS, EXPORT):
            wrong.append((f"window[{number}].name", f"“{window.name}” names something else here: choose another name."))
        if rates_by_name.setdefault(window.name, window.rate) != window.rate:
            wrong.append(
                (
                    f"window[{number}].name",
                    f"Two windows of different rates are called “{window.name}”: give one of them another name.",
                )
            )
    if otherwise is not None and prices is not None:
        wrong.append(("prices", "Give a price file or one rate for the hours outside the windows, not both."))
    elif otherwise is None and prices is None:
        gap = (
            clock_windows.coverage_gap(windows)
            if windows
            else 'No rate is given at all: write rate = "28 p/kWh", or windows.'
        )
        if gap:
            wrong.append(("otherwise", gap))
    return wrong


def from_table(
    table: dict, currency: units.Currency, folder: Path | None = None
) -> tuple[Tariff | None, list[tuple[str, str]]]:
    """Tariff from its TOML table, or None with every error in the table as (key path, sentence).

    table: as shown in the module's docstring; folder: where a price file named in it is found. Two windows may only
    overlap if one of them is dated and so takes precedence. Key paths count windows from 1: ``window[2].start``.
    """
    taken = value_parsers.TableReader(table, KEYS)

    def rate(value) -> float:
        return value_parsers.rate(value, currency)

    def same_currency(value) -> str:
        if str(value).upper() != currency.code:
            raise Unreadable(
                f"This tariff is in {value}, all other prices are in {currency.code}: give all of them in one currency."
            )
        return currency.code

    def prices_in_folder(name) -> PriceSeries:
        return price_file.read(
            (folder or Path()) / value_parsers.text(name), currency, prices_zone, prices_dates, prices_of
        )

    taken.take("currency", same_currency, None)
    prices_zone = taken.take("prices_timezone", lambda value: value_parsers.time_zone(value).key, None)
    prices_dates, prices_of = (taken.take(f"prices_{key}", value_parsers.text, None) for key in ("dates", "of"))
    otherwise = taken.take("rate" if "rate" in table else "otherwise", rate, None)
    if "rate" in table and "otherwise" in table:
        taken.fault("rate", "“rate” and “otherwise” are the same thing, the price of all other hours: give one.")
    prices = taken.take("prices", prices_in_folder, None)
    tax_rate = taken.take("tax", value_parsers.fraction, 0.0)
    if tax_rate and "tax_included" not in table:
        taken.fault("tax_included", "Say whether the rates already include the tax: tax_included = true or false.")
    rest = {
        "name": taken.take("name", value_parsers.text, "tariff"),
        "standing_charge": taken.take(
            "standing_charge", lambda value: value_parsers.daily_charge(value, currency), 0.0
        ),
        "tax_included": taken.take("tax_included", value_parsers.yes_or_no, True),
        "rounding": taken.take("rounding", lambda value: choose("rounding", value, ROUNDINGS), "none"),
        "export_rate": taken.take("export_rate", rate, None),
    }
    listed = table.get("window", [])
    read_windows = [
        clock_windows.from_table(values, number, currency)
        for number, values in enumerate(listed if isinstance(listed, list) else [listed], start=1)
    ]
    faults = taken.faults + [fault for _, found in read_windows for fault in found]
    made = tuple(window for window, _ in read_windows if window is not None)
    # Gaps and overlaps are only known once every rate and window could be read.
    if len(made) == len(read_windows) and not {path for path, _ in faults} & {"rate", "otherwise", "prices"}:
        faults += _conflicts(made, otherwise, prices)
    if faults:
        return None, faults
    return Tariff(
        windows=made, otherwise=otherwise, price_series=prices, tax_rate=tax_rate, currency=currency, **rest
    ), []


def read(path: str | Path, currency: units.Currency) -> tuple[Tariff | None, list[tuple[str, str]]]:
    """Tariff from a TOML file, with its table under ``[tariff]`` or at the top level; errors as in `from_table`."""
    path = Path(path)
    try:
        values = toml_errors.loads(read_input_text(path))
    except UnicodeDecodeError:
        return None, [("", f"The tariff file {path} could not be read: it isn't text in UTF-8. Save it so.")]
    except (OSError, units.Unreadable) as wrong:
        return None, [("", f"The tariff file {path} could not be read: {why_not_read(wrong)}")]
    table = values.get("tariff", values)
    if not isinstance(table, dict):
        return None, [("tariff", "The tariff is a table of its own: begin it with [tariff].")]
    return from_table(table, currency, path.parent)


def energy_of_power(power, hours):
    """Energy [kWh] of a constant power over time: power × hours / 1000.

    power: [W]; hours: [hour]; floats or arrays. Raises OutOfRange. Source: by definition; example OpenStax College
    Physics ch. 20, a 60 W lamp for 1000 h.

    >>> energy_of_power(power=60.0, hours=1000.0)
    60.0
    """
    require(power=power, hours=hours)
    return plain(np.asarray(power, float) * np.asarray(hours, float) / 1000)


def energy_cost(energy, rate):
    """Cost [money] of energy at a constant rate: energy × rate.

    energy: [kWh]; rate: [money/kWh]; floats or arrays. Raises OutOfRange. Source: by definition; example OpenStax
    College Physics ch. 7, 36.0 kWh at 0.120.

    >>> energy_cost(energy=36.0, rate=0.120)
    4.32
    """
    require(energy=energy, rate=rate)
    return plain(np.asarray(energy, float) * np.asarray(rate, float))


def hours_in_day(timezone: str, date) -> float:
    """Length of a local calendar day [hour]: 24, or for instance 23 or 25 where clocks change.

    timezone: IANA name; date: “YYYY-MM-DD”. Raises `core.units.Unreadable`. Source: IANA time zone database.

    >>> hours_in_day("Europe/London", "2025-03-30"), hours_in_day("Australia/Lord_Howe", "2025-04-06")
    (23.0, 24.5)
    """
    day = civil_time.day_number(date)
    return float(civil_time.day_segments(timezone, day, day)[1].sum() / HOUR)


def hours_in_window(timezone: str, year: int, start: str, end: str) -> float:
    """Time per calendar year within a daily clock window [hour].

    timezone: IANA name; year: [–]; start, end: “HH:MM”; an end at or before the start is on the next day. Over a year
    clock changes cancel, so a 7 h window lasts 7 h × days, though not on the days of the change (nor in a year in which
    a zone gives up summer time). Raises `core.units.Unreadable`, OutOfRange. Source: IANA time zone database.

    >>> hours_in_window("Europe/London", 2025, "00:30", "07:30")
    2555.0
    """
    window = Window("window", 0.0, start, end)
    first, after = (civil_time.day_number(f"{int(year) + more:04d}-01-01") for more in (0, 1))
    local, lengths = civil_time.day_segments(timezone, first, after - 1, window.clock_minutes)
    return float(lengths[window.holds_at(local % DAY)].sum() / HOUR)
