"""Readers of typical years: EPW, TMY3, TMY2 and the German test reference years of 2010.

These formats number hours 1 to 24 by their END, in standard time. pvlib's readers keep that for TMY3 (01:00 … next
00:00) and shift EPW and TMY2 to the start, so hours are taken here from the numbers in the file, never from a reader's
index. Irradiance is the mean of the hour; temperature, humidity and wind are readings at its end, used as the hour's
value. The readers share the arguments of `season.weather.formats.READERS`.
"""

from __future__ import annotations

import io
import re
import tempfile
from pathlib import Path

import numpy as np
import pandas as pd

from pondheat.core.files import write_atomically
from pondheat.core.number_format import counted
from pondheat.season.weather.pvgis_reader import shift_from_utc
from pondheat.season.weather.record import TYPICAL, Record, WeatherError, year_of_hours

_READINGS_NOTE = "Temperature, humidity and wind are readings at the end of each hour; the sun is the hour's mean."


def _mask_missing(values, *codes, least: float | None = None):
    """Values with a format's missing-value codes, and those of at least `least`, replaced by NaN."""
    found = pd.to_numeric(pd.Series(np.asarray(values)), errors="coerce").astype(float)
    found = found.mask(found.isin(codes))
    return (found if least is None else found.mask(found >= least)).to_numpy()


def _title_case(text: str) -> str:
    return " ".join(word.capitalize() for word in text.strip().strip('"').split())


def _record(hours: pd.DataFrame, head: dict, place: str, source: str, notes: list[str]) -> Record:
    """Record of hours with the header as pvlib reads it, and the wind at 10 m."""
    latitude, longitude, altitude = head["latitude"], head["longitude"], head["altitude"]
    return Record(hours, TYPICAL, place, source, latitude, longitude, altitude, 10.0, head["TZ"], notes)


def read_epw(path: Path, text: str) -> Record:
    """Record from an EPW file.

    path: of the file, for its name; text: its content. Files written by PVGIS are recognised, as their rows are in UTC
    whatever their header says.
    """
    from pvlib import iotools

    data, head = iotools.read_epw(io.StringIO(text))
    notes = [_READINGS_NOTE]
    columns = {
        "air_temp": _mask_missing(data["temp_air"], least=99.9),
        "dew_point": _mask_missing(data["temp_dew"], least=99.9),
        "rel_humidity": _mask_missing(data["relative_humidity"], least=999) / 100,
        "wind_speed": _mask_missing(data["wind_speed"], least=999),
        "solar": _mask_missing(data["ghi"], least=9999),
        "cloud_cover": _mask_missing(data["total_sky_cover"], least=99) / 10,
        "sky_long_wave": _mask_missing(data["ghi_infrared"], 0.0, least=9999),
        "pressure": _mask_missing(data["atmospheric_pressure"], least=999_999),
    }
    hours = year_of_hours(columns, data["month"], data["day"], data["hour"], notes)
    if data["year"].nunique() == 1:
        notes.append(
            f"Every row is from {int(data['year'].iloc[0])}: this may be a real year, read here as a typical one."
        )
    named = [part.strip() for part in (head["city"], head["country"]) if part.strip(" -") not in ("", "unknown")]
    place = ", ".join(named) or f"{head['latitude']:.2f}°, {head['longitude']:.2f}°"
    source = f"EPW file {path.name}, {head['data_type']}; licence: as its provider states"
    record = _record(hours, head, place, source, notes)
    offset = re.search(r"Irradiance Time Offset \(h\):\s*(-?[\d.]+)", text[:5000])
    if offset or head["data_type"] == "ECMWF/ERA":
        # PVGIS writes its UTC hours into EPW rows whatever zone the header gives: the same rows as its CSV, hour = UTC
        # + 1.
        shift_from_utc(record, float(offset[1]) + 1 if offset else None)
    return record


def read_tmy3(path: Path, text: str) -> Record:
    """Record from a TMY3 file; arguments as for `read_epw`."""
    from pvlib import iotools

    data, head = iotools.read_tmy3(io.StringIO(text), map_variables=False)
    notes = [_READINGS_NOTE]
    date, clock = data["Date (MM/DD/YYYY)"].str.split("/"), data["Time (HH:MM)"].str.split(":")

    def column(name: str):
        return _mask_missing(data[name], -9900, 9999) if name in data else np.full(len(data), np.nan)

    columns = {
        "air_temp": column("Dry-bulb (C)"),
        "dew_point": column("Dew-point (C)"),
        "rel_humidity": column("RHum (%)") / 100,
        "wind_speed": column("Wspd (m/s)"),
        "solar": column("GHI (W/m^2)"),
        "cloud_cover": _mask_missing(column("TotCld (tenths)"), least=99) / 10,
        "pressure": column("Pressure (mbar)") * 100,
    }
    hours = year_of_hours(columns, date.str[0], date.str[1], clock.str[0], notes)
    notes.append("The file doesn't give the height of the wind; 10 m is assumed.")
    return _record(
        hours,
        head,
        f"{_title_case(head['Name'])}, {head['State']}",
        "TMY3, US National Renewable Energy Laboratory (Wilcox & Marion 2008); public data, free to use "
        "with its notice",
        notes,
    )


def read_tmy2(path: Path, text: str) -> Record:
    """Record from a TMY2 file; arguments as for `read_epw`."""
    from pvlib import iotools

    with tempfile.TemporaryDirectory() as folder:  # pvlib reads these by name only
        plain = Path(folder) / "plain.tm2"
        write_atomically(plain, text.encode("ascii", "replace"))
        try:
            data, head = iotools.read_tmy2(str(plain))
        except Exception as error:  # pvlib's own kind is the bare Exception, and names the file on disk
            raise ValueError(str(error).replace(f"WARNING: In {plain} ", "").strip()) from None
    notes = [_READINGS_NOTE, "The file doesn't give the height of the wind; 10 m is assumed."]
    columns = {  # tenths of a degree and of a metre per second, millibars, tenths of sky (TMY2 manual, table 3-2)
        "air_temp": _mask_missing(data["DryBulb"], 9999) / 10,
        "dew_point": _mask_missing(data["DewPoint"], 9999) / 10,
        "rel_humidity": _mask_missing(data["RHum"], 999) / 100,
        "wind_speed": _mask_missing(data["Wspd"], 999) / 10,
        "solar": _mask_missing(data["GHI"], 9999),
        "cloud_cover": _mask_missing(data["TotCld"], 99) / 10,
        "pressure": _mask_missing(data["Pressure"], 9999) * 100,
    }
    hours = year_of_hours(columns, data["month"], data["day"], data["hour"], notes)
    return _record(
        hours,
        head,
        f"{_title_case(head['City'])}, {head['State']}",
        "TMY2, US National Renewable Energy Laboratory (Marion & Urban 1995); public data, free to use with its notice",
        notes,
    )


def _degrees(text: str) -> float:
    """Decimal degrees of an angle such as 52°23'N; raises ValueError for other text."""
    found = re.fullmatch(r"\s*(\d+)°\s*(\d+)'\s*([NSOEW])", text)
    if found is None:
        raise ValueError(f"no angle in {text!r}")
    whole, minutes, side = found.groups()
    return (int(whole) + int(minutes) / 60) * (-1 if side in "SW" else 1)


def read_try2010(path: Path, text: str) -> Record:
    """Record from a German test reference year of 2010; arguments as for `read_epw`.

    Raises `WeatherError` for the newer form of 2015/2017.
    """
    lines = text.splitlines()
    stars = next((at for at, line in enumerate(lines) if line.startswith("***")), None)
    if stars is None or "RG" not in lines[stars - 1].split():
        newer = re.search(r"Rechtswert|^\s*RW\s", text[:5000], re.M)
        other = "2015/2017 (RW, HW and no station)" if newer else "older or edited"
        raise WeatherError(
            f"{path.name} is a German test reference year in the {other} format. Only the 2010 format is read (columns "
            "RG IS MM DD HH N WR WG t p x RF …); convert others to an hourly CSV or an EPW."
        )
    head = text[: text.index("***")]
    position = re.search(r"Lage:\s*(\S+?)\s*<-\s*B\.\s*(\S+?)\s*<-\s*L\.\s*(-?\d+)\s*Meter", head)
    if position is None:
        raise ValueError("its header has no position (Lage)")
    station = re.search(r"Station:\s*(.+?)\s{2,}", head)
    data = pd.read_csv(io.StringIO("\n".join([lines[stars - 1], *lines[stars + 1 :]])), sep=r"\s+")
    notes = [
        _READINGS_NOTE,
        "The sun's hours in these years follow local solar time rather than the clock, up to about half an hour "
        "early; left as they are.",
    ]
    hidden = int((data["N"] == 9).sum())
    if hidden:
        notes.append(
            f"cloud_cover: in {counted(hidden, 'hour', 'hours')} the sky could not be seen (fog); taken as overcast."
        )
    columns = {
        "air_temp": data["t"],
        "rel_humidity": data["RF"] / 100,
        "wind_speed": data["WG"],
        "solar": data["B"] + data["D"],
        "cloud_cover": data["N"].clip(upper=8) / 8,
        "sky_long_wave": data["A"],
        "pressure": data["p"] * 100,
    }
    hours = year_of_hours(columns, data["MM"], data["DD"], data["HH"], notes)
    return Record(
        hours,
        TYPICAL,
        station[1] if station else path.stem,
        "German test reference year 2010, Deutscher Wetterdienst and BBSR, base 1988–2007; the data's own "
        "licence is not stated in the file",
        _degrees(position[1]),
        _degrees(position[2]),
        float(position[3]),
        10.0,
        1.0,
        notes,
    )
