"""Make data/measured/sky_comparison.csv: every sky formula against measured water and measured and computed long wave.

Run from the repository's root: python tests/make_sky_table.py [--long-wave FOLDER]. The rows on measured long wave need
three records that aren't shipped; without FOLDER they stay as they are. FOLDER holds:

- bondville.dat: Bondville, Illinois, 1998, half hours, in UTC (repository NCAR/hrldas, HRLDAS_forcing/run/examples/
  single_point);
- met_CdP_0506.txt: Col de Porte, France, October 2005 to June 2006, hours, in UTC (repository RichardEssery/FSM, data;
  Morin et al. 2012, Earth System Science Data 4);
- dtu_YYYY_MM.csv: Lyngby, Denmark, April 2024 to March 2025 without May, minutes, in UTC (repository
  AssessingSolar/dtu_solar_station, data).
"""

import argparse
from pathlib import Path

import numpy as np
import pandas as pd

from pondheat.analysis import sky_comparison
from pondheat.analysis.sky_comparison import LONG_WAVE, SkyRecord
from pondheat.season.weather.record import MEASURED, Record

PLAUSIBLE = (100.0, 500.0)  # W/m² of long wave; a broken reading lies outside


def bondville(folder: Path) -> Record:
    """Bondville, Illinois: means of two half hours."""
    lines = [line.split() for line in (folder / "bondville.dat").read_text().splitlines() if line[:4] == "1998"]
    values = np.array(lines, float)
    year, month, day, hour, minute = values[:, :5].T.astype(int)
    index = pd.to_datetime(dict(year=year, month=month, day=day, hour=hour, minute=minute))
    names = ("wind_speed", "air_temp", "rel_humidity", "pressure", "solar", "sky_long_wave")
    frame = pd.DataFrame(values[:, 5:11], columns=list(names)).set_index(pd.DatetimeIndex(index, tz="UTC"))
    frame = frame.resample("h").mean()
    frame["rel_humidity"], frame["pressure"] = frame["rel_humidity"] / 100, frame["pressure"] * 100
    return _record("Bondville, Illinois, 1998", frame, 40.01, -88.37, 218.0)


def col_de_porte(folder: Path) -> Record:
    """Col de Porte, French Alps; its stamps are the ends of the hours."""
    values = np.loadtxt(folder / "met_CdP_0506.txt")
    year, month, day, hour = values[:, :4].T.astype(int)
    index = pd.DatetimeIndex(pd.to_datetime(dict(year=year, month=month, day=day, hour=hour)), tz="UTC")
    frame = pd.DataFrame(
        {
            "solar": values[:, 4],
            "sky_long_wave": values[:, 5],
            "air_temp": values[:, 8] - 273.15,
            "rel_humidity": values[:, 9] / 100,
            "wind_speed": values[:, 10],
            "pressure": values[:, 11],
        },
        index=index - pd.Timedelta("1h"),
    )
    return _record("Col de Porte, French Alps, 2005/06", frame, 45.30, 5.77, 1325.0)


def lyngby(folder: Path) -> Record:
    """Lyngby, Denmark: means of an hour's minutes, hours without a plausible long wave left out."""
    table = pd.concat(pd.read_csv(path) for path in sorted(folder.glob("dtu_*.csv")))
    table = table.set_index(pd.to_datetime(table["Time(utc)"], utc=True)).drop(columns="Time(utc)")
    table = table.resample("h").mean()
    frame = pd.DataFrame(
        {
            "solar": table["GHI"].clip(lower=0),
            "sky_long_wave": table["LWD"].where(table["LWD"].between(*PLAUSIBLE)),
            "air_temp": table["air_temperature"],
            "rel_humidity": table["relative_humidity"].clip(upper=100) / 100,
            "wind_speed": table["wind_speed_avg"],
            "pressure": table["air_pressure"] * 100,
        }
    )
    return _record("Lyngby, Denmark, 2024/25", frame, 55.79, 12.53, 50.0)


def _record(place: str, frame: pd.DataFrame, latitude: float, longitude: float, altitude: float) -> Record:
    whole = frame[frame["rel_humidity"].between(0.01, 1.0) & frame.notna().all(axis=1)]
    return Record(whole, MEASURED, place, place, latitude, longitude, altitude, 10.0)


def main() -> None:
    """Write the table."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--long-wave", type=Path, help="folder with the three records named above")
    folder = parser.parse_args().long_wave
    if folder is None:
        kept = sky_comparison.read_table()
        measured = kept[kept["kind"] == LONG_WAVE].to_dict("records")
    else:
        measured = []
        for read in (bondville, col_de_porte, lyngby):
            record = SkyRecord.of(read(folder), cloud_observed=False)
            measured += sky_comparison.long_wave_rows(record.name, LONG_WAVE, [record])
    rows = sky_comparison.water_rows() + measured + sky_comparison.reference_year_rows()
    sky_comparison.table(rows).to_csv(sky_comparison.TABLE_FILE, index=False, lineterminator="\n")


if __name__ == "__main__":
    main()
