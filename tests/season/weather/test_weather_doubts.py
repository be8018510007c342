"""Units and clocks that weather tables give away are asked back, and following the answer reads the truth; heads in
four languages, and the shapes that exports have."""

import gzip
import io
import re

import numpy as np
import pandas as pd
import pytest
from weather_notes import says

from pondheat.season import sun
from pondheat.season.weather import answers, weather
from pondheat.season.weather.weather import WeatherError

ZONE, NORTH, EAST = "Europe/London", 52.6, -1.6
NAMES = ["air_temp", "rel_humidity", "wind_speed", "solar", "cloud_cover"]
UNITS = {"air_temp": "°C", "rel_humidity": "%", "wind_speed": "m/s", "solar": "W/m²", "cloud_cover": "%"}
# Each column as another unit has it, from the values below.
JANUARY = "2025-01-05"
AS_OTHER = {
    ("rel_humidity", "fraction"): lambda value: value / 100,
    ("cloud_cover", "fraction"): lambda value: value / 100,
    ("cloud_cover", "oktas"): lambda value: (value / 12.5).round(),
    ("cloud_cover", "tenths"): lambda value: (value / 10).round(),
    ("air_temp", "°F"): lambda value: value * 1.8 + 32,
    ("air_temp", "K"): lambda value: value + 273.15,
    ("wind_speed", "mph"): lambda value: value / 0.44704,
    ("wind_speed", "km/h"): lambda value: value * 3.6,
    ("solar", "kJ/m²"): lambda value: value * 3.6,
    ("solar", "J/cm²"): lambda value: value * 0.36,
    ("solar", "MJ/m²"): lambda value: value * 0.0036,
}
USUAL = {
    JANUARY: {
        ("rel_humidity", "fraction"),
        ("cloud_cover", "oktas"),
        ("air_temp", "°F"),
        ("air_temp", "K"),
        ("wind_speed", "mph"),
        ("solar", "kJ/m²"),
    },
    "2025-07-01": {("air_temp", "°F")},
}


def truth(start="2025-01-05", days=12, zone="UTC") -> pd.DataFrame:
    """Synthetic hours of a winter or summer: values in UNITS, the sun that of the place under the cloud."""
    index = pd.date_range(start, periods=24 * days, freq="h", tz=zone)
    draw = np.random.default_rng(4)
    cloud = np.clip(50 + 50 * np.sin(np.arange(len(index)) / 17) + draw.normal(0, 10, len(index)), 0, 100).round()
    clear = sun.clear_sky_irradiance(index, NORTH, EAST)
    warm = 4 if index[0].month in (12, 1, 2) else 17
    air = warm + 4 * np.sin((index.hour.to_numpy() - 9) / 12 * np.pi) + draw.normal(0, 0.5, len(index))
    return pd.DataFrame(
        {
            "air_temp": air.round(1),
            "rel_humidity": (80 - 2 * (air - warm)).round(),
            "wind_speed": np.clip(4 + 2.5 * np.sin(np.arange(len(index)) / 11), 0.2, None).round(1),
            "solar": (clear * sun.cloud_factor(cloud / 100)).round(),
            "cloud_cover": cloud,
        },
        index=index,
    )


def text_of(table, heads=None, stamp="%Y-%m-%d %H:%M", sep=",", time="time [UTC]", lines="") -> str:
    heads = heads or [f"{name} [{UNITS[name]}]" for name in table]
    body = table.set_axis(heads, axis=1).set_axis(table.index.strftime(stamp))
    return lines + body.to_csv(index_label=time, sep=sep, lineterminator="\n")


@pytest.fixture
def read(written):
    def from_text(text, name="station.csv", **more):
        more = {"latitude": NORTH, "longitude": EAST, "timezone": ZONE, "year": 2025} | more
        return weather.read(written(name, text, "utf-8"), **more)

    return from_text


def close(found, table, column, tolerance) -> bool:
    scale = 0.01 if column in ("rel_humidity", "cloud_cover") else 1.0
    return np.allclose(found.hours[column], table[column] * scale, atol=tolerance)


@pytest.mark.parametrize(
    "start, column, unit",
    [
        # what a summer changes most is air; the rest of July belongs to the long command, as do further units of a
        # column that another stands for
        pytest.param(start, *other, marks=() if other in USUAL[start] else pytest.mark.long)
        for start in USUAL
        for other in AS_OTHER
    ],
)
def test_a_wrong_unit_is_asked_back_and_the_answer_cures_it(read, start, column, unit):
    table = truth(start)
    made = table.assign(**{column: AS_OTHER[column, unit](table[column])})
    with pytest.raises(WeatherError, match=f"{column} is given in") as asked:
        read(text_of(made))
    said = re.search(r'--weather-unit "(\w+)=(.+?)", or write the line “(.+?)”', str(asked.value))
    assert (said[1], said[2]) == (column, unit), str(asked.value)
    tolerance = {"cloud_cover": 0.07, "air_temp": 0.01, "solar": 0.01}.get(column, 0.01)
    assert close(read(text_of(made, lines=said[3] + "\n")), table, column, tolerance)
    with answers.given(answers.Answers({column: unit})):
        assert close(read(text_of(made)), table, column, tolerance)
    head = [f"{name} [{unit if name == column else UNITS[name]}]" for name in table]
    assert close(read(text_of(made, head)), table, column, tolerance)


@pytest.mark.parametrize("start", ["2025-01-05", "2025-07-01", "2025-10-10"])
def test_right_units_are_not_doubted(read, start):
    table = truth(start, days=24)
    found = read(text_of(table))
    assert all(close(found, table, column, 1e-6) for column in table)


def test_what_is_odd_but_right_can_be_confirmed(read):
    storm = truth().assign(wind_speed=14.0)
    with pytest.raises(WeatherError, match="windier than any open coast.*the same with m/s"):
        read(text_of(storm))
    assert read(text_of(storm, lines="# unit wind_speed: m/s\n")).hours["wind_speed"].iloc[0] == 14.0


@pytest.mark.parametrize("lines", ["# unit wind: mph\n", "# clock: noon\n", "# gaps: yes\n"])
def test_answers_that_are_none(read, lines):
    with pytest.raises(WeatherError, match="Known: |Choose from: "):
        read(text_of(truth(), lines=lines))


# --- the clock ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "index, clock",
    [
        (lambda index: index.tz_convert("UTC"), "utc"),
        (lambda index: index.tz_convert("Etc/GMT-1"), "standard"),
        (lambda index: index.tz_convert("Europe/Berlin") + pd.Timedelta("1h"), None),
    ],
)
def test_a_clock_that_the_sun_contradicts(read, index, clock):
    table = truth("2025-06-10", zone="Europe/Berlin")
    sky = sun.clear_sky_irradiance(table.index, 52.5, 13.4)
    table["solar"] = (sky * sun.cloud_factor(table["cloud_cover"] / 100)).round()
    odd = text_of(table.set_axis(index(table.index)), time="time")
    where = {"latitude": 52.5, "longitude": 13.4, "timezone": "Europe/Berlin"}
    with pytest.raises(WeatherError, match="hours too .*--weather-stamps end.*--weather-clock utc"):
        read(odd, **where)
    answer = "# stamps: end\n" if clock is None else f"# clock: {clock}\n"
    assert np.allclose(read(answer + odd, **where).hours["air_temp"], table["air_temp"])
    assert (read(answer + odd, **where).hours.index == table.index).all()


# --- languages and shapes -----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "heads, time",
    [
        (["Lufttemperatur [°C]", "Rel. Feuchte [%]", "Windgeschwindigkeit [m/s]", "Globalstrahlung [W/m²]",
          "Bewölkung [%]"], "Zeitpunkt [UTC]"),
        (["Température de l'air (°C)", "Humidité (%)", "Vitesse du vent (m/s)", "Rayonnement global (W/m²)",
          "Nébulosité (%)"], "Horodatage (UTC)"),
        (["Buitentemperatuur (°C)", "Luchtvochtigheid (%)", "Windsnelheid (m/s)", "Straling (W/m2)", "Bewolking (%)"],
         "Tijdstip (UTC)"),
        (["dry bulb temperature °C", "relative humidity %", "mean wind m/s", "ghi W/m2", "total sky cover %"],
         "valid (UTC)"),
    ],
)  # fmt: skip
def test_heads_in_four_languages(read, heads, time):
    table = truth()
    found = read(text_of(table, heads, sep=";", time=time))
    assert all(close(found, table, column, 1e-6) for column in table)


@pytest.mark.parametrize(
    "form", ["%d.%m.%Y %H:%M", "%d %b %Y %H:%M", "%Y%m%d%H", "%d/%m/%y %H:%M", "%Y-%m-%d %H:%M UTC"]
)
def test_other_times(read, form):
    table = truth("2025-01-05")
    found = read(text_of(table, stamp=form))
    assert (found.hours.index == table.index).all() and close(found, table, "air_temp", 1e-6)


def test_date_and_hour_apart_lines_above_and_units_below(read):
    table = truth()
    body = text_of(table, list(NAMES), stamp="%Y%m%d,%H", time="Date,Hour").replace('"', "")
    assert close(read(body.replace(",".join(NAMES), ",".join(f"{name} [{UNITS[name]}]" for name in NAMES))), table,
                 "solar", 1e-6)  # fmt: skip
    head, rest = text_of(table, list(NAMES)).split("\n", 1)
    below = "," + ",".join(UNITS[name] for name in NAMES)
    found = read("Station of the club\nSerial;12345\n\n" + head + "\n" + below + "\n" + rest)
    assert all(close(found, table, column, 1e-6) for column in table) and says(found, "2 lines above the head")


def test_day_or_month_first_is_asked_and_answered(read):
    table = truth("2025-01-01", days=5)
    text = text_of(table, stamp="%d/%m/%Y %H:%M")
    with pytest.raises(WeatherError, match="--weather-dates"):
        read(text)
    assert (read("# dates: day first\n" + text).hours.index == table.index).all()


def test_packed_tables(tmp_path):
    table = truth()
    path = tmp_path / "station.csv.gz"
    path.write_bytes(gzip.compress(text_of(table).encode()))
    where = {"latitude": NORTH, "longitude": EAST, "timezone": ZONE, "year": 2025}
    assert close(weather.read(path, **where), table, "air_temp", 1e-6)
    made = io.BytesIO()
    naive = table.set_axis(table.index.tz_localize(None)).rename(columns=lambda name: f"{name} [{UNITS[name]}]")
    with pd.ExcelWriter(made, engine="openpyxl") as writer:
        naive.to_excel(writer, sheet_name="hours", index_label="time [UTC]")
        pd.DataFrame({"notes": ["none"]}).to_excel(writer, sheet_name="notes")
    book = tmp_path / "station.xlsx"
    book.write_bytes(made.getvalue())
    with pytest.raises(WeatherError, match="Which sheet.*--weather-worksheet"):
        weather.read(book, **where)
    with answers.given(answers.Answers(worksheet="hours")):
        assert close(weather.read(book, **where), table, "solar", 1e-6)


# --- humidity, gusts, gaps ----------------------------------------------------------------------------------------


def test_wet_bulb_and_dew_point_give_the_humidity(read):
    from pondheat.heat import moist_air

    table = truth("2025-07-01")
    air, share = table["air_temp"].to_numpy(), table["rel_humidity"].to_numpy() / 100
    for name, values in (
        ("wet bulb", moist_air.wet_bulb(air, share, 101_325.0)),
        ("Taupunkt", moist_air.dew_point(air, share)),
    ):
        made = table.rename(columns={"rel_humidity": name}).assign(**{name: np.round(values, 3)})
        found = read(text_of(made, [f"{one} [{UNITS.get(one, '°C')}]" for one in made]), altitude=0.0)
        assert close(found, table, "rel_humidity", 0.003), name


def test_gusts_are_no_wind(read):
    table = truth().rename(columns={"wind_speed": "wind gust"})
    with pytest.raises(WeatherError, match="It has no wind_speed"):
        read(text_of(table, [f"{one} [{UNITS.get(one, 'm/s')}]" for one in table]))


def test_longer_gaps_are_bridged_only_where_asked(read):
    table = truth()
    holed = table.copy()
    holed.iloc[100:112] = np.nan
    with pytest.raises(WeatherError, match="missing for more than 3 hours.*--weather-gaps"):
        read(text_of(holed))
    found = read(text_of(holed, lines="# gaps: typical year\n"))
    assert found.bridged == ((table.index[100], table.index[112]),) and says(
        found, "12 hours are filled from a typical"
    )
    kept = np.r_[0:100, 112 : len(table)]
    assert np.allclose(found.hours["air_temp"].iloc[kept], table["air_temp"].iloc[kept])
    assert not read(text_of(table, lines="# gaps: typical year\n")).bridged
    with pytest.raises(WeatherError, match="south of the equator"):
        read(text_of(holed, lines="# gaps: typical year\n# clock: local\n"), latitude=-41.0, longitude=174.0)
