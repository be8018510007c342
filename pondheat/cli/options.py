"""The options of every command, and their values in the library's units."""

from __future__ import annotations

import argparse
import functools
import sys
from contextlib import AbstractContextManager, nullcontext
from pathlib import Path
from typing import Any

from pondheat.cli.scenario_options import SCENARIO_OPTIONS
from pondheat.cli.terminal import Parser

# What a meter file may not say itself (`analysis.comparison_files.READING`): option, metavar, help.
READING_OPTIONS = (
    ("kind", "KIND", "counter, interval, power, current, flashes, flash counter, gas or gas counter"),
    ("dates", "ORDER", "“day first” or “month first”"),
    ("stamps", "WHICH", "times are the start or the end"),
    ("clock", "CLOCK", "local, standard (winter time all year) or utc"),
    ("unit", "UNIT", "of the meter's column"),
    ("column", "NAME", "the meter's column, by name or number; A+B adds two"),
    ("temp-column", "NAME", "the water temperature's column, by name or number"),
    ("decimal", "SIGN", "point or comma"),
    ("rating", "WATTS", "of the heater, to judge what cannot be"),
    ("voltage", "VOLTS", "for a current"),
    ("power-factor", "SHARE", "for a current"),
    ("flashes-per-kwh", "NUMBER", "of the meter's lamp"),
    ("calorific-value", "MJ/m³", "of the gas"),
    ("correction-factor", "NUMBER", "of the gas, as on the bill"),
    ("digits", "NUMBER", "of the counter before the point"),
    ("device", "NAME", "which of several meters in one file"),
    ("worksheet", "NAME", "of a workbook (.xlsx), by name or number"),
    ("estimates", "HOW", "“use” to count readings marked as estimated; or the marks that mean it, as in E,S"),
)
# What a thermometer's file may not say itself (`meter.reading.thermometer_file.OPTIONS`).
_FOR_WATER = {"dates", "stamps", "clock", "temp-column", "decimal", "device", "worksheet", "estimates"}
WATER_OPTIONS = (
    *(one for one in READING_OPTIONS if one[0] in _FOR_WATER),
    ("unit", "UNIT", "of the temperatures: °C or °F"),
)
# What a weather table may not say itself (`season.weather.answers.Answers`): option, metavar, help.
WEATHER_ANSWERS = (
    ("weather-clock", "CLOCK", "local, standard (winter time all year) or utc"),
    ("weather-stamps", "WHICH", "times are the start or the end of their intervals"),
    ("weather-dates", "ORDER", "“day first” or “month first”"),
    ("weather-station", "NAME", "whose rows are read, where a column names several stations"),
    ("weather-worksheet", "NAME", "of a workbook (.xlsx), by name or number"),
    ("weather-gaps", "HOW", "“typical year” fills gaps of more than 3 hours; the result says so, and proves no saving"),
)
NUMERIC_OPTIONS = {  # each with what a reader may copy
    "rating": "3000, in watts",
    "voltage": "230, in volts",
    "power-factor": "0.95",
    "flashes-per-kwh": "1000",
    "calorific-value": "39.5, in MJ/m³",
    "correction-factor": "1.02264",
    "digits": "5",
}


@functools.cache  # it takes ten milliseconds to make
def parser() -> argparse.ArgumentParser:
    """The parser of all commands; `part` is the command's name, None for opening the workbook."""
    from pondheat import __version__
    from pondheat.front_door import opening

    made = Parser(
        prog="pondheat" if Path(sys.argv[0]).stem == "pondheat" else "python -m pondheat",
        description="Open the workbook in your browser. Add a command for answers in the shell.",
    )
    made.add_argument("--version", action="version", version=f"pondheat {__version__}")
    opening.add_options(made)
    names = "season | compare | follow | read | tariff | weather | check | key | together | prepare"
    commands = made.add_subparsers(dest="part", metavar=names)
    _add_season(commands)
    _add_compare(commands)
    _add_follow(commands)
    _add_read(commands)
    _add_tariff(commands)
    _add_weather(commands)
    check = commands.add_parser(
        "check",
        help="evaluate check files against the library",
        description="Evaluate every row of check files. Exit code 0: all agree; 1: some fail; 2: "
        "something could not be read.",
    )
    check.add_argument("paths", nargs="+", metavar="PATH", help="check files, folders or patterns")
    key = commands.add_parser(
        "key",
        help="the tutor's key and a handout to print, as HTML files",
        description="Write the tutor's key, a handout of two pages and, if asked, blank question sheets.",
    )
    key.add_argument(
        "sheet",
        metavar="SHEET.toml",
        nargs="?",
        help="the pond the handout is worked out for, and its currency (default: the invented garden pond)",
    )
    key.add_argument("--sheets", action="store_true", help="question sheets for each route too, and a key to each")
    key.add_argument("--folder", metavar="FOLDER", help="where to write them (default: for-the-tutor)")
    together = commands.add_parser(
        "together",
        help="a class's ponds side by side, without names, as an HTML file",
        description="Compare all pond sheets of a folder side by side, under letters drawn at random.",
    )
    together.add_argument("folder", metavar="FOLDER", help="where everyone who wants to has put a pond sheet")
    together.add_argument("--money", action="store_true", help="show money too, on each sheet's own tariff")
    together.add_argument(
        "--page", metavar="FILE.html", help="where to write it (default: for-the-tutor/our_ponds.html)"
    )
    commands.add_parser(
        "prepare",
        help="compile the hourly model once, so that later starts need not (for a class server or an image)",
        description="Compile the hourly model and keep the result on disk. Only the first start gets quicker.",
    )
    return made


def _add_weather(commands) -> None:
    weather = commands.add_parser(
        "weather",
        help="list or clear the weather that was fetched, or fetch a town's",
        description="List the weather that was fetched from open services. With --place: fetch a town's, after "
        "saying what is sent to whom.",
    )
    _add_place(weather, "the town, or latitude and longitude, whose typical year is fetched")
    weather.add_argument("--winters", action="store_true", help="the hours of the last 20 years instead")
    weather.add_argument("--clear", action="store_true", help="delete all fetched weather")
    weather.add_argument("--folder", metavar="FOLDER", help="of a pond sheet or of the pages (default: this one)")


def _add_place(parser: argparse.ArgumentParser, meaning: str) -> None:
    parser.add_argument("--place", metavar="TOWN", help=f"{meaning}, as in “Leeds, GB” or “53.8, -1.5”")
    parser.add_argument(
        "--fetch", action="store_true", help="agree to what is said before anything is fetched, once, from the internet"
    )


def _add_season(commands) -> None:
    season = commands.add_parser(
        "season",
        help="heat, money, saving and payback of one pond over a season",
        description="Work out a season, open and covered, for the pond in a sheet.",
    )
    season.add_argument("sheet", metavar="SHEET.toml", help="the pond sheet (examples in data/ponds)")
    season.add_argument("--weather", metavar="FILE|NAME", help="a weather file or built-in name instead of the sheet's")
    _add_place(season, "weather of a town instead of the sheet's")
    season.add_argument("--json", action="store_true", help="print JSON instead of the table")
    season.add_argument("--hours", metavar="FILE.csv", help="write every hour of the season to a file")
    season.add_argument("--report", metavar="FILE.html", help="write the decision sheet, one page to print, to a file")
    season.add_argument(
        "--meter",
        metavar="FILE",
        help="the heater's meter file: what it shows about this pond narrows the likely ranges",
    )
    season.add_argument(
        "--meter-weather", metavar="FILE|NAME", help="weather of the metered days instead of the sheet's"
    )
    season.add_argument("--pump-on-meter", action="store_true", help="the sheet's pump is on the same meter too")
    season.add_argument(
        "--what-if",
        action="store_true",
        help="and the keeper's choices beside it: no heat, covers, heaters, hours, each for a season",
    )
    inputs = season.add_argument_group("what some of those choices need and no sheet gives")
    for name, metavar, meaning in SCENARIO_OPTIONS:
        inputs.add_argument(f"--{name}", metavar=metavar, help=meaning)
    _add_reading(season, "what the meter file does not say")
    _add_weather_answers(season)


def _add_compare(commands) -> None:
    compare = commands.add_parser(
        "compare",
        help="did the cover save, or was the weather milder? two meter files compared",
        description="Compare the meter file of open nights with that of covered nights, in the weather of those "
        "days. Or give one file with both, and --covered-nights.",
    )
    compare.add_argument("open", metavar="OPEN.csv", help="meter file of the open nights (or of all nights)")
    compare.add_argument("covered", metavar="COVERED.csv", nargs="?", help="meter file of the covered nights")
    compare.add_argument(
        "--covered-nights",
        metavar="DATES",
        help="for one file: the dates of the evenings the cover was put on, as in 2026-01-19,2026-01-22..2026-01-25",
    )
    compare.add_argument("--sheet", metavar="SHEET.toml", help="the pond sheet")
    compare.add_argument("--weather", metavar="FILE|NAME", help="weather of those days instead of the sheet's")
    _add_place(compare, "weather of those days in a town instead of the sheet's")
    compare.add_argument("--tariff", metavar="TARIFF.toml", help="a tariff instead of the sheet's")
    compare.add_argument("--base-load", metavar="WATTS", help="power on the same meter that does not warm the water")
    compare.add_argument("--pump-on-meter", action="store_true", help="the sheet's pump is on the same meter too")
    compare.add_argument("--timezone", metavar="ZONE", help="of the files' clock, if not the sheet's")
    compare.add_argument("--json", action="store_true", help="print JSON instead of the text")
    _add_reading(compare, "where a file does not say (once for both files, or once for each)")
    _add_weather_answers(compare)


def _add_follow(commands) -> None:
    follow = commands.add_parser(
        "follow",
        help="does the model fit my own pond? computed water against a thermometer's log",
        description="Compare the computed water of an unheated pond with a thermometer's log, hour by hour, and say "
        "whether a heated forecast for this pond can be trusted.",
    )
    follow.add_argument("log", metavar="LOG.csv", help="times and water temperatures, of an unheated pond")
    follow.add_argument("--sheet", metavar="SHEET.toml", required=True, help="the pond sheet")
    follow.add_argument("--weather", metavar="FILE|NAME", help="weather of those days instead of the sheet's")
    follow.add_argument("--json", action="store_true", help="print JSON instead of the text")
    follow.add_argument("--hours", metavar="FILE.csv", help="write measured and computed water to a file")
    _add_reading(follow, "where the log does not say", WATER_OPTIONS)
    _add_weather_answers(follow)


def _add_read(commands) -> None:
    read = commands.add_parser(
        "read",
        help="how a file is understood: its columns and units, repairs, daily totals; nothing is worked out",
        description="Show how meter logs, thermometer logs, weather files and tariffs are understood. Needs no pond "
        "sheet and writes nothing.",
    )
    read.add_argument("files", nargs="+", metavar="FILE", help="files of any of these kinds; - reads standard input")
    read.add_argument("--as", dest="what", metavar="KIND", help="meter, thermometer, weather or tariff, where in doubt")
    read.add_argument("--timezone", metavar="ZONE", help="of the files' clock (default: this computer's)")
    read.add_argument("--json", action="store_true", help="print JSON instead of the text")
    _add_reading(read, "where a file does not say")
    _add_weather_answers(read)


def _add_tariff(commands) -> None:
    tariff = commands.add_parser(
        "tariff",
        help="a week of a tariff as it was understood",
        description="Print a week of a tariff file: which rate applies when. All keys are explained in "
        "workbook/tariffs.md.",
    )
    tariff.add_argument("file", metavar="TARIFF.toml", help="the tariff; - reads standard input")
    tariff.add_argument("--week", metavar="DATE", help="a date in the week to print (default: this week)")
    tariff.add_argument("--timezone", metavar="ZONE", help="whose clock the windows go by (default: this computer's)")
    tariff.add_argument("--currency", metavar="CODE", help="GBP, EUR or USD, if the file names none")
    tariff.add_argument("--json", action="store_true", help="print JSON instead of the text")


def _add_weather_answers(parser: argparse.ArgumentParser) -> None:
    answers = parser.add_argument_group("where a weather table does not say")
    answers.add_argument(
        "--weather-unit", metavar="COLUMN=UNIT", action="append", help="as in wind_speed=mph; more than once for more"
    )
    for name, metavar, meaning in WEATHER_ANSWERS:
        answers.add_argument(f"--{name}", metavar=metavar, help=meaning)


def weather_answers(arguments: argparse.Namespace) -> AbstractContextManager[None]:
    """A context in which weather tables are read with the answers given on the command line."""
    names = [name for name, _, _ in WEATHER_ANSWERS]
    said = {name.removeprefix("weather-"): getattr(arguments, name.replace("-", "_"), None) for name in names}
    written = getattr(arguments, "weather_unit", None) or []
    if not written and not any(said.values()):
        return nullcontext()
    from pondheat.season.weather import answers

    units = {}
    for one in written:
        column, mark, unit = one.partition("=")
        if not mark or not unit.strip():
            raise ValueError(f"--weather-unit {one}: write a column and its unit, as in wind_speed=mph.")
        units[answers.checked_column(column.strip().lower(), "--weather-unit")] = unit.strip()
    for key in answers.CHOICES:
        if (value := said[key]) is not None:
            said[key] = answers.checked_choice(key, value, f"--weather-{key}")
    return answers.given(answers.Answers(units, **said))


def _add_reading(
    parser: argparse.ArgumentParser, title: str, options: tuple[tuple[str, str, str], ...] = READING_OPTIONS
) -> None:
    reading = parser.add_argument_group(title)
    for name, metavar, meaning in options:
        reading.add_argument(f"--{name}", metavar=metavar, help=meaning, action="append")


def given(arguments: argparse.Namespace, name: str) -> Any:
    """The value of an option named as on the command line."""
    return getattr(arguments, name.replace("-", "_"))


def reading_options(arguments: argparse.Namespace) -> tuple[dict[str, Any], dict[str, Any]]:
    """Reading options of each of two meter files; an option given once holds for both."""
    from pondheat.core import value_parsers

    both: tuple[dict[str, Any], dict[str, Any]] = ({}, {})
    for name, _, _ in READING_OPTIONS:
        values = getattr(arguments, name.replace("-", "_"), None) or []  # not every command has every option
        if len(values) > 2:
            raise ValueError(f"--{name} is given {len(values)} times: once for both files, or once for each.")
        for options, value in zip(both, values * 2 if len(values) == 1 else values):
            if name in NUMERIC_OPTIONS:
                value = value_parsers.bare_number(value, f"--{name}", NUMERIC_OPTIONS[name])
            elif name.endswith("column") and value.isdecimal():
                value = int(value)
            options[name.replace("-", "_")] = value
    return both


def in_options(wrong: ValueError | OSError) -> ValueError:
    """The same error with reading options named as on the command line, safe to print."""
    from pondheat.analysis.printable import without_controls
    from pondheat.text.savings_text import as_option

    return ValueError("\n".join(without_controls(as_option(line)) for line in str(wrong).splitlines()))
