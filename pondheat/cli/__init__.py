"""The command line: open the workbook, or season, compare, follow, read, check, key and together from a shell.

Exit codes: 0 done, 1 check rows fail, 2 something could not be read (with a sentence on standard error),
130 stopped by Ctrl-C.
"""

from __future__ import annotations

import contextlib
import sys
import warnings

from pondheat.cli import commands, options
from pondheat.cli.terminal import safe
from pondheat.core import files

__all__ = ["main"]


def main(arguments: list[str] | None = None) -> int:
    """Run one command and return its exit code; arguments: as on the command line, `sys.argv` where None."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(encoding="utf-8", errors="replace")  # a Windows console may lack the degree sign
    if not sys.warnoptions:
        warnings.simplefilter("ignore")  # for programmers; what a keeper must know is printed as a sentence
    with contextlib.redirect_stdout(safe(sys.stdout)), contextlib.redirect_stderr(safe(sys.stderr)):
        return _run(arguments)


def _run(arguments: list[str] | None) -> int:
    """Run the command that the arguments name and turn what it raises into a sentence and an exit code."""
    try:
        parsed = options.parser().parse_args(arguments)
        with files.one_run(), options.weather_answers(parsed):
            return commands.COMMANDS[parsed.part](parsed)
    except BrokenPipeError:
        return 0
    except (ValueError, OSError) as wrong:  # every refusal of this package is a ValueError with a sentence
        print(wrong if str(wrong) else type(wrong).__name__, file=sys.stderr)
        return 2
    except KeyboardInterrupt:
        print("Stopped.", file=sys.stderr)
        return 130
