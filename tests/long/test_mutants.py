"""Do the tests notice a fault? Thirty small faults in physics and money, drawn at random, run with the room's tests.

The seed is printed; PONDHEAT_SEED=… draws the same faults again. A survivor is printed with its place: either a test is
missing there, or the change makes no difference.
"""

import os
import random
import shutil
import subprocess
import sys
import time
from pathlib import Path

import pytest
from mutation import FACTOR, mutants

from pondheat.core.places import CLONE

SEED = int(os.environ.get("PONDHEAT_SEED", random.SystemRandom().randrange(10**6)))
MOST_TIMES = 5  # tests that run so many times as long as without the fault have noticed it, too
# Room: how many faults, at least how many must be noticed, and the tests that have to notice them.
ROOMS = {
    "heat": (18, 12, ["pondheat/heat", "tests/heat", "tests/checks"]),
    "money": (12, 8, ["pondheat/money", "tests/money", "tests/checks"]),
}


def failure(copy: Path, targets: list[str], cache: Path, seconds: float | None = None) -> str:
    """How the tests fail in a copy of the clone, or nothing if they pass; no compiled code of another run is used."""
    environment = {name: value for name, value in os.environ.items() if not name.startswith("PYTEST_")}
    environment |= {
        "PYTHONPATH": str(copy),
        "PYTHONDONTWRITEBYTECODE": "1",
        "NUMBA_CACHE_DIR": str(cache / "numba"),
        "PONDHEAT_CACHE": str(cache / "pondheat"),
    }
    options = ["-x", "-q", "-o", "addopts=", "--doctest-modules", "-p", "no:cacheprovider", "-m", "not long"]
    try:
        done = subprocess.run(
            [sys.executable, "-m", "pytest", *options, *targets],
            cwd=copy,
            env=environment,
            capture_output=True,
            text=True,
            timeout=seconds,
        )
    except subprocess.TimeoutExpired:
        return f"still running after {seconds:.0f} s"
    said = f"{done.stdout}\n{done.stderr}"
    assert done.returncode in (0, 1, 2), f"the tests could not be run (exit code {done.returncode}):\n{said}"
    return said if done.returncode else ""


@pytest.mark.long
@pytest.mark.timeout(7200)
@pytest.mark.parametrize("room", ROOMS)
def test_most_faults_are_noticed(room, tmp_path, capsys):
    count, least, targets = ROOMS[room]
    copy = tmp_path / "copy"
    for folder in ("pondheat", "tests", "data", "workbook"):
        shutil.copytree(CLONE / folder, copy / folder, ignore=shutil.ignore_patterns("__pycache__"))
    for name in ("pyproject.toml", "README.md", "DEVELOPERS.md"):
        shutil.copy(CLONE / name, copy)
    began = time.monotonic()
    before = failure(copy, targets, tmp_path / "cache")
    assert not before, f"the tests must pass before a fault is put in:\n{before[-3000:]}"

    seconds = MOST_TIMES * (time.monotonic() - began)
    found = [one for path in sorted((copy / "pondheat" / room).glob("*.py")) for one in mutants(path)]
    survivors = []
    for number, mutant in enumerate(random.Random(SEED).sample(found, count)):
        kept = mutant.path.read_bytes()
        try:
            mutant.path.write_text(mutant.text(), encoding="utf-8")
            if not failure(copy, targets, tmp_path / f"cache-{number}", seconds):
                survivors.append(str(mutant))
        finally:
            mutant.path.write_bytes(kept)
    noticed = count - len(survivors)
    with capsys.disabled():
        print(f"\n  {room}, seed {SEED}: {noticed} of {count} faults noticed (of {len(found)} possible ones)")
        print("\n".join(f"  survived: {one}" for one in survivors))
    assert noticed >= least


def test_what_is_changed(tmp_path):
    """Signs, constants and comparisons in arithmetic; nothing in messages, indexes and texts."""
    path = tmp_path / "made.py"
    source = (
        'def f(a: float, b=2.5):\n    """2.5 °C"""\n    if a < b[1 + 2]:\n'
        '        raise ValueError("ü" + f"{a - 1}")\n    return "x" + (a * 3.5 + b) / 1.0\n'
    )
    path.write_text(source, encoding="utf-8")
    changed = [(one.line, one.old.strip(), one.new.strip()) for one in mutants(path)]
    assert changed == [
        (3, "<", ">="),
        (5, "*", "/"),
        (5, "3.5", repr(3.5 * FACTOR)),
        (5, "+", "-"),
        (5, ") /", ") *"),
    ]
    assert [one.text() for one in mutants(path)][3] == source.replace("3.5 + b", "3.5 - b")
