"""How a file was understood, as plain text and as data: sums of each day or month of a log, a tariff's week."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

import numpy as np
import pandas as pd

from pondheat.core import units
from pondheat.meter.reading import energy_use
from pondheat.meter.reading.meter_file import Readings
from pondheat.meter.reading.thermometer_file import WaterLog
from pondheat.money.civil_time import HOUR
from pondheat.money.tariffs import Tariff
from pondheat.season.weather.weather import Weather, summary
from pondheat.text.layout import wrapped
from pondheat.text.savings_text import as_option

MOST_DAYS = 45  # longer records are shown month by month


def meter_days(found: Readings, timezone: str) -> pd.DataFrame:
    """Energy and metered hours of each local day: columns kwh [kWh], hours [h], by date as text."""
    return energy_use.statistics(found.use, timezone).by_day[["kwh", "hours"]]


def water_days(found: WaterLog) -> pd.DataFrame:
    """Mean, lowest and highest water temperature [°C] of each local day, by date as text."""
    temps = found.water["water_temp"]
    days = temps.groupby(energy_use.start_times(found.water).strftime("%Y-%m-%d"))
    return days.agg(["mean", "min", "max"])


def weather_days(found: Weather) -> pd.DataFrame:
    """Of each local day: mean air_temp [°C], mean wind_speed [m/s], sun [kWh/m²], by date as text."""
    index = pd.DatetimeIndex(found.hours.index).strftime("%Y-%m-%d")
    days = found.hours.groupby(index)
    return pd.DataFrame(
        {
            "air_temp": days["air_temp"].mean(),
            "wind_speed": days["wind_speed"].mean(),
            "sun": days["solar"].sum() / 1000,
        }
    )


def table_text(days: pd.DataFrame, heads: dict[str, str], sums: tuple[str, ...] = ()) -> list[str]:
    """Lines of a table of days; of months, where there are many days.

    heads: column → its head in the table, in order; sums: columns that are added up over a month, others averaged.
    """
    first = "day"
    if len(days) > MOST_DAYS:
        ways = {name: "sum" if name in sums else name if name in ("min", "max") else "mean" for name in heads}
        days, first = days.groupby(days.index.str[:7]).agg(ways), "month"
    lines = [f"{first:<12}" + "".join(f"{head:>14}" for head in heads.values())]
    for day, row in days[list(heads)].iterrows():
        lines.append(f"{day!s:<12}" + "".join(f"{units.digits(value, 1):>14}" for value in row))
    return lines


def meter_text(found: Readings, timezone: str) -> str:
    """How a meter file was read, with its daily sums."""
    lines = [line for part in found.text().splitlines() for line in (wrapped(as_option(part)) or [""])]
    return "\n".join(
        [*lines, "", *table_text(meter_days(found, timezone), {"kwh": "kWh", "hours": "hours"}, ("kwh", "hours"))]
    )


def water_text(found: WaterLog) -> str:
    """How a thermometer's file was read, with its daily means."""
    index = energy_use.start_times(found.water)
    said = [
        f"{units.digits(len(index))} water temperatures, {index[0]:%Y-%m-%d %H:%M} to {index[-1]:%Y-%m-%d %H:%M}.",
        "",
        "How the file was read:",
        *found.interpretation,
        "",
        "Repairs:" if found.repairs else "Nothing had to be mended.",
        *(one.sentence for one in found.repairs),
    ]
    lines = [line for part in said for line in (wrapped(as_option(part)) or [""])]
    return "\n".join(
        [*lines, "", *table_text(water_days(found), {"mean": "mean °C", "min": "lowest °C", "max": "highest °C"})]
    )


def weather_text(found: Weather) -> str:
    """How a weather file was read, with its daily means."""
    lines = [*wrapped(summary(found) + "."), *wrapped(f"Source: {found.source}."), "", "How the file was read:"]
    for note in found.notes or ("All columns are what their headings say; nothing had to be mended.",):
        lines += wrapped(note)
    heads = {"air_temp": "air °C", "wind_speed": "wind m/s", "sun": "sun kWh/m²"}
    return "\n".join([*lines, "", *table_text(weather_days(found), heads, ("sun",))])


# --- tariffs ------------------------------------------------------------------------------------------------------


@dataclass
class Stretch:
    """A stretch of a local day at one rate.

    start, end: minutes after midnight by the clock; name: of the rate; rate: [money/kWh].
    """

    start: int
    end: int
    name: str
    rate: float

    def text(self, tariff: Tariff) -> str:
        """As in “00:30–07:30 night 12 p/kWh”."""
        clock = "–".join(f"{minute // 60:02d}:{minute % 60:02d}" for minute in (self.start, self.end))
        return f"{clock} {self.name} {rate_text(self.rate, tariff)}"


def rate_text(rate: float, tariff: Tariff) -> str:
    """A rate in the hundredth of its currency, as in “12 p/kWh”."""
    return f"{round(100 * rate, 2):g} {tariff.currency.hundredth}/kWh"


def day_of_tariff(tariff: Tariff, timezone: str, day: dt.date) -> list[Stretch]:
    """The stretches of one local day, in order; raises `core.units.Unreadable` for days without a price."""
    begin = pd.Timestamp(day, tz=timezone)
    end = pd.Timestamp(day + dt.timedelta(days=1), tz=timezone)
    first, last = int(begin.timestamp()), int(end.timestamp())
    assert begin.tz is not None
    starts, owner, rate = tariff.rate_segments(begin.tz, first, last)
    found: list[Stretch] = []
    for at, which, value in zip(starts.tolist(), owner.tolist(), rate.tolist()):
        clock = pd.Timestamp(at, unit="s", tz="UTC").tz_convert(timezone)
        minute = clock.hour * 60 + clock.minute if at > first else 0
        name = tariff.rate_names[which]
        if found and (found[-1].name, found[-1].rate) == (name, value):
            continue
        if found:
            found[-1].end = minute
        found.append(Stretch(minute, 1440, name, value))
    return found


def tariff_text(tariff: Tariff, timezone: str, monday: dt.date) -> str:
    """A week of a tariff as it was understood, days that are alike in one line."""
    code, sign = tariff.currency.code, tariff.currency.sign
    lines = wrapped(
        f"{tariff.name}, in {code}. The week from {monday:%d %B %Y}, by the clock on the wall in {timezone}:"
    )
    days = [(day, day_of_tariff(tariff, timezone, day)) for day in (monday + dt.timedelta(days=n) for n in range(7))]
    groups: list[tuple[list[dt.date], list[Stretch]]] = []
    for day, stretches in days:
        said = [one.text(tariff) for one in stretches]
        if groups and [one.text(tariff) for one in groups[-1][1]] == said:
            groups[-1][0].append(day)
        else:
            groups.append(([day], stretches))
    for same, stretches in groups:
        name = f"{same[0]:%a}" + (f"–{same[-1]:%a}" if len(same) > 1 else "")
        lines += wrapped("; ".join(one.text(tariff) for one in stretches) + ".", f"{name:<9}")
    rates = np.array([one.rate for _, stretches in days for one in stretches])
    if tariff.price_series is not None:
        hours = np.array([(one.end - one.start) * 60 / HOUR for _, stretches in days for one in stretches])
        below = f"; {units.digits(hours[rates < 0].sum(), 1)} hours below zero" if (rates < 0).any() else ""
        lines += wrapped(
            f"Prices from {rate_text(rates.min(), tariff)} to {rate_text(rates.max(), tariff)}, "
            f"{rate_text(float((rates * hours).sum() / hours.sum()), tariff)} on average{below}."
        )
    else:
        lines += wrapped(
            f"The cheapest hour costs {rate_text(rates.min(), tariff)}, the most expensive "
            f"{rate_text(rates.max(), tariff)}."
        )
    lines += wrapped(f"Standing charge: {sign}{tariff.standing_charge:.2f} a day.")
    if tariff.tax_rate:
        held = "is in these rates already" if tariff.tax_included else "is added to all of it"
        lines += wrapped(f"Tax of {units.digits(100 * tariff.tax_rate, 1)} % {held}.")
    if tariff.export_rate is not None:
        lines += wrapped(f"Paid for a kWh sent back: {rate_text(tariff.export_rate, tariff)}.")
    if tariff.rounding != "none":
        lines += wrapped(f"The bill is rounded once, to the {tariff.rounding}.")
    return "\n".join(lines)


def tariff_dict(tariff: Tariff, timezone: str, monday: dt.date) -> dict:
    """A tariff and its week as data for JSON: money/kWh, minutes as clock times."""
    return {
        "name": tariff.name,
        "currency": tariff.currency.code,
        "standing_charge_per_day": tariff.standing_charge,
        "tax_rate": tariff.tax_rate,
        "tax_included": tariff.tax_included,
        "export_rate": tariff.export_rate,
        "week": {
            str(day): [
                {"from": f"{one.start // 60:02d}:{one.start % 60:02d}", "name": one.name, "rate": one.rate}
                for one in day_of_tariff(tariff, timezone, day)
            ]
            for day in (monday + dt.timedelta(days=n) for n in range(7))
        },
    }
