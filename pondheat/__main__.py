"""`python -m pondheat`: open the workbook."""

from __future__ import annotations

import argparse
import sys

from pondheat.front_door import opening


def main(arguments: list[str] | None = None) -> int:
    """Open the workbook; returns the exit code."""
    parser = argparse.ArgumentParser(prog="python -m pondheat", description="Open the workbook in your browser.")
    opening.add_options(parser)
    return opening.open_workbook(parser.parse_args(arguments))


if __name__ == "__main__":
    sys.exit(main())
