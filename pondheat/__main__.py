"""`python -m pondheat`: open the workbook; or season, check from a shell.

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
        prog="python -m pondheat", description="Open the workbook in your browser. With a word behind it: answers in the shell.")
    opening.add_options(parser)
    parts = parser.add_subparsers(dest="part", metavar="season | check")
    season = parts.add_parser("season", help="heat, money, saving and payback of one pond over a season",
                              description="Reckon a season, open and covered, for the pond in a sheet.")
    season.add_argument("sheet", metavar="SHEET.toml", help="the pond sheet (examples in data/ponds)")
    season.add_argument("--weather", metavar="FILE|NAME", help="a weather file or built-in name instead of the sheet's")
    season.add_argument("--json", action="store_true", help="print JSON instead of the table")
    season.add_argument("--hours", metavar="FILE.csv", help="write every hour of the season to a file")
    season.set_defaults(run=_season)
    check = parts.add_parser("check", help="evaluate check files against the library",
                             description="Evaluate every row of check files. Exit 0 all hold, 1 some fall short, 2 "
                                         "something could not be read.")
    check.add_argument("paths", nargs="+", metavar="PATH", help="check files, folders or patterns")
    check.set_defaults(run=_check)
    return parser


def _season(arguments: argparse.Namespace) -> int:
    from pondheat import sheet, study, summary
    from pondheat.season import weather

    chosen = arguments.weather
    if chosen is not None and chosen.strip().lower() not in weather.names():
        # a path on the command line is seen from where the command is given, not from the sheet
        path = Path(chosen)
        chosen = str(path.resolve()) if weather.exists(path) else chosen
    described = sheet.read(arguments.sheet, chosen)
    if arguments.hours is not None:
        _refuse_target(Path(arguments.hours), (Path(arguments.sheet), described.folder / described.weather))
    bar = _bar if sys.stderr.isatty() else None
    found = study.assess(described, progress=bar)
    if bar:
        print("\r" + " " * 60 + "\r", end="", file=sys.stderr)
    if arguments.hours is not None:
        study.write_hours(found, Path(arguments.hours))
    if arguments.json:
        print(json.dumps(study.as_dict(found), indent=2, ensure_ascii=False, allow_nan=False))
    else:
        print(summary.season_text(found))
    return 0


def _refuse_target(target: Path, inputs: tuple[Path, ...]) -> None:
    """Say so before the work is done where `--hours` cannot be written, or would be written over what is read."""
    if target.is_dir() or not target.resolve().parent.is_dir():
        raise ValueError(f"{target}: this file cannot be written there.")
    if any(target.resolve() == one.resolve() for one in inputs):
        raise ValueError(f"{target}: the hours would be written over what this command reads; name another file.")


def _bar(done: float) -> None:
    filled = round(40 * done)
    print(f"\r  how sure: [{'#' * filled}{'.' * (40 - filled)}]", end="", file=sys.stderr, flush=True)


def _check(arguments: argparse.Namespace) -> int:
    from pondheat import bench

    text, code = bench.report(*bench.run(arguments.paths))
    print(text)
    return code


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


if __name__ == "__main__":
    sys.exit(main())
