"""The repository's layout: what is at the top, and a row in data/README.md for every data file."""

import re
import subprocess

import pytest
import refresh_counts

from pondheat.core.places import CLONE
from pondheat.season.weather import weather

ROOT = CLONE
DATA = ROOT / "data"
TOP = {
    "README.md",
    "DEVELOPERS.md",
    "requirements.txt",
    "workbook",
    "pondheat",
    "tests",
    "data",
    "pyproject.toml",
    "LICENSE",
    ".binder",
    ".ci",
    ".gitignore",
    ".gitattributes",
}
INVENTED = ("ponds", "tariffs", "weather", "readings")  # everything in these folders is invented


def tracked() -> list[str]:
    """Paths of the files that git tracks."""
    try:
        listed = subprocess.run(["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, text=True, check=True).stdout
    except (OSError, subprocess.CalledProcessError):
        pytest.skip("not a git clone")
    return [path for path in listed.split("\0") if path]


def rows() -> dict[str, list[str]]:
    """The cells of each table row of data/README.md that names a file, by the file's path."""
    text = (DATA / "README.md").read_text(encoding="utf-8")
    found = [
        [cell.strip() for cell in re.split(r"(?<!\\)\|", line)[1:-1]]
        for line in text.splitlines()
        if re.match(r"\| \w+/", line)
    ]
    assert len({cells[0] for cells in found}) == len(found), "a file has two rows"
    return {cells[0]: cells for cells in found}


def test_nothing_else_is_at_the_top():
    top = {path.split("/")[0] for path in tracked()}
    assert top <= TOP
    assert {
        "README.md",
        "requirements.txt",
        "workbook",
        "pondheat",
        "tests",
        "data",
        "pyproject.toml",
        "LICENSE",
    } <= top


def test_no_generated_file_is_tracked():
    kept = [
        path
        for path in tracked()
        if re.search(
            r"__pycache__|\.pyc$|\.ipynb_checkpoints|\.egg-info|(^|/)(my-workbook|screenshots|build|dist)/"
            r"|\.(log|tmp|bak|orig|swp)$|\.DS_Store",
            path,
        )
    ]
    assert kept == []


def test_every_file_of_data_has_a_row_and_every_row_a_file():
    files = {str(path.relative_to(DATA).as_posix()) for path in DATA.rglob("*") if path.is_file()} - {"README.md"}
    assert set(rows()) == files


def test_rows_are_complete():
    for path, cells in rows().items():
        # file, what it is, where from, when, columns and units, licence, measured or invented
        assert len(cells) == 7 and all(cells), path
        assert re.search("measured|invented|printed|recomputed", cells[6]), path
        assert re.search(r"CC0|CC BY|BSD|MIT|public", cells[5]), path


def test_check_files_and_their_columns_are_described():
    for path, cells in rows().items():
        if path.startswith("checks/"):
            assert re.match(r"\d+ values", cells[1]), path
    header = (DATA / "checks" / "heat.csv").read_text(encoding="utf-8").splitlines()[0]
    text = (DATA / "README.md").read_text(encoding="utf-8")
    for column in header.split(","):
        assert re.search(rf"^\| (\w+, )?{column}(, \w+)? \|", text, re.MULTILINE), f"column {column} is not explained"


def test_counts_are_up_to_date():
    """After a change of check rows or weather tables: python tests/refresh_counts.py"""
    for path, text in refresh_counts.refreshed().items():
        assert path.read_text(encoding="utf-8") == text, f"{path.name}: run python tests/refresh_counts.py"


def test_a_count_without_its_words_is_noticed():
    text = (
        "9 listed values: 9 printed in handbooks, 9 from independent libraries, 9 recomputed by hand, one from memory"
    )
    assert not re.search(r"(?<!\d)9 listed", refresh_counts.readme(text))
    with pytest.raises(refresh_counts.PhraseMissing, match="from memory"):
        refresh_counts.readme(text.replace("one from memory", "one remembered"))
    table = (
        "| checks/heat.csv | 0 values: air |\n| weather/sollerwick_2025-10-22_2025-10-28.csv | a week (0 rows, odd) |\n"
    )
    assert not re.search(r"\b0 (values|rows)", refresh_counts.data_readme(table))


def test_invented_data_says_so_itself():
    for path, cells in rows().items():
        if path.split("/")[0] in INVENTED:
            assert cells[6].startswith("invented"), path
            assert "nvented" in (DATA / path).read_text(encoding="utf-8"), path


def test_weather_read_in_place_is_listed():
    text = (DATA / "README.md").read_text(encoding="utf-8").lower()
    german = [name for name, (package, _) in weather.BUILT_IN.items() if package == "demandlib"]
    assert len(german) == 15 and "fourteen more german stations" in text
    for name in weather.names():
        if name not in german or name == weather.DEFAULT:
            assert re.search(rf"^\| {re.escape(name)}|weather/{re.escape(name)}\.", text, re.MULTILINE), name
