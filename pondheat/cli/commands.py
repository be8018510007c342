"""What each command does. Modules are imported by the command that needs them, so that each starts quickly."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from pondheat.cli import options, town
from pondheat.core.places import require_clone

if TYPE_CHECKING:
    from pondheat.analysis.scenarios.what_if import ScenarioTable
    from pondheat.meter.fitting.pond_fit import Fitted
    from pondheat.season.weather.weather import Weather
    from pondheat.sheet.pond_sheet import Sheet


def _open(arguments: argparse.Namespace) -> int:
    from pondheat.front_door import opening

    return opening.open_workbook(arguments)


def _season(arguments: argparse.Namespace) -> int:
    from pondheat.analysis import assessment, export
    from pondheat.sheet import pond_sheet
    from pondheat.text import summary, what_if_text

    sheet = town.sheet_of_place(pond_sheet.read(arguments.sheet, _weather(arguments.weather)), arguments)
    for target, what in ((arguments.hours, "the hours"), (arguments.report, "the decision sheet")):
        if target is not None:
            _refuse_target(Path(target), what, (Path(arguments.sheet), sheet.folder / sheet.weather))
    fitted = _learned(arguments, sheet)
    inputs = options.scenario_options(arguments, sheet.currency)
    town.fetch_for(sheet, arguments)
    with _Bar("how sure") as bar:
        found = assessment.assess(sheet, progress=bar.progress, fitted=fitted)
    table = _what_if(sheet, found.weather, inputs) if arguments.what_if else None
    if arguments.hours is not None:
        export.write_hours(found, Path(arguments.hours))
    if arguments.report is not None:
        from pondheat.show.report import decision_sheet

        text = decision_sheet.report(sheet, found, what_if=table)
        Path(arguments.report).write_text(text, encoding="utf-8", newline="\n")
    if arguments.json:
        _print_json(export.as_dict(found) | ({} if table is None else {"what_if": what_if_text.as_dict(table)}))
        return 0
    print(summary.season_text(found, table=table or _free_choices(sheet, found.weather)))
    if table is not None:
        print("\n" + what_if_text.table_text(table, cautioned=found.covered is not None, shell=True))
    if arguments.report is not None:
        print(f"\nThe decision sheet, to be opened in a browser and printed: {arguments.report}")
    return 0


def _free_choices(sheet: Sheet, record: Weather) -> ScenarioTable:
    """The few choices that the short answer names."""
    from pondheat.analysis.scenarios import what_if
    from pondheat.text.best_choice import NOTHING_TO_BUY, UNHEATED

    return what_if.what_if(sheet, record, (*NOTHING_TO_BUY, UNHEATED))


def _what_if(sheet: Sheet, record: Weather, inputs: dict[str, float]) -> ScenarioTable:
    """The table of the keeper's choices, each with its likely range."""
    from pondheat.analysis.scenarios import what_if

    table = what_if.what_if(sheet, record, None, None, **inputs)
    rows = max(len(what_if.pending_rows(table)), 1)
    with _Bar("how sure of each choice") as bar:
        for done, better in enumerate(what_if.with_likely_ranges(table), 1):
            table = better
            if bar.progress is not None:
                bar.progress(done / rows)
    return table


def _learned(arguments: argparse.Namespace, sheet: Sheet) -> Fitted | None:
    """What the meter file teaches of the sheet's pond; None without one."""
    from dataclasses import replace

    from pondheat.analysis import assessment
    from pondheat.meter.reading import meter_file

    reading = {name: options.given(arguments, name) or [] for name, _, _ in options.READING_OPTIONS}
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
        log = meter_file.read(Path(arguments.meter), sheet.timezone, **options.reading_options(arguments)[0])
        days = replace(metered, start=log.use.index[0].date(), end=log.use.index[-1].date())
        town.fetch_for(days, arguments, real_days=True)
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
    sheet = town.sheet_of_place(pond_sheet.read(arguments.sheet, _weather(arguments.weather)), arguments)
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
                reading=options.reading_options(arguments),
                before_weather=lambda days: town.fetch_for(days, arguments, real_days=True),
            )
    except ValueError as wrong:
        raise _in_options(wrong) from None
    if arguments.json:
        _print_json(savings_text.as_dict(result))
    else:
        print(savings_text.comparison_text(result))
    return 0


def _follow(arguments: argparse.Namespace) -> int:
    from pondheat.analysis import export, following
    from pondheat.meter.reading import thermometer_file
    from pondheat.sheet import pond_sheet
    from pondheat.text import following_text

    sheet = pond_sheet.read(arguments.sheet, _weather(arguments.weather))
    if arguments.hours is not None:
        inputs = (Path(arguments.sheet), Path(arguments.log), sheet.folder / sheet.weather)
        _refuse_target(Path(arguments.hours), "the hours", inputs)
    for name, _, _ in options.WATER_OPTIONS:
        if len(options.given(arguments, name) or []) > 1:
            raise ValueError(f"--{name} is given more than once: once is enough for one log.")
    try:
        log = thermometer_file.read(Path(arguments.log), sheet.timezone, **options.reading_options(arguments)[0])
        found = following.follow(sheet, log)
    except ValueError as wrong:
        raise _in_options(wrong) from None
    if arguments.hours is not None:
        export.write_compared(found, Path(arguments.hours))
    if arguments.json:
        _print_json(following_text.as_dict(found))
    else:
        print(following_text.following_text(found))
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
    written = writing.write_papers(Path(arguments.folder or writing.FOLDER), pond, arguments.sheets, club)
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
    text = our_ponds.page_html(found, display_units.load(Path(writing.LEARNERS)))
    page.write_text(text, encoding="utf-8", newline="\n")
    print(our_ponds.sentence(found))
    print(f"Written, to be opened in a browser: {page}")
    return 0


def _prepare(_: argparse.Namespace) -> int:
    from pondheat.core import compilation
    from pondheat.season import ensemble

    if not compilation.available():
        print("Nothing to prepare: numba is not installed here, and everything works without it, more slowly.")
        return 0
    seconds, folder = ensemble.warm_up(), compilation.cache_folder()
    if folder is None:
        print(f"Compiled in {seconds:.1f} s, but no folder for the result can be written: every start compiles anew.")
    else:
        print(f"Compiled, or found ready, in {seconds:.1f} s. It is kept in {folder} and used from now on.")
    return 0


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


COMMANDS: dict[str | None, Callable[[argparse.Namespace], int]] = {
    None: _open,
    "season": _season,
    "compare": _compare,
    "weather": town.weather,
    "follow": _follow,
    "check": _check,
    "key": _key,
    "together": _together,
    "prepare": _prepare,
}
