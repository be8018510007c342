"""The package as a wheel installs it: without the repository's data and workbook, run from another folder."""

import shutil
import subprocess
import sys
import tomllib

import pytest

import pondheat
from pondheat.core.places import CLONE
from pondheat.sheet.pond_sheet import with_values

SCRIPT = """
import sys
from pathlib import Path
import pondheat
from pondheat import cli
from pondheat.season.weather import weather

assert Path(pondheat.__file__).parent.parent == Path(sys.argv[1]), pondheat.__file__
assert "sollerwick" not in weather.names() and "potsdam" in weather.names()
codes = [
    cli.main(["season", "pond.toml", "--weather", "potsdam", "--json", "--report", "pond.html"]),
    cli.main(["check", "checks/fish.csv"]),
    cli.main(["compare", "open.csv", "covered.csv", "--sheet", "pond.toml"]),
    cli.main(["season", "pond.toml", "--weather", "sollerwick"]),
    cli.main(["key"]),
    cli.main([]),
]
assert codes == [0, 0, 0, 2, 2, 2], codes
"""


@pytest.fixture
def installed(tmp_path):
    """A folder with nothing but the package's own files, as `tool.hatch.build.targets.wheel` takes them."""
    site = tmp_path / "site"
    ignore = shutil.ignore_patterns("__pycache__")
    shutil.copytree(CLONE / "pondheat", site / "pondheat", ignore=ignore)
    return site


def test_the_commands_run_from_another_folder(installed, tmp_path):
    folder, data = tmp_path / "mine", CLONE / "data"
    folder.mkdir()
    one_week = {"season": {"start": "2025-11-03", "end": "2025-11-09"}, "pond.start_temp": "18 °C"}
    text = with_values((data / "ponds" / "garden_pond.toml").read_text(encoding="utf-8"), one_week)
    (folder / "pond.toml").write_text(text, encoding="utf-8")
    (folder / "checks").mkdir()
    shutil.copy(data / "checks" / "fish.csv", folder / "checks")
    for name, target in (
        ("garden_pond_open.csv", "open.csv"),
        ("garden_pond_covered_one_forgotten.csv", "covered.csv"),
    ):
        shutil.copy(data / "readings" / name, folder / target)
    done = subprocess.run(
        [sys.executable, "-c", SCRIPT, str(installed)],
        cwd=folder,
        env={"PYTHONPATH": str(installed), "PYTHONUTF8": "1", "PATH": "", "PONDHEAT_COMPILE": "0"},
        capture_output=True,
        encoding="utf-8",
        timeout=280,
    )
    assert done.returncode == 0, done.stderr[-2000:]
    assert '"place": "Potsdam"' in done.stdout and "0 fail" in done.stdout
    assert "“sollerwick” is neither a weather file nor a built-in name" in done.stderr
    assert "sollerwick" not in done.stderr.split("Built-in names:")[1].splitlines()[0]
    assert done.stderr.count("needs the files of the repository") == 2 and "Traceback" not in done.stderr
    assert (folder / "pond.html").read_text(encoding="utf-8").startswith("<!DOCTYPE html>")


def test_the_wheel_names_the_command_and_its_types():
    project = tomllib.loads((CLONE / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    assert project["scripts"] == {"pondheat": "pondheat.cli:main"} and project["version"] == pondheat.__version__
    assert (CLONE / "pondheat" / "py.typed").is_file()
