"""What each command does. Modules are imported by the command that needs them, so that each starts quickly."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, TextIO

from pondheat.cli import options, read_files, scenario_options, town
from pondheat.cli.terminal import Bar, json_text
from pondheat.core import files
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
    from pondheat.fish import cautions
    from pondheat.sheet import pond_sheet
    from pondheat.text import summary, what_if_text

    sheet = town.sheet_of_place(pond_sheet.read(arguments.sheet, _weather(arguments.weather)), arguments)
    targets = [(arguments.hours, files.SEASON_HOURS), (arguments.report, files.DECISION_SHEET)]
    inputs = [arguments.sheet, arguments.meter, arguments.meter_weather, sheet.folder / sheet.weather]
    _check_targets(targets, inputs)
    asked = scenario_options.scenario_inputs(arguments, sheet.currency)
    fitted = _learned(arguments, sheet)
    town.fetch_for(sheet, arguments)
    with Bar("how sure") as bar:
        found = assessment.assess(sheet, progress=bar.progress, fitted=fitted)
    table = _what_if(sheet, found.weather, asked) if arguments.what_if else None
    named = table
    if named is None and (arguments.report is not None or not arguments.json):
        named = _free_choices(sheet, found.weather)
    if arguments.hours is not None:
        export.write_hours(found, Path(arguments.hours))
    if arguments.report is not None:
        from pondheat.show.report import decision_sheet

        text = decision_sheet.report(sheet, found, what_if=named)
        files.write_atomically(Path(arguments.report), text.encode("utf-8"), files.DECISION_SHEET)
    if arguments.json:
        choices = {} if table is None else {"what_if": what_if_text.as_dict(table)}
        _print_json(export.as_dict(found) | choices | {"caution": cautions.STANDING})
        _print_written(targets, sys.stderr)
        return 0
    print(summary.season_text(found, table=named))
    if table is not None:
        print("\n" + what_if_text.table_text(table, cautioned=found.covered is not None, shell=True))
    _print_written(targets, sys.stdout)
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
    with Bar("how sure of each choice") as bar:
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
            raise ValueError(f"No meter file is given for {', '.join(stray)}. Give --meter FILE too.")
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
        raise options.in_options(wrong) from None


def _compare(arguments: argparse.Namespace) -> int:
    from pondheat.analysis import comparison_files, savings_comparison
    from pondheat.core import units
    from pondheat.sheet import pond_sheet
    from pondheat.text import savings_text

    if arguments.sheet is None:
        raise comparison_files.Incomparable(
            "Each night is compared with what your open pond would have lost in that night's weather, so give its "
            "sheet: --sheet MY_POND.toml (data/ponds/my_first_sheet.toml is one to start from). Without a pond only "
            "totals could be compared, and those mistake milder weather for a saving."
        )
    sheet = town.sheet_of_place(pond_sheet.read(arguments.sheet, _weather(arguments.weather)), arguments)
    tariff = None if arguments.tariff is None else comparison_files.tariff_of(arguments.tariff, sheet.currency)
    nights = None if arguments.covered_nights is None else comparison_files.dates_of(arguments.covered_nights)
    base_load = 0.0 if arguments.base_load is None else units.parse(arguments.base_load, "W", bare=True)
    try:
        with Bar("comparing") as bar:
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
        raise options.in_options(wrong) from None
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
    targets = [(arguments.hours, files.COMPARED_HOURS)]
    _check_targets(targets, [arguments.sheet, arguments.log, sheet.folder / sheet.weather])
    for name, _, _ in options.WATER_OPTIONS:
        if len(options.given(arguments, name) or []) > 1:
            raise ValueError(f"--{name} is given more than once: once is enough for one log.")
    try:
        log = thermometer_file.read(Path(arguments.log), sheet.timezone, **options.reading_options(arguments)[0])
        found = following.follow(sheet, log)
    except ValueError as wrong:
        raise options.in_options(wrong) from None
    if arguments.hours is not None:
        export.write_compared(found, Path(arguments.hours))
    if arguments.json:
        _print_json(following_text.as_dict(found))
    else:
        print(following_text.following_text(found))
    _print_written(targets, sys.stderr if arguments.json else sys.stdout)
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
    print("Written; open these in a browser to print them:")
    for path in written:
        print(f"  {path}")
    print("The key is for the tutor only. There are no answers in the workbook's pages, the handout or the sheets.")
    return 0


def _together(arguments: argparse.Namespace) -> int:
    from pondheat.analysis import class_comparison
    from pondheat.core import display_units
    from pondheat.tutor import our_ponds, writing

    page = Path(arguments.page or Path(writing.FOLDER) / "our_ponds.html")
    if page.suffix.lower() not in (".html", ".htm") or page.is_dir():
        raise ValueError(f"{page}: name a file that ends in .html.")
    files.check_target(page, files.PAPER)
    with Bar("working out the ponds") as bar:
        found = class_comparison.compare_class(Path(arguments.folder), money=arguments.money, progress=bar.progress)
    for name, why in found.left_out:
        print(f"Left out, {name}: {why}", file=sys.stderr)
    text = our_ponds.page_html(found, display_units.load(Path(writing.LEARNERS)))
    files.write_atomically(page, text.encode("utf-8"), files.PAPER)
    print(our_ponds.sentence(found))
    print(f"Written; open it in a browser: {page}")
    return 0


def _prepare(_: argparse.Namespace) -> int:
    from pondheat.core import compilation
    from pondheat.season import ensemble

    if not compilation.available():
        print("Nothing to prepare: numba is not installed here, and everything works without it, more slowly.")
        return 0
    seconds, folder = ensemble.warm_up(), compilation.cache_folder()
    if folder is None:
        print(
            f"Compiled in {seconds:.1f} s, but there is no folder to save the result in: every start has to compile "
            "again."
        )
    else:
        print(f"Compiled, or found ready, in {seconds:.1f} s. It is kept in {folder} and used from now on.")
    return 0


def _print_json(data: dict) -> None:
    print(json_text(data))


def _weather(chosen: str | None) -> str | None:
    """A weather name, or a path as seen from where the command is given, not from the sheet."""
    from pondheat.analysis.assessment import weather_source

    return None if chosen is None else weather_source(chosen)


def _check_targets(targets: list[tuple[str | None, files.OutputKind]], inputs: list[str | Path | None]) -> None:
    """Raise before any work where a file cannot be written, or would overwrite what the command reads."""
    files.check_targets(
        [(Path(path), kind) for path, kind in targets if path is not None],
        tuple(Path(one) for one in inputs if one is not None),
    )


def _print_written(targets: list[tuple[str | None, files.OutputKind]], stream: TextIO) -> None:
    """One line for each file that was written."""
    for path, kind in targets:
        if path is not None:
            print(f"Written: {path} ({kind.name}).", file=stream)


COMMANDS: dict[str | None, Callable[[argparse.Namespace], int]] = {
    None: _open,
    "season": _season,
    "compare": _compare,
    "weather": town.weather,
    "follow": _follow,
    "read": read_files.read,
    "tariff": read_files.tariff,
    "check": _check,
    "key": _key,
    "together": _together,
    "prepare": _prepare,
}
