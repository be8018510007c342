"""Columns of an hourly weather table: the names and units people write in headers, and their conversion."""

from __future__ import annotations

import functools
import re
from dataclasses import dataclass

from pondheat.core import units
from pondheat.core.tables.decoding import plain_letters

# column -> its names in headers, in lower case and without accents: English, then German, French, Dutch
COLUMN_NAMES = {
    "air_temp": "air temp;air temperature;temp air;temp;temperature;outside temp;outside temperature;outdoor "
    "temp;outdoor temperature;"
    "temp avg;avg temp;temp mean;mean temp;temperature avg;temperature mean;mean temperature;average temperature;"
    "out temp;temp out;temperature out;temp outdoor;dry bulb;dry bulb temperature;drybulb;t2m;ta;tair;tt tu;"
    "lufttemperatur;temperatur;temp aussen;aussentemperatur;lufttemp;"
    "temperature de l air;temperature air;temperature exterieure;temp ext;"
    "luchttemperatuur;temperatuur;buitentemperatuur;temp buiten",
    "rel_humidity": "rel humidity;relative humidity;humidity;outdoor humidity;outside humidity;out humidity;out hum;"
    "hum out;humidity out;rel hum;relhum;humid;rh;hum;rf tu;"
    "relative feuchte;relative luftfeuchte;relative luftfeuchtigkeit;luftfeuchte;luftfeuchtigkeit;rel feuchte;feuchte;"
    "aussenfeuchte;humidite;humidite relative;humidite exterieure;"
    "vochtigheid;relatieve vochtigheid;luchtvochtigheid;relatieve luchtvochtigheid",
    "wind_speed": "wind speed;windspeed;wind;ws;wspd;wind spd;wind sp;mean wind;average wind;avg wind speed;"
    "wind avg;wind speed avg;"
    "windgeschwindigkeit;windstarke;vitesse du vent;vitesse vent;vent;vent moyen;windsnelheid",
    "solar": "solar;ghi;global irradiance;global radiation;global horizontal irradiance;solar radiation;"
    "solar rad;rad;sw down;swdown;sw in;swin;solar irradiance;shortwave radiation;irradiance;radiation;sun;g;fg lberg;"
    "globalstrahlung;strahlung;solarstrahlung;sonnenstrahlung;einstrahlung;"
    "rayonnement;rayonnement global;rayonnement solaire;irradiation;"
    "straling;globale straling;zonnestraling;instraling",
    "cloud_cover": "cloud cover;cloudcover;cloud;clouds;cloudiness;total cloud;total cloud cover;sky cover;total "
    "sky cover;bewolkung;bedeckung;bedeckungsgrad;gesamtbedeckung;nebulosite;couverture nuageuse;nuages;"
    "bewolking;bewolkingsgraad",
    "sky_long_wave": "sky long wave;sky longwave;long wave down;longwave down;long wave;longwave;infrared;"
    "gegenstrahlung;atmospharische gegenstrahlung",
    "pressure": "pressure;air pressure;station pressure;surface pressure;atmospheric pressure;sp;"
    "barom abs;abs barometer;absolute pressure;abs pressure;pressure abs;"
    "luftdruck;druck;pression;pression atmospherique;luchtdruk;druk",
    "dew_point": "dew point;dewpoint;dew pt;dewpt;dew point temperature;dewpoint temperature;temp dew;dew;td;"
    "taupunkt;taupunkttemperatur;point de rosee;temperature du point de rosee;dauwpunt;dauwpuntstemperatuur",
    "wet_bulb": "wet bulb;wetbulb;wet bulb temperature;feuchttemperatur;feuchtkugeltemperatur;feuchtkugel;"
    "thermometre mouille;temperature humide;bulbe humide;natteboltemperatuur;natte bol",
    "date": "date;day;datum;tag;jour;dag;yyyymmdd",
    "time": "time;date time;date/time;datetime;timestamp;time start;start;time end;end;local time;date and time;obs "
    "time;obs time local;valid;epoch;ts;ts;"
    "mess datum;"
    "datum/uhrzeit;datum/zeit;date/heure;datum/tijd;day/time;hour;hh;"
    "zeit;uhrzeit;zeitpunkt;zeitstempel;datum zeit;datum uhrzeit;stunde;"
    "heure;horodatage;date heure;date et heure;tijd;tijdstip;datum tijd;uur",
}
_COLUMN_BY_NAME = {name: column for column, names in COLUMN_NAMES.items() for name in names.split(";")}
# The same without spaces, the longest first: home weather stations write “windspeedmph” and “tempf”.
_GLUED_NAMES = sorted(
    ((name.replace(" ", ""), column) for name, column in _COLUMN_BY_NAME.items()), key=lambda one: -len(one[0])
)
_GLUED_UNITS = {
    **dict.fromkeys(("air_temp", "dew_point", "wet_bulb"), ("f", "c", "k", "°f", "°c", "degf", "degc")),
    "rel_humidity": ("%", "pct", "percent"),
    "wind_speed": ("mph", "kmh", "kph", "ms", "mps", "kn", "kt", "kts", "knots", "km/h", "m/s"),
    "solar": ("wm2", "w/m2", "wm²", "w/m²"),
    "cloud_cover": ("%", "pct", "percent"),
    "sky_long_wave": ("wm2", "w/m2", "w/m²"),
    "pressure": ("hpa", "pa", "kpa", "mbar", "mb", "in", "inhg", "mmhg"),
    **dict.fromkeys(("time", "date"), ("utc", "gmt", "local")),
}
COLUMN_UNITS = {
    "air_temp": "degC",
    "dew_point": "degC",
    "wet_bulb": "degC",
    "rel_humidity": "dimensionless",
    "wind_speed": "m/s",
    "solar": "W/m**2",
    "cloud_cover": "dimensionless",
    "sky_long_wave": "W/m**2",
    "pressure": "Pa",
}
RANGE_NAMES = {"dew_point": "air_temp", "wet_bulb": "air_temp"}
GUST_WORDS = {"gust", "gusts", "boe", "boen", "windboe", "windboen", "spitze", "rafale", "rafales", "windstoot"}
_MEANS = {"avg", "mean", "average", "mittel", "mittelwert", "moyenne", "moy", "gem", "gemiddelde", "durchschnitt"}
_WITH_UNIT_ONLY = {"t": "air_temp", "global": "solar"}  # names that mean the column only beside one of its units
_EIGHTHS, _TENTHS = (
    {"okta", "oktas", "octa", "octas", "achtel", "eighth", "eighths", "1/8", "/8"},
    {"tenth", "tenths", "1/10", "/10"},
)
_FRACTION_UNITS = {"fraction", "0-1", "0–1", "-", "–", "1", "share"}
_UNIT_SPELLINGS = {
    "w m-2": "W/m²",
    "w m^-2": "W/m²",
    "w m2": "W/m²",
    "wm2": "W/m²",
    "wm²": "W/m²",
    "w/m2": "W/m²",
    "wh m2": "Wh/m²",
    "wh/m2": "Wh/m²",
    "m s-1": "m/s",
    "m s^-1": "m/s",
    "m s": "m/s",
    "ms": "m/s",
    "km h": "km/h",
    "deg c": "°C",
    "deg f": "°F",
    "percentage": "%",
    "prozent": "%",
    "pct": "%",
    "j/cm2": "J/cm²",
    "j cm-2": "J/cm²",
    "kj/m2": "kJ/m²",
    "mj/m2": "MJ/m²",
    "kwh/m2": "kWh/m²",
    "kt": "knots",
    "kts": "knots",
    "kn": "knots",
    "mbar": "mbar",
    "mb": "mbar",
    "in": "inHg",
    "kmh": "km/h",
    "kph": "km/h",
    "mps": "m/s",
    "℃": "°C",
    "℉": "°F",
}


@dataclass
class Column:
    """A recognised column: position in the table, header, written unit, and height of a wind measurement [m]."""

    position: int
    header: str
    unit: str
    height: float | None = None


@functools.lru_cache(4096)
def parse_column_header(header: str) -> tuple[str, str, float | None] | None:
    """Column name, written unit and height [m] of a header, or None for a column that is not used.

    header: for instance “Wind speed (mph at 4 m)”, “wind [m/s] at 4 m”, “air_temp_degC” or “windspeedmph”.
    """
    if not any(map(str.isalpha, header)):
        return None
    found = re.fullmatch(
        r"\s*([^\[(]*?)\s*(?:[\[(](.*)[\])])?\s*((?:\bat\s)?\s*\d+(?:\.\d+)?\s*(?:m|ft))?\s*", header.strip().strip('"')
    )
    if not found:
        return None
    bare, inside = found[1], f"{found[2] or ''} {found[3] or ''}".strip()  # the height may follow the brackets
    return _by_words(bare, inside) or _glued(bare, inside) or _in_two_languages(bare, inside)


def _in_two_languages(bare: str, inside: str) -> tuple[str, str, float | None] | None:
    """A header such as “Temperature/Temperatur”, whose names mean the same column."""
    parts = [_by_words(part, inside) for part in bare.split("/")]
    return parts[0] if len(parts) == 2 and parts[0] == parts[1] else None


def _by_words(bare: str, inside: str) -> tuple[str, str, float | None] | None:
    """A header whose words are apart; bare: without what is in brackets, which is `inside`."""
    words = [word for word in re.split(r"[\s_.'’\-]+", plain_letters(bare)) if word]
    if len(words) > 1 and words[0] in _MEANS and " ".join(words[:2]) not in _COLUMN_BY_NAME:
        words = words[1:]
    if len(words) == 1 and (short := _WITH_UNIT_ONLY.get(words[0])) and is_unit(short, _split_height("", inside)[1]):
        return short, *_split_height("", inside)[1:]
    for count in range(len(words), 0, -1):
        column = _COLUMN_BY_NAME.get(" ".join(words[:count]))
        if column is None:
            continue
        rest, inside, height = _split_height(" ".join(words[count:]).removeprefix("in "), inside)
        if column in ("time", "date"):
            return (
                (column, "", None)
                if not rest or rest in ("utc", "gmt", "start", "end", "local", "lst", "ending", "beginning")
                else None
            )
        rest = "" if rest in _MEANS else rest
        if rest and not is_unit(column, rest):
            return None  # a different quantity, such as “wind direction” or “temp min”
        return column, inside or rest, height
    return None


def _glued(bare: str, inside: str) -> tuple[str, str, float | None] | None:
    """A header whose words or unit are written together, such as “outTempF”, “dewptf” or “rh%”."""
    letters = re.sub(r"[\s_.'’\-]+", "", plain_letters(bare))
    for name, column in _GLUED_NAMES:
        rest = letters.removeprefix(name)
        if (
            rest == letters
            or rest
            and (rest not in _GLUED_UNITS[column] or len(name) < 3 and rest.isalpha() and len(rest) < 2)
        ):
            continue
        _, inside, height = _split_height("", inside)
        return column, "" if column in ("time", "date") else inside or rest, height
    return None


def _split_height(rest: str, inside: str) -> tuple[str, str, float | None]:
    """The words after a column's name and those in brackets without a height such as “at 4 m”, and the height [m]."""
    height = None
    for text in (rest, inside):
        found = re.search(r"(?:^|\s|\bat\s*)(\d+(?:\.\d+)?)\s*(m|ft)(?=\s|$)", text)
        if found:
            height = units.parse(f"{found[1]} {found[2]}", "m")
            rest, inside = (each.replace(found[0], "").strip() for each in (rest, inside))
            break
    rest, inside = (re.sub(r"\s*\bat$", "", each).strip() for each in (rest, inside))
    return rest, inside, height


def is_unit(column: str, written: str) -> bool:
    """Whether the text is a unit in which the column can be given."""
    try:
        unit_conversion(column, written, 60.0)
    except units.Unreadable:
        return False
    return True


@functools.lru_cache(maxsize=256)
def unit_conversion(column: str, written: str, minutes: float) -> tuple[float, float]:
    """Factor and offset that convert a column's written unit into its own.

    minutes: the usual interval between rows, over which an energy such as Wh/m² was summed. Raises
    `core.units.Unreadable` for a unit of another dimension.
    """
    unit, low = COLUMN_UNITS[column], written.lower().strip()
    if column == "cloud_cover" and low in _EIGHTHS | _TENTHS:
        return (1 / 8 if low in _EIGHTHS else 1 / 10), 0.0
    if unit == "dimensionless" and low in _FRACTION_UNITS:
        return 1.0, 0.0
    spelt = _UNIT_SPELLINGS.get(low, written)
    try:
        offset = units.parse(f"0 {spelt}", unit)
        return units.parse(f"1 {spelt}", unit) - offset, offset
    except units.WrongDimension:
        if unit != "W/m**2":
            raise
        # energy summed over one interval
        return units.parse(f"1 {spelt}", "Wh/m**2") * 60 / minutes, 0.0
