"""How a file was understood, as plain text and as data: sums of each day or month of a log."""

from __future__ import annotations

import pandas as pd

from pondheat.core import units
from pondheat.meter.reading import energy_use
from pondheat.meter.reading.meter_file import Readings
from pondheat.meter.reading.thermometer_file import WaterLog
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


def meter_text(found: Readings, days: pd.DataFrame) -> str:
    """How a meter file was read, with its daily sums; days: as `meter_days` gives them."""
    lines = [line for part in found.text().splitlines() for line in (wrapped(as_option(part)) or [""])]
    return "\n".join([*lines, "", *table_text(days, {"kwh": "kWh", "hours": "hours"}, ("kwh", "hours"))])


def water_text(found: WaterLog, days: pd.DataFrame) -> str:
    """How a thermometer's file was read, with its daily means; days: as `water_days` gives them."""
    index = energy_use.start_times(found.water)
    said = [
        f"{units.digits(len(index))} water temperatures, {index[0]:%Y-%m-%d %H:%M} to {index[-1]:%Y-%m-%d %H:%M}.",
        "",
        "How the file was read:",
        *found.interpretation,
        "",
        "Repairs:" if found.repairs else "Nothing needed repair.",
        *(one.sentence for one in found.repairs),
    ]
    lines = [line for part in said for line in (wrapped(as_option(part)) or [""])]
    return "\n".join([*lines, "", *table_text(days, {"mean": "mean °C", "min": "lowest °C", "max": "highest °C"})])


def weather_text(found: Weather, days: pd.DataFrame) -> str:
    """How a weather file was read, with its daily means; days: as `weather_days` gives them."""
    lines = [*wrapped(summary(found) + "."), *wrapped(f"Source: {found.source}."), "", "How the file was read:"]
    for note in found.notes or ("All columns are what their headings say; nothing needed repair.",):
        lines += wrapped(note)
    heads = {"air_temp": "air °C", "wind_speed": "wind m/s", "sun": "sun kWh/m²"}
    return "\n".join([*lines, "", *table_text(days, heads, ("sun",))])
