"""A weather record, and its repair: implausible values, short gaps and missing columns.

Every repair and assumption adds a sentence to `Record.notes`; records that cannot be repaired honestly are rejected.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import pandas as pd

from pondheat.core import ranges, units
from pondheat.heat import moist_air
from pondheat.season import sun

COLUMNS = (
    "air_temp",
    "rel_humidity",
    "wind_speed",
    "solar",
    "cloud_cover",
    "sun_dimming",
    "sky_long_wave",
    "pressure",
)
REQUIRED = ("air_temp", "rel_humidity", "wind_speed", "solar", "cloud_cover", "pressure")
TYPICAL, MEASURED, NORMALS = "typical year", "measured", "made from monthly normals"
MAX_FILL_HOURS = 3  # judgement: a straight line over more hours would flatten a night's cooling
_MONTH_START = np.cumsum([0, 31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30])
_YEAR_HOURS = pd.date_range("2023-01-01", periods=8760, freq="h", name="time")  # any year without 29 February
_MAX_ODD_VALUES = 24  # up to this many may be odd bad readings; more mean a wrong unit or a broken instrument
_MAX_PLACES_SHOWN = 4  # gaps named in one sentence


class WeatherError(units.Unreadable):
    """A weather source cannot be used; the message says where, why and what to do."""


@dataclass
class Record:
    """Hourly weather of one source, not yet placed in a calendar.

    hours: the COLUMNS, and where the source has them dew_point [°C] and row (line number in the file); the index is
    naive standard hours of one year (typical years, normals) or tz-aware hours (measured). kind: TYPICAL, MEASURED or
    NORMALS. latitude, longitude: [deg]; altitude, wind_height: [m]; None where the source does not give them.
    utc_offset: the source's standard time minus UTC [h]. exact_utc: whether the hours are known in UTC, so that the
    year can be rotated to another standard time. written, minutes: of a table, the unit each column was read in and
    the usual step of its rows [min]. bridged: spans that were filled from a typical year.
    """

    hours: pd.DataFrame
    kind: str
    place: str
    source: str
    latitude: float | None = None
    longitude: float | None = None
    altitude: float | None = None
    wind_height: float | None = None
    utc_offset: float = 0.0
    notes: list[str] = field(default_factory=list)
    exact_utc: bool = False
    written: dict[str, str] = field(default_factory=dict)
    minutes: float = 60.0
    bridged: tuple[tuple[pd.Timestamp, pd.Timestamp], ...] = ()

    def true_times(self) -> pd.DatetimeIndex:
        """The hours as tz-aware times, for the sun's position at the source's own place."""
        index = pd.DatetimeIndex(self.hours.index)
        if index.tz is not None:
            return index
        return (index - pd.Timedelta(hours=self.utc_offset)).tz_localize("UTC")


def complete_record(record: Record) -> Record:
    """The record with every required column complete.

    Changes `record`, though not the table it came with. Raises `WeatherError` where a column cannot be completed.
    """
    hours = record.hours.copy()
    if len(hours) < 24:
        raise WeatherError(f"{record.place} has {_hours_text(len(hours))}; a weather record needs at least a day.")
    record.hours = hours
    for column in COLUMNS:
        if column not in hours:
            hours[column] = np.nan
        _drop_implausible(record, column)
    _humidity_from_dew_point(record)
    _humidity_from_wet_bulb(record)
    for column in COLUMNS:
        _interpolate_short_gaps(record, column)
    _pressure_from_altitude(record)
    _solar_and_cloud(record)
    _reject_long_gaps(record)
    if hours["sky_long_wave"].isna().all():
        record.notes.append("The source has no radiation from the sky; it is estimated from humidity and cloud.")
    record.hours = hours[list(COLUMNS)].astype(float)
    return record


def year_of_hours(columns: dict, month, day, hour_ending, notes: list[str]) -> pd.DataFrame:
    """Table of 8760 hours from columns with month, day and hour numbers.

    hour_ending: 1 to 24, or 0 for the midnight at which the day starts. 29 February is dropped and rows of the same
    hour are averaged, each with a note. Raises `WeatherError` for an empty table.
    """
    frame = pd.DataFrame({name: np.asarray(values, float) for name, values in columns.items()})
    month, day, hour = (np.asarray(each, int) for each in (month, day, hour_ending))
    if len(frame) == 0:
        raise WeatherError("The file has a header but no hours. It may be cut short; download it again.")
    leap = (month == 2) & (day == 29)
    at = (_MONTH_START[month - 1] + day - 1) * 24 + hour - 1
    frame, at = frame[~leap], at[~leap] % 8760
    if leap.any():
        notes.append("The file's 29 February was left out.")
    if pd.Index(at).has_duplicates:
        notes.append(f"The file has {len(at)} rows for 8760 hours; rows of the same hour were averaged.")
    return frame.groupby(at).mean().reindex(range(8760)).set_axis(_YEAR_HOURS)


# --- describing times in a record ---------------------------------------------------------------------------------


def _time_text(record: Record, position: int) -> str:
    """Text of a row's time, without a year for typical years."""
    stamp = record.hours.index[position]
    return f"{stamp.day} {stamp:%b %H:%M}" if record.kind == TYPICAL else f"{stamp:%Y-%m-%d %H:%M}"


def runs_of(mask: np.ndarray) -> list[tuple[int, int]]:
    """First and last position of each run of True."""
    edges = np.flatnonzero(np.diff(np.concatenate([[0], mask.astype(int), [0]])))
    return [(int(first), int(last) - 1) for first, last in zip(edges[::2], edges[1::2])]


def describe_runs(record: Record, runs: list[tuple[int, int]]) -> str:
    """Text that names the first few runs by time and row of the file, and counts the others."""
    words = []
    for first, last in runs[:_MAX_PLACES_SHOWN]:
        text = _time_text(record, first) + (f" to {_time_text(record, last)}" if last > first else "")
        if "row" in record.hours:
            rows = record.hours["row"].iloc[first : last + 1].dropna()
            if len(rows):
                text += f" (row {rows.iloc[0]:.0f}" + (f" to {rows.iloc[-1]:.0f})" if len(rows) > 1 else ")")
        words.append(text)
    more = len(runs) - _MAX_PLACES_SHOWN
    return "; ".join(words) + (f"; and {more} more places" if more > 0 else "")


def _hours_text(count: int) -> str:
    return f"{count} hour" + ("s" if count != 1 else "")


# --- repairs within one column ------------------------------------------------------------------------------------


def _drop_implausible(record: Record, column: str) -> None:
    """Turn implausible values into gaps, with a note; raises `WeatherError` if there are many."""
    values = record.hours[column].to_numpy(float).copy()
    if column == "solar":
        slight = (values < 0) & (values >= -20)
        if (values[slight] < -0.5).any():
            record.notes.append(
                f"solar: {_hours_text(int(slight.sum()))} slightly below zero (an instrument's reading in the dark), "
                "set to 0."
            )
        values[slight] = 0.0
    if column == "rel_humidity":
        slight = (values > 1) & (values <= 1.05)
        if slight.any():
            record.notes.append(f"rel_humidity: {_hours_text(int(slight.sum()))} just above 100 %, set to 100 %.")
        values[slight] = 1.0
    limits = ranges.RANGES[column]
    bad = (values < limits.least) | (values > limits.most)
    if bad.any():
        first = int(np.flatnonzero(bad)[0])
        sentence = ranges.range_error(column, float(values[first]))
        if bad.sum() > max(_MAX_ODD_VALUES, 0.01 * len(values)):
            raise WeatherError(
                f"{sentence} It is one of {bad.sum()} such values in {record.place}, the first at "
                f"{describe_runs(record, runs_of(bad)[:1])}. Is the column in the unit its header says? If not, "
                f'correct it there, or give --weather-unit "{column}=…".'
            )
        record.notes.append(
            f"{column}: {_hours_text(int(bad.sum()))} can't be right, counted as missing: "
            f"{describe_runs(record, runs_of(bad))}. {sentence}"
        )
        values[bad] = np.nan
    record.hours[column] = values


def _interpolate_short_gaps(record: Record, column: str) -> None:
    """Interpolate gaps of up to MAX_FILL_HOURS linearly, with a note."""
    values = record.hours[column].to_numpy(float).copy()
    gaps = np.isnan(values)
    if not gaps.any() or gaps.all():
        return
    short = [run for run in runs_of(gaps) if run[1] - run[0] < MAX_FILL_HOURS]
    if not short:
        return
    position = np.arange(len(values))
    line = np.interp(position, position[~gaps], values[~gaps])
    filled = np.concatenate([position[first : last + 1] for first, last in short])
    values[filled] = line[filled]
    record.hours[column] = values
    record.notes.append(
        f"{column}: {_hours_text(len(filled))} missing, filled along a straight line: {describe_runs(record, short)}."
    )


def _reject_long_gaps(record: Record) -> None:
    """Raise `WeatherError` where a required column still has gaps."""
    faults = []
    for column in REQUIRED:
        gaps = record.hours[column].isna().to_numpy()
        if gaps.all():
            faults.append(f"It has no {column}.")
        elif gaps.any():
            faults.append(
                f"{column} is missing for more than {MAX_FILL_HOURS} hours in a row: "
                f"{describe_runs(record, runs_of(gaps))}."
            )
    if faults:
        raise WeatherError(
            f"{record.place} cannot be used: {' '.join(faults)} Fill in the missing values, cut the record to where it "
            "is complete, use a typical year, or have a table's gaps filled from one with "
            '--weather-gaps "typical year" (or the line “# gaps: typical year” above its header).'
        )


# --- one column worked out from another ---------------------------------------------------------------------------


def _humidity_from_dew_point(record: Record) -> None:
    """Fill gaps in relative humidity from the dew point; raises `WeatherError` for many impossible dew points."""
    hours = record.hours
    if "dew_point" not in hours:
        return
    gaps = hours["rel_humidity"].isna() & hours["dew_point"].notna() & hours["air_temp"].notna()
    if not gaps.any():
        return
    dew, air = hours.loc[gaps, "dew_point"].to_numpy(float), hours.loc[gaps, "air_temp"].to_numpy(float)
    over = dew > air + 1.0
    if over.sum() > max(_MAX_ODD_VALUES, 0.01 * len(hours)):
        raise WeatherError(
            f"The dew point of {record.place} is above the air temperature in {_hours_text(int(over.sum()))}. Are the "
            "two columns or their units swapped?"
        )
    ratio = moist_air.saturation_vapour_pressure(np.minimum(dew, air)) / moist_air.saturation_vapour_pressure(air)
    hours.loc[gaps, "rel_humidity"] = np.where(over, np.nan, ratio)
    record.notes.append(f"rel_humidity: {_hours_text(int(gaps.sum()))} computed from the dew point (over water).")


def _humidity_from_wet_bulb(record: Record) -> None:
    """Fill gaps in relative humidity from the wet bulb; raises `WeatherError` if many are above the air's."""
    hours = record.hours
    if "wet_bulb" not in hours:
        return
    gaps = hours["rel_humidity"].isna() & hours["wet_bulb"].notna() & hours["air_temp"].notna()
    if not gaps.any():
        return
    wet, air = hours.loc[gaps, "wet_bulb"].to_numpy(float), hours.loc[gaps, "air_temp"].to_numpy(float)
    over = wet > air + 1.0
    if over.sum() > max(_MAX_ODD_VALUES, 0.01 * len(hours)):
        raise WeatherError(
            f"The wet bulb of {record.place} is above the air temperature in {_hours_text(int(over.sum()))}. Are the "
            "two columns or their units swapped?"
        )
    pressure = float(moist_air.pressure_at_altitude(record.altitude or 0.0))
    low, high = np.zeros(len(air)), np.ones(len(air))
    for _ in range(12):  # halving to 0.03 %: finer than any wet bulb is read to
        middle = (low + high) / 2
        wetter = np.asarray(moist_air.wet_bulb(air, middle, pressure)) > wet
        low, high = np.where(wetter, low, middle), np.where(wetter, middle, high)
    hours.loc[gaps, "rel_humidity"] = np.where(over, np.nan, (low + high) / 2)
    record.notes.append(f"rel_humidity: {_hours_text(int(gaps.sum()))} computed from the wet bulb.")


def _pressure_from_altitude(record: Record) -> None:
    """Fill gaps in pressure with that of the standard atmosphere."""
    gaps = record.hours["pressure"].isna()
    if not gaps.any():
        return
    height = record.altitude
    if height is None:
        height = record.altitude = 0.0
        record.notes.append("No altitude was given; sea level is assumed.")
    record.hours.loc[gaps, "pressure"] = float(moist_air.pressure_at_altitude(height))
    record.notes.append(
        f"pressure: {_hours_text(int(gaps.sum()))} taken from the altitude, {height:g} m (standard atmosphere)."
    )


def _solar_and_cloud(record: Record) -> None:
    """Fill gaps in irradiance from cloud cover, and gaps in cloud cover from irradiance."""
    hours = record.hours
    no_sun, no_cloud = hours["solar"].isna().to_numpy(), hours["cloud_cover"].isna().to_numpy()
    if not no_sun.any() and not no_cloud.any():
        return
    if no_sun.all() and no_cloud.all():
        raise WeatherError(
            f"{record.place} has neither sun nor cloud. It needs a column of one of them, for example solar [W/m²] or "
            "cloud_cover [%]."
        )
    if record.latitude is None or record.longitude is None:
        raise WeatherError(
            f"{record.place} has {'no sun' if no_sun.any() else 'no cloud'} column, so it must be computed from the "
            "sun's position: give latitude and longitude."
        )
    clear = sun.clear_sky_irradiance(record.true_times(), record.latitude, record.longitude, record.altitude or 0.0)
    from_cloud = no_sun & ~no_cloud
    if from_cloud.any():
        cloud = hours["cloud_cover"].to_numpy(float)[from_cloud]
        hours.loc[from_cloud, "solar"] = clear[from_cloud] * sun.cloud_factor(cloud)
        record.notes.append(
            f"solar: {_hours_text(int(from_cloud.sum()))} computed as clear-sky sun (simplified Solis) times the cloud "
            "factor of Kasten & Czeplak 1980; single hours may be far out, a year was within about 4 % where it was "
            "tried."
        )
    if no_cloud.any():
        dimming = dimming_from_solar(hours["solar"].to_numpy(float), clear)
        if dimming is None:
            raise WeatherError(f"{record.place} has no cloud cover, and never enough sun to estimate it from.")
        hours.loc[no_cloud, "sun_dimming"] = dimming[no_cloud]
        hours.loc[no_cloud, "cloud_cover"] = np.asarray(sun.cloud_from_clearness(1 - dimming))[no_cloud]
        record.notes.append(
            f"cloud_cover: {_hours_text(int(no_cloud.sum()))} estimated by day from the sun (as a share of clear-sky "
            "sun) and interpolated through the night; single days are within about 0.15 of the sky."
        )


def dimming_from_solar(solar: np.ndarray, clear: np.ndarray) -> np.ndarray | None:
    """Share of clear-sky sun that is missing [–], from both [W/m²], interpolated through the nights.

    None where no hour has enough sun.
    """
    usable = (clear > 100) & np.isfinite(solar)  # the sun is about 10° up; below that the ratio is noise
    if not usable.any():
        return None
    # Three hours are averaged, so that one passing cloud in the last hour of the day does not decide the night.
    three = np.ones(3)
    given = np.convolve(np.where(usable, solar, 0.0), three, mode="same")
    possible = np.convolve(np.where(usable, clear, 0.0), three, mode="same")
    position = np.arange(len(solar))
    dimming = 1 - np.clip(given[usable] / possible[usable], 0.0, 1.0)
    return np.interp(position, position[usable], dimming)
