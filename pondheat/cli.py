"""The command line: open the workbook, or season, compare, check, key and together from a shell.

Exit codes: 0 done, 1 check rows fall short, 2 something could not be read (with a sentence on standard error),
130 stopped by Ctrl-C. Modules are imported by the command that needs them, so that each starts quickly.
"""

from __future__ import annotations

import argparse
import json
import sys
import warnings
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pondheat.core.places import require_clone

if TYPE_CHECKING:
    from pondheat.core.units import Currency
    from pondheat.meter.fitting.pond_fit import Fitted
    from pondheat.sheet.pond_sheet import Sheet

# Inputs of `analysis.scenarios.what_if` that no sheet gives: option, metavar, help.
SCENARIO_OPTIONS = (
    ("house-kwh", "KWH", "what the house takes in a year, pond left out"),
    ("house-cheap-share", "SHARE", "part of it in the tariff's cheap hours, as in 25%%"),
    ("flat-rate", "RATE", "one rate for all hours to compare with, tax within, as in “25 p/kWh”"),
    ("flat-standing-charge", "CHARGE", "its standing charge, as in “50 p/day”"),
    ("solar-peak-kw", "KW", "peak power of your own panels"),
    ("solar-kwh-per-day", "KWH", "or what they send back on an average day of the year"),
    ("export-rate", "RATE", "paid for a kWh sent back"),
    ("room-temp", "TEMP", "air of a room round the pond"),
)
# What a meter file may not say itself (`analysis.comparison_files.READING`): option, metavar, help.
READING_OPTIONS = (
    ("kind", "KIND", "counter, interval, power, current, flashes, flash counter, gas or gas counter"),
    ("dates", "ORDER", "“day first” or “month first”"),
    ("stamps", "WHICH", "times are the start or the end"),
    ("clock", "CLOCK", "local, standard (winter time all year) or utc"),
    ("unit", "UNIT", "of the meter's column"),
    ("column", "NAME", "the meter's column, by name or number"),
    ("temp-column", "NAME", "the water temperature's column, by name or number"),
    ("decimal", "SIGN", "point or comma"),
    ("rating", "WATTS", "of the heater, to judge what cannot be"),
    ("voltage", "VOLTS", "for a current"),
    ("power-factor", "SHARE", "for a current"),
    ("flashes-per-kwh", "NUMBER", "of the meter's lamp"),
    ("calorific-value", "MJ/m³", "of the gas"),
    ("correction-factor", "NUMBER", "of the gas, as on the bill"),
    ("digits", "NUMBER", "of the counter before the point"),
)
NUMERIC_OPTIONS = {
    "rating",
    "voltage",
    "power-factor",
    "flashes-per-kwh",
    "calorific-value",
    "correction-factor",
    "digits",
}


def main(arguments: list[str] | None = None) -> int:
    """Run one command and return its exit code; arguments: as on the command line, `sys.argv` where None."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(encoding="utf-8", errors="replace")  # a Windows console may lack the degree sign
    if not sys.warnoptions:
        warnings.simplefilter("ignore")  # for programmers; what a keeper must know is printed as a sentence
    parsed = _parser().parse_args(arguments)
    try:
        return parsed.run(parsed)
    except BrokenPipeError:
        return 0
    except (ValueError, OSError) as wrong:  # every refusal of this package is a ValueError with a sentence
        print(wrong if str(wrong) else type(wrong).__name__, file=sys.stderr)
        return 2
    except KeyboardInterrupt:
        print("Stopped.", file=sys.stderr)
        return 130


# --- options --------------------------------------------------------------------------------------------------------


def _parser() -> argparse.ArgumentParser:
    """The parser of all commands; each sets `run` to the function that carries it out."""
    from pondheat import __version__
    from pondheat.front_door import opening

    parser = argparse.ArgumentParser(
        prog="pondheat" if Path(sys.argv[0]).stem == "pondheat" else "python -m pondheat",
        description="Open the workbook in your browser. With a word behind it: answers in the shell.",
    )
    parser.add_argument("--version", action="version", version=f"pondheat {__version__}")
    opening.add_options(parser)
    parser.set_defaults(run=_open)
    commands = parser.add_subparsers(dest="part", metavar="season | compare | check | key | together")
    _add_season(commands)
    _add_compare(commands)
    check = commands.add_parser(
        "check",
        help="evaluate check files against the library",
        description="Evaluate every row of check files. Exit 0 all hold, 1 some fall short, 2 "
        "something could not be read.",
    )
    check.add_argument("paths", nargs="+", metavar="PATH", help="check files, folders or patterns")
    check.set_defaults(run=_check)
    key = commands.add_parser(
        "key",
        help="the tutor's key and a handout to print, as HTML files",
        description="Write the tutor's key, a handout of two pages and, if asked, blank question sheets.",
    )
    key.add_argument(
        "sheet",
        metavar="SHEET.toml",
        nargs="?",
        help="the pond the handout is reckoned for, and its currency (left out: the invented garden pond)",
    )
    key.add_argument("--sheets", action="store_true", help="blank question sheets too, for people without a computer")
    key.add_argument("--folder", metavar="FOLDER", help="where to write them (left out: for-the-tutor)")
    key.set_defaults(run=_key)
    together = commands.add_parser(
        "together",
        help="a class's ponds side by side, without names, as an HTML file",
        description="Hold all pond sheets of a folder against each other, under letters drawn by lot.",
    )
    together.add_argument("folder", metavar="FOLDER", help="where everyone who wants to has dropped a pond sheet")
    together.add_argument("--money", action="store_true", help="show money too, on each sheet's own tariff")
    together.add_argument(
        "--page", metavar="FILE.html", help="where to write it (left out: for-the-tutor/our_ponds.html)"
    )
    together.set_defaults(run=_together)
    return parser


def _add_season(commands) -> None:
    season = commands.add_parser(
        "season",
        help="heat, money, saving and payback of one pond over a season",
        description="Reckon a season, open and covered, for the pond in a sheet.",
    )
    season.add_argument("sheet", metavar="SHEET.toml", help="the pond sheet (examples in data/ponds)")
    season.add_argument("--weather", metavar="FILE|NAME", help="a weather file or built-in name instead of the sheet's")
    season.add_argument("--json", action="store_true", help="print JSON instead of the table")
    season.add_argument("--hours", metavar="FILE.csv", help="write every hour of the season to a file")
    season.add_argument("--report", metavar="FILE.html", help="write the decision sheet, one page to print, to a file")
    season.add_argument(
        "--meter", metavar="FILE", help="the heater's meter file: what it teaches of this pond narrows the bands"
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
    inputs = season.add_argument_group("what some of those choices need, and no sheet says")
    for name, metavar, meaning in SCENARIO_OPTIONS:
        inputs.add_argument(f"--{name}", metavar=metavar, help=meaning)
    _add_reading(season, "where the meter file does not say")
    season.set_defaults(run=_season)


def _add_compare(commands) -> None:
    compare = commands.add_parser(
        "compare",
        help="did the cover save, or was the weather milder? two meter files held against each other",
        description="Compare an open spell's meter file with a covered one's, in the weather of those days. Or one "
        "file with both, and --covered-nights.",
    )
    compare.add_argument("open", metavar="OPEN.csv", help="meter file of the open nights (or of all nights)")
    compare.add_argument("covered", metavar="COVERED.csv", nargs="?", help="meter file of the covered nights")
    compare.add_argument(
        "--covered-nights",
        metavar="DATES",
        help="one file: dates on whose evening the cover was laid, as in 2026-01-19,2026-01-22..2026-01-25",
    )
    compare.add_argument("--sheet", metavar="SHEET.toml", help="the pond sheet")
    compare.add_argument("--weather", metavar="FILE|NAME", help="weather of those days instead of the sheet's")
    compare.add_argument("--tariff", metavar="TARIFF.toml", help="a tariff instead of the sheet's")
    compare.add_argument("--base-load", metavar="WATTS", help="power on the same meter whose heat misses the water")
    compare.add_argument("--pump-on-meter", action="store_true", help="the sheet's pump is on the same meter too")
    compare.add_argument("--timezone", metavar="ZONE", help="of the clock of the files, if not the sheet's")
    compare.add_argument("--json", action="store_true", help="print JSON instead of the text")
    _add_reading(compare, "where a file does not say (once for both files, or once for each)")
    compare.set_defaults(run=_compare)


def _add_reading(parser: argparse.ArgumentParser, title: str) -> None:
    reading = parser.add_argument_group(title)
    for name, metavar, meaning in READING_OPTIONS:
        reading.add_argument(f"--{name}", metavar=metavar, help=meaning, action="append")


def _given(arguments: argparse.Namespace, name: str) -> Any:
    """The value of an option named as on the command line."""
    return getattr(arguments, name.replace("-", "_"))


def _reading_options(arguments: argparse.Namespace) -> tuple[dict[str, Any], dict[str, Any]]:
    """Reading options of each of two meter files; an option given once holds for both."""
    from pondheat.core import units

    both: tuple[dict[str, Any], dict[str, Any]] = ({}, {})
    for name, _, _ in READING_OPTIONS:
        given = _given(arguments, name) or []
        if len(given) > 2:
            raise ValueError(f"--{name} is given {len(given)} times: once for both files, or once for each.")
        for options, value in zip(both, given * 2 if len(given) == 1 else given):
            if name in NUMERIC_OPTIONS:
                value = units.number(value)
            elif name.endswith("column") and value.isdecimal():
                value = int(value)
            options[name.replace("-", "_")] = value
    return both


def _scenario_options(arguments: argparse.Namespace, currency: Currency) -> dict[str, float]:
    """The given options of `SCENARIO_OPTIONS` in the library's units."""
    from pondheat.core import units, value_parsers

    parsers: dict[str, Callable[[str], float]] = {
        "house-cheap-share": value_parsers.fraction,
        "room-temp": lambda text: units.parse(text, "degC", bare=True),
        "flat-rate": lambda text: value_parsers.rate(text, currency),
        "export-rate": lambda text: value_parsers.rate(text, currency),
        "flat-standing-charge": lambda text: value_parsers.daily_charge(text, currency),
    }
    found = {}
    for name, _, _ in SCENARIO_OPTIONS:
        text = _given(arguments, name)
        if text is None:
            continue
        if not arguments.what_if:
            raise ValueError(f"--{name} belongs to --what-if: give that too.")
        try:
            found[name.replace("-", "_")] = parsers.get(name, units.number)(text)
        except ValueError as wrong:
            raise ValueError(f"--{name}: {wrong}") from None
    return found


# --- commands -------------------------------------------------------------------------------------------------------


def _open(arguments: argparse.Namespace) -> int:
    from pondheat.front_door import opening

    require_clone("The workbook")
    return opening.open_workbook(arguments)


def _season(arguments: argparse.Namespace) -> int:
    from pondheat.analysis import assessment, export
    from pondheat.analysis.scenarios import what_if
    from pondheat.sheet import pond_sheet
    from pondheat.text import summary, what_if_text

    sheet = pond_sheet.read(arguments.sheet, _weather(arguments.weather))
    for target, what in ((arguments.hours, "the hours"), (arguments.report, "the decision sheet")):
        if target is not None:
            _refuse_target(Path(target), what, (Path(arguments.sheet), sheet.folder / sheet.weather))
    fitted = _learned(arguments, sheet)
    inputs = _scenario_options(arguments, sheet.currency)
    with _Bar("how sure") as bar:
        found = assessment.assess(sheet, progress=bar.progress, fitted=fitted)
    table = what_if.what_if(sheet, found.weather, None, None, **inputs) if arguments.what_if else None
    if arguments.hours is not None:
        export.write_hours(found, Path(arguments.hours))
    if arguments.report is not None:
        from pondheat.show.report import decision_sheet

        text = decision_sheet.report(sheet, found, what_if=table)
        Path(arguments.report).write_text(text, encoding="utf-8", newline="\n")
    if arguments.json:
        _print_json(export.as_dict(found) | ({} if table is None else {"what_if": what_if_text.as_dict(table)}))
        return 0
    print(summary.season_text(found))
    if table is not None:
        print("\n" + what_if_text.table_text(table, cautioned=found.covered is not None, shell=True))
    if arguments.report is not None:
        print(f"\nThe decision sheet, to be opened in a browser and printed: {arguments.report}")
    return 0


def _learned(arguments: argparse.Namespace, sheet: Sheet) -> Fitted | None:
    """What the meter file teaches of the sheet's pond; None without one."""
    from dataclasses import replace

    from pondheat.analysis import assessment
    from pondheat.meter.reading import meter_file

    reading = {name: _given(arguments, name) or [] for name, _, _ in READING_OPTIONS}
    if arguments.meter is None:
        others = {"meter-weather": arguments.meter_weather, "pump-on-meter": arguments.pump_on_meter} | reading
        stray = [f"--{name}" for name, given in others.items() if given]
        if stray:
            raise ValueError(f"Of a meter file, but none is given: {', '.join(stray)}. Give --meter FILE too.")
        return None
    for name, given in reading.items():
        if len(given) > 1:
            raise ValueError(f"--{name} is given {len(given)} times: once is enough for one meter file.")
    metered = replace(sheet, weather=_weather(arguments.meter_weather) or sheet.weather)
    try:
        log = meter_file.read(Path(arguments.meter), sheet.timezone, **_reading_options(arguments)[0])
        return assessment.learn(metered, log.use, pump_on_meter=arguments.pump_on_meter, repairs=log.repairs)
    except ValueError as wrong:
        raise _in_options(wrong) from None


def _compare(arguments: argparse.Namespace) -> int:
    from pondheat.analysis import comparison_files, savings_comparison
    from pondheat.core import units
    from pondheat.sheet import pond_sheet
    from pondheat.text import savings_text

    if arguments.sheet is None:
        raise comparison_files.Incomparable(
            "Each night is held against what your open pond would have lost in that night's weather: give its sheet, "
            "--sheet MY_POND.toml (data/ponds/my_first_sheet.toml is one to start from). Without a pond only totals "
            "could be compared, and those take a milder spell for a saving."
        )
    sheet = pond_sheet.read(arguments.sheet, _weather(arguments.weather))
    tariff = None if arguments.tariff is None else comparison_files.tariff_of(arguments.tariff, sheet.currency)
    nights = None if arguments.covered_nights is None else comparison_files.dates_of(arguments.covered_nights)
    base_load = 0.0 if arguments.base_load is None else units.parse(arguments.base_load, "W", bare=True)
    try:
        with _Bar("comparing") as bar:
            result = savings_comparison.compare_files(
                arguments.open,
                arguments.covered,
                sheet,
                tariff=tariff,
                progress=bar.progress,
                covered_nights=nights,
                base_load=base_load,
                pump_on_meter=arguments.pump_on_meter,
                timezone=arguments.timezone,
                reading=_reading_options(arguments),
            )
    except ValueError as wrong:
        raise _in_options(wrong) from None
    if arguments.json:
        _print_json(savings_text.as_dict(result))
    else:
        print(savings_text.comparison_text(result))
    return 0


def _check(arguments: argparse.Namespace) -> int:
    from pondheat.checks import runner

    text, code = runner.report(*runner.run(arguments.paths))
    print(text)
    return code


def _key(arguments: argparse.Namespace) -> int:
    require_clone("The tutor's key")
    from pondheat.core import display_units
    from pondheat.sheet import pond_sheet
    from pondheat.show import ponds
    from pondheat.tutor import writing

    club = display_units.load(Path(writing.LEARNERS))  # as on the pages that were opened from this folder
    pond = pond_sheet.read(arguments.sheet) if arguments.sheet else ponds.invented(money=club.currency)
    written = writing.write(Path(arguments.folder or writing.FOLDER), pond, arguments.sheets, club)
    print("Written, to be opened in a browser and printed:")
    for path in written:
        print(f"  {path}")
    print(
        "The key is for the tutor alone. "
        "No answers stand in the workbook's pages, and none in the handout or the sheets."
    )
    return 0


def _together(arguments: argparse.Namespace) -> int:
    from pondheat.analysis import class_comparison
    from pondheat.core import display_units
    from pondheat.tutor import our_ponds, writing

    page = Path(arguments.page or Path(writing.FOLDER) / "our_ponds.html")
    if page.suffix.lower() not in (".html", ".htm") or page.is_dir():
        raise ValueError(f"{page}: name a file that ends in .html.")
    with _Bar("reckoning the ponds") as bar:
        found = class_comparison.compare_class(Path(arguments.folder), money=arguments.money, progress=bar.progress)
    for name, why in found.left_out:
        print(f"Left out, {name}: {why}", file=sys.stderr)
    page.parent.mkdir(parents=True, exist_ok=True)
    text = our_ponds.our_ponds(found, display_units.load(Path(writing.LEARNERS)))
    page.write_text(text, encoding="utf-8", newline="\n")
    print(our_ponds.sentence(found))
    print(f"Written, to be opened in a browser: {page}")
    return 0


# --- shared by the commands -----------------------------------------------------------------------------------------


class _Bar:
    """A progress bar on standard error, where that is a terminal; wiped at the end."""

    def __init__(self, what: str):
        self._what = what
        self.progress = self._draw if sys.stderr.isatty() else None

    def __enter__(self) -> _Bar:
        return self

    def __exit__(self, *_) -> None:
        if self.progress is not None:
            print("\r" + " " * 60 + "\r", end="", file=sys.stderr)

    def _draw(self, done: float) -> None:
        filled = round(40 * done)
        bar = "#" * filled + "." * (40 - filled)
        print(f"\r  {self._what}: [{bar}]", end="", file=sys.stderr, flush=True)


def _print_json(data: dict) -> None:
    print(json.dumps(data, indent=2, ensure_ascii=False, allow_nan=False))


def _weather(chosen: str | None) -> str | None:
    """A weather name, or a path as seen from where the command is given, not from the sheet."""
    from pondheat.analysis.assessment import weather_source

    return None if chosen is None else weather_source(chosen)


def _in_options(wrong: ValueError) -> ValueError:
    """The same error with reading options named as on the command line, safe to print."""
    from pondheat.analysis.printable import without_controls
    from pondheat.text.savings_text import as_option

    return ValueError("\n".join(without_controls(as_option(line)) for line in str(wrong).splitlines()))


def _refuse_target(target: Path, what: str, inputs: tuple[Path, ...]) -> None:
    """Raise before any work where a file cannot be written, or would overwrite what the command reads."""
    if target.is_dir() or not target.resolve().parent.is_dir():
        raise ValueError(f"{target}: this file cannot be written there.")
    if any(target.resolve() == one.resolve() for one in inputs):
        raise ValueError(f"{target}: {what} would be written over what this command reads; name another file.")
