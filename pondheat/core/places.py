"""Folders of the repository outside the package: data, invented ponds, the workbook.

An installed wheel has none of them; code that needs them calls `require_clone`.
"""

from __future__ import annotations

from pathlib import Path

PACKAGE = Path(__file__).resolve().parents[1]
CLONE = PACKAGE.parent
DATA = CLONE / "data"
CHECKS = DATA / "checks"
PONDS = DATA / "ponds"
MEASURED = DATA / "measured"
WORKBOOK = CLONE / "workbook"


def require_clone(what: str) -> None:
    """Raise `FileNotFoundError` with a sentence for the reader where the repository's files are missing."""
    if not (DATA.is_dir() and WORKBOOK.is_dir()):
        raise FileNotFoundError(
            f"{what} needs the files of the repository (data/ and workbook/), and an installed package has none: "
            "clone or download pondheat and run this from its folder."
        )
