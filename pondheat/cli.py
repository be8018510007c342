"""`python -m pondheat`: open the workbook; or season, compare, check, key, together from a shell.

Exit codes: 0 done, 1 check rows fall short, 2 something could not be read (with a sentence on standard error).
"""

from __future__ import annotations

import argparse
import json
import sys
import warnings
from pathlib import Path


def _parser() -> argparse.ArgumentParser:
    from pondheat.front_door import opening

    parser = argparse.ArgumentParser(
        prog="python -m pondheat",
        description="Open the workbook in your browser. With a word behind it: answers in the shell.",
    )
    opening.add_options(parser)
    parts = parser.add_subparsers(dest="part", metavar="season | compare | check | key | together")
    season = parts.add_parser(
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
    given = season.add_argument_group("what some of those choices need, and no sheet says")
    for name, metavar, meaning in _HOUSE:
        given.add_argument(f"--{name}", metavar=metavar, help=meaning)
    _add_reading(season, "where the meter file does not say")
    season.set_defaults(run=_season)
    _add_compare(parts)
    check = parts.add_parser(
        "check",
        help="evaluate check files against the library",
        description="Evaluate every row of check files. Exit 0 all hold, 1 some fall short, 2 "
        "something could not be read.",
    )
    check.add_argument("paths", nargs="+", metavar="PATH", help="check files, folders or patterns")
    check.set_defaults(run=_check)
    key = parts.add_parser(
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
    together = parts.add_parser(
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


# What `analysis.scenarios.what_if` asks for and never guesses: option, example, what it is.
_HOUSE = (
    ("house-kwh", "KWH", "what the house takes in a year, pond left out"),
    ("house-cheap-share", "SHARE", "part of it in the tariff's cheap hours, as in 25%%"),
    ("flat-rate", "RATE", "one rate for all hours to compare with, tax within, as in “25 p/kWh”"),
    ("flat-standing-charge", "CHARGE", "its standing charge, as in “50 p/day”"),
    ("solar-peak-kw", "KW", "peak power of your own panels"),
    ("solar-kwh-per-day", "KWH", "or what they send back on an average day of the year"),
    ("export-rate", "RATE", "paid for a kWh sent back"),
    ("room-temp", "TEMP", "air of a room round the pond"),
)

# What a meter file may be asked for where it does not say: option, example or list, what it is.
_READING = (
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
_NUMBERS = ("rating", "voltage", "power-factor", "flashes-per-kwh", "calorific-value", "correction-factor", "digits")


def _add_compare(parts) -> None:
    compare = parts.add_parser(
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


def _add_reading(parser, title: str) -> None:
    reading = parser.add_argument_group(title)
    for name, metavar, meaning in _READING:
        reading.add_argument(f"--{name}", metavar=metavar, help=meaning, action="append")


def _compare(arguments: argparse.Namespace) -> int:
    from pondheat.analysis import savings_comparison
    from pondheat.core import units
    from pondheat.sheet import pond_sheet
    from pondheat.text import savings_text

    if arguments.sheet is None:
        raise savings_comparison.Incomparable(
            "Each night is held against what your open pond would have lost in that night's weather: give its sheet, "
            "--sheet MY_POND.toml (data/ponds/my_first_sheet.toml is one to start from). Without a pond only totals "
            "could be compared, and those take a milder spell for a saving."
        )
    described = pond_sheet.read(arguments.sheet, _from_here(arguments.weather))
    tariff = None if arguments.tariff is None else savings_comparison.tariff_of(arguments.tariff, described.currency)
    nights = None if arguments.covered_nights is None else savings_comparison.dates_of(arguments.covered_nights)
    base_load = 0.0 if arguments.base_load is None else units.parse(arguments.base_load, "W", bare=True)
    bar = (lambda done: _bar(done, "comparing")) if sys.stderr.isatty() else None
    try:
        proof = savings_comparison.compare_files(
            arguments.open,
            arguments.covered,
            described,
            tariff=tariff,
            progress=bar,
            covered_nights=nights,
            base_load=base_load,
            pump_on_meter=arguments.pump_on_meter,
            timezone=arguments.timezone,
            reading=_reading_options(arguments),
        )
    except ValueError as wrong:
        said = str(wrong).splitlines()
        raise ValueError("\n".join(savings_comparison.plain(savings_text.as_option(line)) for line in said)) from None
    finally:
        if bar:
            _wipe()
    if arguments.json:
        print(json.dumps(savings_text.as_dict(proof), indent=2, ensure_ascii=False, allow_nan=False))
    else:
        print(savings_text.proof_text(proof))
    return 0


def _reading_options(arguments: argparse.Namespace) -> tuple[dict, dict]:
    """What each of the two files is said to be: an option given once holds for both."""
    from pondheat.core import units

    both: tuple[dict, dict] = ({}, {})
    for name, _, _ in _READING:
        given = getattr(arguments, name.replace("-", "_")) or []
        if len(given) > 2:
            raise ValueError(f"--{name} is given {len(given)} times: once for both files, or once for each.")
        for options, value in zip(both, given * 2 if len(given) == 1 else given):
            if name in _NUMBERS:
                value = units.number(value)
            elif name.endswith("column") and value.isdecimal():
                value = int(value)
            options[name.replace("-", "_")] = value
    return both


def _from_here(chosen: str | None) -> str | None:
    """A weather name as it is; a path as seen from where the command is given, not from the sheet."""
    from pondheat.season.weather import weather

    if chosen is None or chosen.strip().lower() in weather.names():
        return chosen
    path = Path(chosen)
    return str(path.resolve()) if weather.exists(path) else chosen


def _season(arguments: argparse.Namespace) -> int:
    from pondheat.analysis import assessment
    from pondheat.analysis.scenarios import what_if
    from pondheat.sheet import pond_sheet
    from pondheat.text import summary, what_if_text

    described = pond_sheet.read(arguments.sheet, _from_here(arguments.weather))
    for target, what in ((arguments.hours, "the hours"), (arguments.report, "the decision sheet")):
        if target is not None:
            _refuse_target(Path(target), what, (Path(arguments.sheet), described.folder / described.weather))
    fitted = _learned(arguments, described)
    bar = (lambda done: _bar(done, "how sure")) if sys.stderr.isatty() else None
    given = _house_options(arguments, described.currency)
    found = assessment.assess(described, progress=bar, fitted=fitted)
    if bar:
        _wipe()
    table = what_if.what_if(described, found.weather, **given) if arguments.what_if else None
    if arguments.hours is not None:
        assessment.write_hours(found, Path(arguments.hours))
    if arguments.report is not None:
        from pondheat.show.report import decision_sheet

        Path(arguments.report).write_text(
            decision_sheet.report(described, found, what_if=table), encoding="utf-8", newline="\n"
        )
    if arguments.json:
        told = assessment.as_dict(found) | ({} if table is None else {"what_if": what_if_text.as_dict(table)})
        print(json.dumps(told, indent=2, ensure_ascii=False, allow_nan=False))
    else:
        print(summary.season_text(found))
        if table is not None:
            print("\n" + what_if_text.table_text(table, cautioned=found.covered is not None, shell=True))
        if arguments.report is not None:
            print(f"\nThe decision sheet, to be opened in a browser and printed: {arguments.report}")
    return 0


def _learned(arguments: argparse.Namespace, described):
    """What the meter file teaches of the sheet's pond; None without one."""
    from dataclasses import replace

    from pondheat.analysis import assessment, savings_comparison
    from pondheat.meter.reading import meter_file
    from pondheat.text import savings_text

    reading = {name: getattr(arguments, name.replace("-", "_")) or [] for name, _, _ in _READING}
    if arguments.meter is None:
        beside = {"meter-weather": arguments.meter_weather, "pump-on-meter": arguments.pump_on_meter} | reading
        stray = [f"--{name}" for name, given in beside.items() if given]
        if stray:
            raise ValueError(f"Of a meter file, but none is given: {', '.join(stray)}. Give --meter FILE too.")
        return None
    for name, given in reading.items():
        if len(given) > 1:
            raise ValueError(f"--{name} is given {len(given)} times: once is enough for one meter file.")
    metered = replace(described, weather=_from_here(arguments.meter_weather) or described.weather)
    try:
        made = meter_file.read(Path(arguments.meter), described.timezone, **_reading_options(arguments)[0])
        return assessment.learn(metered, made.use, pump_on_meter=arguments.pump_on_meter, repairs=made.repairs)
    except ValueError as wrong:
        raise ValueError(
            "\n".join(savings_comparison.plain(savings_text.as_option(line)) for line in str(wrong).splitlines())
        ) from None


def _house_options(arguments: argparse.Namespace, currency) -> dict[str, float]:
    """What was given of `_HOUSE`, in the library's units."""
    from pondheat.core import units, value_parsers

    read = {
        "house_cheap_share": value_parsers.fraction,
        "room_temp": lambda text: units.parse(text, "degC", bare=True),
        "flat_rate": lambda text: value_parsers.rate(text, currency),
        "export_rate": lambda text: value_parsers.rate(text, currency),
        "flat_standing_charge": lambda text: value_parsers.daily_charge(text, currency),
    }
    given = {name.replace("-", "_"): getattr(arguments, name.replace("-", "_")) for name, _, _ in _HOUSE}
    given = {name: text for name, text in given.items() if text is not None}
    if given and not arguments.what_if:
        raise ValueError(f"--{next(iter(given)).replace('_', '-')} belongs to --what-if: give that too.")
    found = {}
    for name, text in given.items():
        try:
            found[name] = read.get(name, units.number)(text)
        except ValueError as wrong:
            raise ValueError(f"--{name.replace('_', '-')}: {wrong}") from None
    return found


def _refuse_target(target: Path, what: str, inputs: tuple[Path, ...]) -> None:
    """Say so before the work is done where a file cannot be written, or would be written over what is read."""
    if target.is_dir() or not target.resolve().parent.is_dir():
        raise ValueError(f"{target}: this file cannot be written there.")
    if any(target.resolve() == one.resolve() for one in inputs):
        raise ValueError(f"{target}: {what} would be written over what this command reads; name another file.")


def _wipe() -> None:
    print("\r" + " " * 60 + "\r", end="", file=sys.stderr)


def _bar(done: float, what: str) -> None:
    filled = round(40 * done)
    print(f"\r  {what}: [{'#' * filled}{'.' * (40 - filled)}]", end="", file=sys.stderr, flush=True)


def _check(arguments: argparse.Namespace) -> int:
    from pondheat.checks import runner

    text, code = runner.report(*runner.run(arguments.paths))
    print(text)
    return code


def _key(arguments: argparse.Namespace) -> int:
    from pondheat.core import display_units
    from pondheat.sheet import pond_sheet
    from pondheat.show import ponds
    from pondheat.tutor import writing

    club = display_units.load(Path(writing.LEARNERS))  # as on the pages that were opened from here
    pond = pond_sheet.read(arguments.sheet) if arguments.sheet else ponds.invented(money=club.currency)
    written = writing.write_papers(Path(arguments.folder or writing.FOLDER), pond, arguments.sheets, club)
    print("Written, to be opened in a browser and printed:")
    for path in written:
        print(f"  {path}")
    print(
        "The key is for the tutor alone. No answers stand in the workbook's pages, and none in the handout or the sheets."
    )
    return 0


def _together(arguments: argparse.Namespace) -> int:
    from pondheat.analysis import class_comparison
    from pondheat.core import display_units
    from pondheat.tutor import our_ponds, writing

    page = Path(arguments.page or Path(writing.FOLDER) / "our_ponds.html")
    if page.suffix.lower() not in (".html", ".htm") or page.is_dir():
        raise ValueError(f"{page}: name a file that ends in .html.")
    bar = (lambda done: _bar(done, "reckoning the ponds")) if sys.stderr.isatty() else None
    try:
        found = class_comparison.together(Path(arguments.folder), money=arguments.money, progress=bar)
    finally:
        if bar:
            _wipe()
    for name, why in found.left_out:
        print(f"Left out, {name}: {why}", file=sys.stderr)
    page.parent.mkdir(parents=True, exist_ok=True)
    page.write_text(
        our_ponds.page_html(found, display_units.load(Path(writing.LEARNERS))), encoding="utf-8", newline="\n"
    )
    print(our_ponds.sentence(found))
    print(f"Written, to be opened in a browser: {page}")
    return 0


def main(arguments: list[str] | None = None) -> int:
    """Run one command; returns the exit code."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(encoding="utf-8", errors="replace")  # a Windows console may lack the degree sign
    if not sys.warnoptions:
        warnings.simplefilter("ignore")  # libraries' words to programmers; what a keeper must know is said in sentences
    parsed = _parser().parse_args(arguments)
    if parsed.part is None:
        from pondheat.front_door import opening

        return opening.open_workbook(parsed)
    try:
        return parsed.run(parsed)
    except BrokenPipeError:
        return 0
    except (ValueError, OSError) as wrong:  # every refusal of ours is a ValueError with a sentence
        print(wrong if str(wrong) else type(wrong).__name__, file=sys.stderr)
        return 2
    except KeyboardInterrupt:
        print("Stopped.", file=sys.stderr)
        return 130
