"""What one weather source says, and how it is made whole: implausible values, short gaps, missing columns.

Every repair and every assumption becomes a sentence in `Record.notes`; what cannot be repaired honestly is refused.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import pandas as pd

from pondheat.core import ranges, units
from pondheat.season import sun

COLUMNS = ("air_temp", "rel_humidity", "wind_speed", "solar", "cloud_cover", "sky_long_wave", "pressure")
NEEDED = ("air_temp", "rel_humidity", "wind_speed", "solar", "cloud_cover", "pressure")
TYPICAL, MEASURED, NORMALS = "typical year", "measured", "made from monthly normals"
LONGEST_FILL = 3  # hours; judgement: a straight line over more would flatten a night's fall
_MONTH_START = np.cumsum([0, 31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30])
_YEAR_HOURS = pd.date_range("2023-01-01", periods=8760, freq="h", name="time")  # any year without 29 February
_FEW = 24  # this many odd values are faults of single readings; more of them are a wrong unit or a broken instrument
_SHOWN = 4  # places named in one sentence


class WeatherFault(units.Unreadable):
    """A weather source that cannot be used; the message says where and why, and what would do."""


@dataclass
class Record:
    """Hours of one source. Index: naive standard hours of one year (typical, normals) or tz-aware hours (measured)."""

    hours: pd.DataFrame  # COLUMNS, and where the source has them dew_point [°C] and row (line number in the file)
    kind: str
    place: str
    source: str
    latitude: float | None = None
    longitude: float | None = None
    altitude: float | None = None
    wind_height: float | None = None
    utc_offset: float = 0.0  # hours that the source's own standard time is ahead of UTC
    notes: list[str] = field(default_factory=list)
    exact_utc: bool = False  # the hours were known in UTC, so another standard time can be had by turning the year

    def sun_index(self) -> pd.DatetimeIndex:
        """The hours in true time, for the sun over the source's own place."""
        index = pd.DatetimeIndex(self.hours.index)
        if index.tz is not None:
            return index
        return (index - pd.Timedelta(hours=self.utc_offset)).tz_localize("UTC")


def complete(record: Record) -> Record:
    """`record` with every needed column whole (in a copy of its hours), or `WeatherFault` with a sentence."""
    hours = record.hours.copy()
    if len(hours) < 24:
        raise WeatherFault(f"{record.place} holds {_hours_of(len(hours))}; a weather record needs at least a day.")
    record.hours = hours
    for column in COLUMNS:
        if column not in hours:
            hours[column] = np.nan
        _screen(record, column)
    _humidity_of_dew_point(record)
    for column in COLUMNS:
        _fill_short(record, column)
    _pressure(record)
    _sun_and_cloud(record)
    _refuse_gaps(record)
    if hours["sky_long_wave"].isna().all():
        record.notes.append(
            "The source has no long-wave radiation of the sky; it is estimated from humidity and cloud."
        )
    record.hours = hours[list(COLUMNS)].astype(float)
    return record


def year_of_hours(columns: dict, month, day, hour_ending, notes: list[str]) -> pd.DataFrame:
    """A year of 365 days from printed month, day and hour (1 to 24, named by its end; 0 is midnight of that day)."""
    frame = pd.DataFrame({name: np.asarray(values, float) for name, values in columns.items()})
    month, day, hour = (np.asarray(each, int) for each in (month, day, hour_ending))
    if len(frame) == 0:
        raise WeatherFault("The file has a head but no hours.")
    leap = (month == 2) & (day == 29)
    at = (_MONTH_START[month - 1] + day - 1) * 24 + hour - 1
    frame, at = frame[~leap], at[~leap] % 8760
    if leap.any():
        notes.append("The file's 29 February was left out.")
    if pd.Index(at).has_duplicates:
        notes.append(f"The file has {len(at)} rows for 8760 hours; rows of one hour were averaged.")
    return frame.groupby(at).mean().reindex(range(8760)).set_axis(_YEAR_HOURS)


# --- naming places in a record ------------------------------------------------------------------------------------


def _moment(record: Record, at: int) -> str:
    stamp = record.hours.index[at]
    return f"{stamp.day} {stamp:%b %H:%M}" if record.kind == TYPICAL else f"{stamp:%Y-%m-%d %H:%M}"


def _runs(mask: np.ndarray) -> list[tuple[int, int]]:
    """First and last position of each unbroken run of True."""
    edges = np.flatnonzero(np.diff(np.concatenate([[0], mask.astype(int), [0]])))
    return [(int(first), int(last) - 1) for first, last in zip(edges[::2], edges[1::2])]


def where(record: Record, runs: list[tuple[int, int]]) -> str:
    """The runs as words: times, rows of the file where they exist, and how many more there are."""
    words = []
    for first, last in runs[:_SHOWN]:
        text = _moment(record, first) + (f" to {_moment(record, last)}" if last > first else "")
        if "row" in record.hours:
            rows = record.hours["row"].iloc[first : last + 1].dropna()
            if len(rows):
                text += f" (row {rows.iloc[0]:.0f}" + (f" to {rows.iloc[-1]:.0f})" if len(rows) > 1 else ")")
        words.append(text)
    more = len(runs) - _SHOWN
    return "; ".join(words) + (f"; and {more} more places" if more > 0 else "")


def _hours_of(count: int) -> str:
    return f"{count} hour" + ("s" if count != 1 else "")


# --- one value at a time ------------------------------------------------------------------------------------------


def _screen(record: Record, column: str) -> None:
    """Values that cannot be: a few become gaps and are named, many refuse the source."""
    values = record.hours[column].to_numpy(float).copy()
    if column == "solar":
        slight = (values < 0) & (values >= -20)
        if (values[slight] < -0.5).any():
            record.notes.append(
                f"solar: {_hours_of(int(slight.sum()))} slightly below zero (an instrument's night) were set to 0."
            )
        values[slight] = 0.0
    if column == "rel_humidity":
        slight = (values > 1) & (values <= 1.05)
        if slight.any():
            record.notes.append(f"rel_humidity: {_hours_of(int(slight.sum()))} a little above 100 % were set to 100 %.")
        values[slight] = 1.0
    limits = ranges.RANGES[column]
    bad = (values < limits.least) | (values > limits.most)
    if bad.any():
        first = int(np.flatnonzero(bad)[0])
        sentence = ranges.range_error(column, float(values[first]))
        if bad.sum() > max(_FEW, 0.01 * len(values)):
            raise WeatherFault(
                f"{sentence} It is one of {bad.sum()} such values in {record.place}, the first at "
                f"{where(record, _runs(bad)[:1])}: is the column's unit the one written in its "
                "header?"
            )
        record.notes.append(
            f"{column}: {_hours_of(int(bad.sum()))} could not be meant and count as missing: "
            f"{where(record, _runs(bad))}. {sentence}"
        )
        values[bad] = np.nan
    record.hours[column] = values


def _fill_short(record: Record, column: str) -> None:
    """Straight lines over gaps of up to three hours; longer ones stay open."""
    values = record.hours[column].to_numpy(float).copy()
    gaps = np.isnan(values)
    if not gaps.any() or gaps.all():
        return
    short = [run for run in _runs(gaps) if run[1] - run[0] < LONGEST_FILL]
    if not short:
        return
    at = np.arange(len(values))
    line = np.interp(at, at[~gaps], values[~gaps])
    chosen = np.concatenate([at[first : last + 1] for first, last in short])
    values[chosen] = line[chosen]
    record.hours[column] = values
    record.notes.append(
        f"{column}: {_hours_of(len(chosen))} missing, filled by a straight line: {where(record, short)}."
    )


def _refuse_gaps(record: Record) -> None:
    faults = []
    for column in NEEDED:
        gaps = record.hours[column].isna().to_numpy()
        if gaps.all():
            faults.append(f"It has no {column}.")
        elif gaps.any():
            faults.append(
                f"{column} is missing for more than {LONGEST_FILL} hours together: {where(record, _runs(gaps))}."
            )
    if faults:
        raise WeatherFault(
            f"{record.place} cannot be used: {' '.join(faults)} Put the missing values in, cut the "
            "record where it is whole, or use a typical year."
        )


# --- one column from another --------------------------------------------------------------------------------------


def _humidity_of_dew_point(record: Record) -> None:
    hours = record.hours
    if "dew_point" not in hours:
        return
    gaps = hours["rel_humidity"].isna() & hours["dew_point"].notna() & hours["air_temp"].notna()
    if not gaps.any():
        return
    from pondheat.heat import moist_air

    dew, air = hours.loc[gaps, "dew_point"].to_numpy(float), hours.loc[gaps, "air_temp"].to_numpy(float)
    over = dew > air + 1.0
    if over.sum() > max(_FEW, 0.01 * len(hours)):
        raise WeatherFault(
            f"The dew point of {record.place} lies above the air temperature in "
            f"{_hours_of(int(over.sum()))}: are the two columns or their units exchanged?"
        )
    ratio = moist_air.saturation_vapour_pressure(np.minimum(dew, air)) / moist_air.saturation_vapour_pressure(air)
    hours.loc[gaps, "rel_humidity"] = np.where(over, np.nan, ratio)
    record.notes.append(f"rel_humidity: {_hours_of(int(gaps.sum()))} computed from the dew point (over water).")


def _pressure(record: Record) -> None:
    gaps = record.hours["pressure"].isna()
    if not gaps.any():
        return
    from pondheat.heat import moist_air

    height = record.altitude
    if height is None:
        height = record.altitude = 0.0
        record.notes.append("No altitude was given; sea level is assumed.")
    record.hours.loc[gaps, "pressure"] = float(moist_air.pressure_at_altitude(height))
    record.notes.append(
        f"pressure: {_hours_of(int(gaps.sum()))} taken from the altitude, {height:g} m (standard atmosphere)."
    )


def _sun_and_cloud(record: Record) -> None:
    """Sun from cloud or cloud from sun, where one of them is missing."""
    hours = record.hours
    no_sun, no_cloud = hours["solar"].isna().to_numpy(), hours["cloud_cover"].isna().to_numpy()
    if not no_sun.any() and not no_cloud.any():
        return
    if no_sun.all() and no_cloud.all():
        raise WeatherFault(
            f"{record.place} has neither sun nor cloud: a column of one of them is needed, for "
            "example solar [W/m²] or cloud_cover [%]."
        )
    if record.latitude is None or record.longitude is None:
        raise WeatherFault(
            f"{record.place} has {'no sun' if no_sun.any() else 'no cloud'} of its own, so it must be "
            "computed from the sun's position: give latitude and longitude."
        )
    clear = sun.clear_sky_hours(record.sun_index(), record.latitude, record.longitude, record.altitude or 0.0)
    from_cloud = no_sun & ~no_cloud
    if from_cloud.any():
        cloud = hours["cloud_cover"].to_numpy(float)[from_cloud]
        hours.loc[from_cloud, "solar"] = clear[from_cloud] * sun.cloud_factor(cloud)
        record.notes.append(
            f"solar: {_hours_of(int(from_cloud.sum()))} computed as the clear sky's sun (simplified "
            "Solis) times the cloud factor of Kasten & Czeplak 1980; single hours may be far off, a "
            "year is within about 4 % where it was tried."
        )
    if no_cloud.any():
        cloud = cloud_of_sun(hours["solar"].to_numpy(float), clear)
        if cloud is None:
            raise WeatherFault(f"{record.place} has no cloud cover, and never sun enough to judge it by.")
        hours.loc[no_cloud, "cloud_cover"] = cloud[no_cloud]
        record.notes.append(
            f"cloud_cover: {_hours_of(int(no_cloud.sum()))} judged from the sun by day (its share of "
            "the clear sky's sun) and carried through the night between evening and morning; single "
            "days are within about 0.15 of the sky."
        )


def cloud_of_sun(solar: np.ndarray, clear: np.ndarray) -> np.ndarray | None:
    """Cloud cover [–] from sun and clear-sky sun [W/m²], carried through the nights; None without any usable hour."""
    usable = (clear > 100) & np.isfinite(solar)  # the sun about 10° up: below that the ratio is noise
    if not usable.any():
        return None
    # Three hours together, so that one passing cloud at the last hour of day does not stand for the night.
    three = np.ones(3)
    given = np.convolve(np.where(usable, solar, 0.0), three, mode="same")
    possible = np.convolve(np.where(usable, clear, 0.0), three, mode="same")
    at = np.arange(len(solar))
    return np.interp(at, at[usable], np.atleast_1d(sun.cloud_from_clearness(given[usable] / possible[usable])))
