"""How a session on a hub starts: the reader's own copy, and JupyterLab with the workbook's settings."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from pondheat.core.places import CLONE
from pondheat.front_door import opening

START = CLONE / ".binder" / "start"
pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="the containers of a hub run Linux")


def started(home: Path, *command: str) -> list[str]:
    """What the start script would run for a hub's command, in a home of its own."""
    paths = f"{Path(sys.executable).parent}{os.pathsep}{os.environ['PATH']}"
    environment = {**os.environ, "HOME": str(home), "PATH": paths}
    show = ["bash", "-c", 'exec() { printf \'%s\\n\' "$@"; }; . "$0" "$@"', str(START), *command]
    return subprocess.run(show, env=environment, capture_output=True, text=True, check=True).stdout.splitlines()


def test_a_session_has_its_own_copy_and_our_settings(tmp_path):
    home = tmp_path / "a home für Gäste"
    home.mkdir()
    ran = started(home, "jupyterhub-singleuser", "--port=8888")
    copy = home / "my-workbook"
    assert ran[:2] == ["jupyterhub-singleuser", "--port=8888"]
    assert [*opening.lab_options(), f"--ServerApp.root_dir={copy}"] == [
        one for one in ran[2:] if not one.startswith("--ServerApp.default_url")
    ]
    assert f"--ServerApp.default_url=/doc/tree/{opening.FIRST_PAGE}" in ran
    assert (copy / opening.FIRST_PAGE).exists() and not (copy / "tutor").exists()
    page = copy / "05_moist_air.ipynb"
    page.write_text(page.read_text(encoding="utf-8").replace("Guess first", "My own note"), encoding="utf-8")
    started(home, "jupyterhub-singleuser")
    assert "My own note" in page.read_text(encoding="utf-8")  # a later session goes on with the same copy


def test_the_plain_notebook_gives_way_to_jupyterlab(tmp_path):
    assert started(tmp_path, "jupyter", "notebook", "--ip", "0.0.0.0")[:4] == ["jupyter", "lab", "--ip", "0.0.0.0"]


def test_the_image_is_made_from_the_readers_requirements():
    wanted = (CLONE / ".binder" / "requirements.txt").read_text(encoding="utf-8").split()
    assert wanted == ["-r", "../requirements.txt"] and (CLONE / "requirements.txt").exists()
    python = (CLONE / ".binder" / "runtime.txt").read_text(encoding="utf-8").strip()
    assert python == "python-3.11"
    for script in (START, CLONE / ".binder" / "postBuild"):
        assert os.access(script, os.X_OK)
