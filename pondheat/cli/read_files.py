"""The commands `read` and `tariff`: how files are understood, without a pond sheet and without working anything out."""

from __future__ import annotations

import argparse
import datetime as dt
import re
import sys
import tempfile
from collections.abc import Iterable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from pondheat.cli import options
from pondheat.cli.terminal import Bar, json_text
from pondheat.core.files import LARGEST, NotRead, read_input, write_atomically

if TYPE_CHECKING:
    from pondheat.core.time_zones import ZonePlace
    from pondheat.core.units import Currency
    from pondheat.meter.reading.open_table import LogTable
    from pondheat.money.tariffs import Tariff

KINDS = ("meter", "thermometer", "weather", "tariff")
_PRICES = "prices"  # kind of a tariff that is a table of prices alone
_TABLES = (".csv", ".tsv", ".xlsx", ".xls")
_STANDARD_INPUT = "standard input"
_DEFAULT_ZONE = "Europe/London"
_THIS_YEAR = 2025  # calendar in which a typical year is shown; any will do


class _Zone(NamedTuple):
    """The time zone of the files' clock, and whether the reader named it."""

    name: str
    given: bool


def read(arguments: argparse.Namespace) -> int:
    """The command `read`: one report for each file; exit code 2 if one of them could not be read."""
    from pondheat.core.ranges import choose

    if arguments.what is not None:
        choose("kind of file", arguments.what, KINDS)
    zone = _zone(arguments.timezone)
    found, code = [], 0
    for name in arguments.files:
        with _as_path(name) as path:
            what, log = arguments.what, None
            try:
                if what is None:
                    what, log = _kind_of(path, zone.name, options.reading_options(arguments)[0])
                report, data = _read_as(what, path, arguments, zone, log)
            except (ValueError, OSError) as wrong:
                sentence = f"{options.in_options(wrong)}{'' if arguments.what else _other_kinds(what)}"
                report, data, code = f"Not read: {sentence}", {"error": str(sentence)}, 2
        found.append({"file": name} | data)
        if not arguments.json:
            head = f"{name}\n{'-' * min(len(name), 60)}\n" if len(arguments.files) > 1 else ""
            print(head + report, file=sys.stderr if "error" in data else sys.stdout)
            print(end="\n" if name != arguments.files[-1] else "")
    if arguments.json:
        print(json_text({"timezone": zone.name, "files": found}))
        for one in found:
            if "error" in one:
                print(one["error"], file=sys.stderr)
    return code


def _read_as(
    what: str, path: Path, arguments: argparse.Namespace, zone: _Zone, log: LogTable | None
) -> tuple[str, dict[str, Any]]:
    """Report and data of one file, read as one of KINDS or _PRICES; log: the table of a log, if it is open already."""
    from pondheat.text import reading_text

    given, timezone = options.reading_options(arguments)[0], zone.name
    if what in ("tariff", _PRICES):
        of_prices = what == _PRICES or bool(arguments.what) and _is_price_file(path)
        return _tariff(path, zone, None, None, of_prices)
    if what == "weather":
        worksheet = given.pop("worksheet", None)
        if given:
            raise ValueError(
                f"{_named(given)}: for a meter's or a thermometer's file, but {path.name} is read as weather."
            )
        return _weather(path, timezone, worksheet)
    from pondheat.meter.reading import meter_file, thermometer_file
    from pondheat.meter.reading.open_table import ReadingOptions, open_table

    if what == "thermometer" and (stray := set(given) - set(thermometer_file.OPTIONS)):
        raise ValueError(f"{_named(sorted(stray))}: for a meter's file, but {path.name} is read as a thermometer's.")
    log = log or open_table(path, timezone, ReadingOptions(**given), energy=what == "meter")
    if what == "thermometer":
        water = thermometer_file.of_table(log)
        days = reading_text.water_days(water)
        return reading_text.water_text(water, days), _data(what, water.interpretation, water.repairs, days)
    with Bar(f"reading {path.name}") as bar:
        metered = meter_file.of_table(log, bar.progress)
    days = reading_text.meter_days(metered, timezone)
    data = _data(what, metered.interpretation, metered.repairs, days)
    return reading_text.meter_text(metered, days), data | {"kind": metered.kind, "totals": metered.totals}


def _other_kinds(taken: str | None) -> str:
    """What to do if a table that can't be read was taken for the wrong kind of file; empty where it can't have been."""
    others = [f"--as {kind}" for kind in KINDS[:3] if kind != taken]
    return (
        f" It was read as a {taken} file; if it is another kind, give {others[0]} or {others[1]}."
        if len(others) == 2
        else ""
    )


def _named(names: Iterable[str]) -> str:
    """Options as on the command line."""
    return ", ".join(f"--{name.replace('_', '-')}" for name in names)


def _data(what: str, interpretation, repairs, days) -> dict[str, Any]:
    return {
        "read_as": what,
        "interpretation": list(interpretation),
        "repairs": [{"kind": one.kind, "sentence": one.sentence, "kwh": one.kwh} for one in repairs],
        "days": {str(day): {key: float(value) for key, value in row.items()} for day, row in days.iterrows()},
    }


def _weather(path: Path, timezone: str, worksheet: str | None) -> tuple[str, dict[str, Any]]:
    from pondheat.core.time_zones import zone_place
    from pondheat.season.weather import answers

    place = zone_place(timezone)
    shell = answers.of_shell()
    with answers.given(replace(shell, worksheet=worksheet or shell.worksheet)):
        return _weather_as_answered(path, timezone, place)


def _weather_as_answered(path: Path, timezone: str, place: ZonePlace | None) -> tuple[str, dict[str, Any]]:
    from pondheat.season.weather import weather
    from pondheat.season.weather.record import WeatherError
    from pondheat.text import reading_text

    try:
        record = weather.read(path, timezone=timezone, year=_THIS_YEAR)
    except WeatherError as wrong:
        if place is None or "give latitude and longitude" not in str(wrong):
            raise
        record = weather.read(
            path, timezone=timezone, year=_THIS_YEAR, latitude=place.latitude, longitude=place.longitude
        )
    days = reading_text.weather_days(record)
    return reading_text.weather_text(record, days), _data("weather", record.notes, (), days)


def _kind_of(path: Path, timezone: str, given: dict[str, Any]) -> tuple[str, LogTable | None]:
    """Which of KINDS a file is, by its content, and its table if it is a log; _PRICES for a tariff that is a table."""
    from pondheat.core import toml_errors
    from pondheat.core.tables.containers import unpacked
    from pondheat.core.tables.decoding import as_text
    from pondheat.core.tables.read_log import ReadingsFault, ReadLog
    from pondheat.meter.reading import columns
    from pondheat.meter.reading.open_table import ReadingOptions, open_table
    from pondheat.money import price_columns
    from pondheat.season.weather import answers, formats, table

    worksheet, option = given.get("worksheet"), '--worksheet "…"'
    if worksheet is None:
        worksheet, option = answers.of_shell().worksheet, '--weather-worksheet "…"'
    data = unpacked(read_input(path), path.name, worksheet, ReadLog(), option=option)
    try:
        text = as_text(data, path.name, ReadLog())
    except ReadingsFault:
        return "meter", None  # its reader says what is wrong
    tables = re.search(r"^\s*\[{1,2}[a-z_]+(?:\.[a-z_]+)?\]{1,2}\s*(?:#.*)?$", text[:20_000], re.M)
    kind = "toml" if tables else formats.detect_format(text, path.suffix.lower())
    if kind == "toml":
        values = toml_errors.loads(text)
        if {"pond", "heater", "timezone"} & set(values):
            raise ValueError(f"{path.name} is a pond sheet: python -m pondheat season {path.name} reads it.")
        return ("weather" if "air_temp" in values else "tariff"), None
    if kind != "table" or table.is_weather(text):
        return "weather", None
    if price_columns.is_price_table(text):
        return _PRICES, None
    log = open_table(path, timezone, ReadingOptions(**{**given, "worksheet": worksheet}), energy=False)
    if columns.only_temperatures(log):
        return "thermometer", log
    return "meter", None if log.lines.unclear else log  # its reader says what is unclear


def tariff(arguments: argparse.Namespace) -> int:
    """The command `tariff`: a week of a tariff as it was understood."""
    from pondheat.money import stated_in_file

    with _as_path(arguments.file) as path:
        zone = _zone(arguments.timezone or stated_in_file.timezone_in(path))
        report, data = _tariff(path, zone, arguments.week, arguments.currency, _is_price_file(path))
    print(json_text(data) if arguments.json else report)
    return 0


def _tariff(
    path: Path, zone: _Zone, week: str | None, currency: str | None, of_prices: bool
) -> tuple[str, dict[str, Any]]:
    """Report and data of a tariff; of_prices: whether its file is a table of prices alone."""
    from pondheat.core import units
    from pondheat.core.currencies import currency_of
    from pondheat.money import stated_in_file, tariffs
    from pondheat.text import tariff_text

    if of_prices:
        found = _tariff_of_prices(path, zone, currency)
    else:
        money = currency_of(currency) if currency is not None else stated_in_file.currency_in(path) or units.GBP
        as_read, faults = tariffs.read(path, money)
        if as_read is None or faults:
            raise ValueError("\n".join(f"{path.name}: {where + ': ' if where else ''}{said}" for where, said in faults))
        found = as_read
    timezone, day, count = zone.name, dt.date.today(), 7
    if found.price_series is not None:
        day = found.price_series.first_whole_day(timezone)
        count = max(1, min(7, found.price_series.whole_days(timezone, day)))
    if week is not None:
        try:
            day, count = dt.date.fromisoformat(week), 7
        except ValueError:
            raise ValueError(f"--week {week} is not a date: write it as 2026-01-19.") from None
    if found.price_series is None or week is not None:
        day -= dt.timedelta(days=day.weekday())
    return (
        tariff_text.tariff_text(found, timezone, day, count),
        {"read_as": "tariff"} | tariff_text.tariff_dict(found, timezone, day, count),
    )


def _is_price_file(path: Path) -> bool:
    """Whether a file is a table of prices, or named as a table is: its reader says then what is missing of prices.

    False, too, where it can't be opened, as the reader of tariffs says why.
    """
    from pondheat.core.tables.containers import unpacked
    from pondheat.core.tables.decoding import as_text
    from pondheat.core.tables.read_log import ReadingsFault, ReadLog
    from pondheat.money import price_columns

    try:
        data = unpacked(read_input(path), path.name, None, ReadLog(), option=None)
        if path.suffix.lower() in _TABLES:
            return True
        return path.suffix.lower() != ".toml" and price_columns.is_price_table(as_text(data, path.name, ReadLog()))
    except (ReadingsFault, OSError):
        return False


def _tariff_of_prices(path: Path, zone: _Zone, currency: str | None) -> Tariff:
    """A tariff of a price file alone, in the first known currency that fits.

    Its times are by the clock of `zone`, unless that was not given and the file names its own.
    """
    from pondheat.core.currencies import CURRENCIES, currency_of
    from pondheat.core.errors import OtherCurrency
    from pondheat.money import price_file
    from pondheat.money.stated_in_file import ZoneOption
    from pondheat.money.tariffs import Tariff

    given = zone.name if zone.given else None
    asked = ZoneOption("--timezone", "--timezone {}", "Give", "you gave", default=zone.name)

    def priced_in(one: Currency) -> Tariff:
        return Tariff(path.name, price_series=price_file.read(path, one, given, asked=asked), currency=one)

    *others, last = [currency_of(currency)] if currency is not None else CURRENCIES.values()
    for one in others:
        with suppress(OtherCurrency):
            return priced_in(one)
    return priced_in(last)


@contextmanager
def _as_path(name: str) -> Iterator[Path]:
    """The path of a file named on the command line; standard input, for “-”, as a file for the time being."""
    if name != "-":
        yield Path(name)
        return
    content = sys.stdin.buffer.read(LARGEST + 1)
    if len(content) > LARGEST:
        raise NotRead(f"More than {LARGEST // 1_000_000} MB came from standard input: split it into years or months.")
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / _STANDARD_INPUT
        write_atomically(path, content)
        yield path


def _zone(given: str | None) -> _Zone:
    """The time zone given; otherwise this computer's or a default, which is printed."""
    from pondheat.core import time_zones, value_parsers

    if given is not None:
        return _Zone(value_parsers.time_zone(given).key, True)
    own = time_zones.own_zone()
    found = _Zone(own or _DEFAULT_ZONE, False)
    why = "this computer's" if own else "as this computer's time zone is not known"
    print(f"Times are read by the clock of {found.name}, {why}; give --timezone for another.", file=sys.stderr)
    return found
