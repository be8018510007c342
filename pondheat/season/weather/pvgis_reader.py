"""Reader of PVGIS files, CSV or JSON: typical years (UTC, converted to standard time) and hourly series of real years.

Time stamps are in UTC. Irradiance from satellite images is a sample at that minute, not an hourly mean.
"""

from __future__ import annotations

import io
import json
import re
from pathlib import Path

import numpy as np
import pandas as pd

from pondheat.season.weather.record import MEASURED, TYPICAL, Record, WeatherError, year_of_hours

_NOTICE = "PVGIS, European Commission Joint Research Centre, © European Union; free to use with this notice"


def read_pvgis(path: Path, text: str) -> Record:
    """Record from a PVGIS file; the arguments are those of every reader in `season.weather.formats.READERS`.

    path: of the file, for its name; text: its content. Raises `WeatherError` for PVGIS tables other than typical years
    and hourly series, and for irradiance on a sloping plane.
    """
    from pvlib import iotools

    kind = "json" if text.lstrip().startswith("{") else "csv"
    if kind == "json":
        try:
            outputs = json.loads(text).get("outputs", {})
        except json.JSONDecodeError as error:
            raise WeatherError(
                f"{path.name} is JSON that is cut short or damaged at line {error.lineno}. Download it again."
            ) from None
        typical, series = "tmy_hourly" in outputs, "hourly" in outputs
    else:
        typical, series = "time(UTC)" in text[:5000], bool(re.search(r"^time,", text[:5000], re.M))
    if typical:
        data, head = iotools.read_pvgis_tmy(
            io.StringIO(text) if kind == "json" else io.BytesIO(text.encode()), pvgis_format=kind, map_variables=False
        )
        return _typical_year(path, data, head)
    if series:
        data, head = iotools.read_pvgis_hourly(io.StringIO(text), pvgis_format=kind, map_variables=False)
        return _hourly_series(path, data, head)
    raise WeatherError(
        f"{path.name} is neither a typical year nor an hourly series from PVGIS (its monthly and daily tables are not "
        "read). Download “TMY” there."
    )


def _location(inputs: dict) -> tuple[float, float, float]:
    """Latitude, longitude and elevation."""
    place = inputs.get("location", inputs)
    return float(place["latitude"]), float(place["longitude"]), float(place["elevation"])


def _record(
    path: Path, hours: pd.DataFrame, kind: str, location: tuple[float, float, float], notes: list[str]
) -> Record:
    """Record of hours in UTC, with the wind at 10 m."""
    place = f"{location[0]:.2f}°, {location[1]:.2f}°"
    return Record(hours, kind, place, f"{_NOTICE}; file {path.name}", *location, 10.0, 0.0, notes)


def _typical_year(path: Path, data: pd.DataFrame, head: dict) -> Record:
    """Record from the table and metadata of a typical year."""
    location = _location(head["inputs"])
    notes: list[str] = []
    columns = {
        "air_temp": data["T2m"],
        "rel_humidity": data["RH"] / 100,
        "wind_speed": data["WS10m"],
        "solar": data["G(h)"],
        "sky_long_wave": data["IR(h)"],
        "pressure": data["SP"],
    }
    stamps = pd.DatetimeIndex(data.index)
    hours = year_of_hours(columns, stamps.month, stamps.day, stamps.hour + 1, notes)
    record = _record(path, hours, TYPICAL, location, notes)
    inputs = head["inputs"]
    offset = inputs.get("irradiance time offset", inputs.get("location", {}).get("irradiance_time_offset"))
    shift_from_utc(record, None if offset is None else float(offset))
    return record


def shift_from_utc(record: Record, offset: float | None) -> None:
    """Interpolate a PVGIS year's irradiance to mid-hour and shift its UTC hours to standard time, in place.

    offset: time of the samples after the hour [h]; None if the file does not give it.
    """
    record.utc_offset, record.exact_utc = 0.0, True
    if offset is None:
        offset = 1 / 6
        record.notes.append(
            "The file does not say at which minute the sun was sampled; 10 minutes past the hour is assumed."
        )
    solar = record.hours["solar"].to_numpy()
    # Samples are at hour + offset, mid-hour is at + 0.5: interpolate linearly between neighbours.
    early = offset <= 0.5
    share = abs(0.5 - offset)
    record.hours["solar"] = (1 - share) * solar + share * np.roll(solar, -1 if early else 1)
    record.notes.append(
        f"The sun is a sample at {60 * offset:.0f} minutes past each hour, interpolated to the middle of the hour; the "
        "other columns are readings at the start of the hour."
    )
    assert record.longitude is not None  # PVGIS and EPW files always give it
    roll_to_offset(record, round(record.longitude / 15))
    record.notes.append(
        f"The file's hours are in UTC; they were shifted to the local standard time, UTC{record.utc_offset:+.0f} "
        "(longitude/15, rounded)."
    )


def roll_to_offset(record: Record, utc_offset: float) -> None:
    """Rotate a year, in place, to start at midnight of a standard time `utc_offset` hours ahead of UTC."""
    steps = round(utc_offset - record.utc_offset)
    record.hours = record.hours.apply(lambda column: np.roll(column, steps))
    record.utc_offset += steps


def _hourly_series(path: Path, data: pd.DataFrame, head: dict) -> Record:
    """Record from the table and metadata of an hourly series of real years."""
    inputs = head["inputs"]
    location = _location(inputs)
    mounting = inputs.get("mounting_system", {})
    slope = (
        mounting.get("fixed", {}).get("slope", {}).get("value", "tracking")
        if mounting
        else str(inputs.get("Slope", "tracking")).split("deg")[0].strip()
    )
    if str(slope) == "tracking" or float(slope) != 0:
        raise WeatherError(
            f"{path.name} has the sun on a plane with slope {slope}, but a pond is level. Download the series again "
            "with slope 0 (or the typical year, which is level)."
        )
    solar = data["G(i)"] if "G(i)" in data else data["Gb(i)"] + data["Gd(i)"] + data["Gr(i)"]
    stamps = pd.DatetimeIndex(data.index)
    minute = int(stamps.minute[0])
    start = stamps.floor("h")
    hours = pd.DataFrame({"air_temp": data["T2m"].to_numpy(), "wind_speed": data["WS10m"].to_numpy()}, index=start)
    middle = (start + pd.Timedelta(minutes=30)).as_unit("ns").asi8
    hours["solar"] = np.interp(middle, stamps.as_unit("ns").asi8, solar.to_numpy())
    # FAO-56 eq 48: without a record of humidity, the dew point is taken as the daily minimum temperature.
    lowest = hours["air_temp"].groupby((start + pd.Timedelta(hours=location[1] / 15)).floor("D")).transform("min")
    hours["dew_point"] = lowest
    notes = [
        "Real hours, from satellite images and a weather model.",
        f"Values are for {minute} minutes past each hour; the sun was interpolated to the middle of the hour.",
        "PVGIS hourly series have no humidity: the dew point is taken as each day's lowest temperature (FAO-56 eq "
        "48, good in damp climates); the PVGIS typical year has humidity of its own.",
    ]
    full = pd.date_range(start[0], start[-1], freq="h", name="time")
    return _record(path, hours.reindex(full), MEASURED, location, notes)
