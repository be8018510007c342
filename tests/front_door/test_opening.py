"""Opening the workbook, without a browser: refusals, and the command that is started. tests/browser has the rest."""

import argparse
import importlib.util
import json
import os
import re
import shutil
import socket
import subprocess
import sys
from importlib import metadata
from pathlib import Path

import pytest
from jupyter_core.paths import jupyter_path

from pondheat.front_door import opening


def options(*given):
    parser = argparse.ArgumentParser()
    opening.add_options(parser)
    return parser.parse_args(given)


def test_outside_a_clone_it_says_so_and_exits_with_2(tmp_path):
    shutil.copytree(opening.CLONE / "pondheat", tmp_path / "pondheat", ignore=shutil.ignore_patterns("__pycache__"))
    ended = subprocess.run(
        [sys.executable, "-m", "pondheat"],
        cwd=tmp_path,
        capture_output=True,
        text=True,
        timeout=60,
        env={**os.environ, "PYTHONUTF8": "1"},
    )
    assert ended.returncode == 2
    assert ended.stderr.startswith("The workbook needs the files of the repository")
    assert ended.stderr.count("\n") == 1 and ended.stdout == ""
    assert not (tmp_path / "my-workbook").exists()


def test_the_server_is_not_kept_waiting_for_what_only_results_need():
    code = "import sys; from pondheat import cli; from pondheat.front_door import opening; print(*sys.modules)"
    loaded = subprocess.run([sys.executable, "-c", code], cwd=opening.CLONE, capture_output=True, text=True, timeout=60)
    modules = set(loaded.stdout.split())
    assert "pondheat.cli.commands" in modules and not {"numpy", "pandas", "pint"} & modules, loaded.stderr


@pytest.mark.parametrize("folder", ["", "workbook", "workbook/mine"])
def test_the_learners_folder_is_never_the_workbook_itself(folder, capsys):
    before = sorted(os.listdir(opening.CLONE / "workbook"))
    assert opening.open_workbook(options(f"--folder={opening.CLONE / folder}")) == 2
    assert "choose another folder for your own copy" in capsys.readouterr().err
    assert sorted(os.listdir(opening.CLONE / "workbook")) == before


def test_a_folder_that_cannot_be_written_is_named(tmp_path, capsys):
    (tmp_path / "a file").write_text("x")
    assert opening.open_workbook(options(f"--folder={tmp_path / 'a file'}")) == 2
    assert "cannot be written in" in capsys.readouterr().err


@pytest.mark.parametrize("port", ["0", "80", "70000", "x", "-1", "8888.5"])
def test_an_impossible_port_is_refused(port, capsys):
    with pytest.raises(SystemExit) as ended:
        options(f"--port={port}")
    assert ended.value.code == 2
    assert f"{port} is not a port; it should be between 1024 and 65000" in capsys.readouterr().err


def test_the_server_listens_on_this_machine_only_and_needs_a_token(tmp_path):
    command = opening._command(tmp_path, 8888, True)
    assert "--ServerApp.ip=127.0.0.1" in command
    assert not any("token" in part.lower() or "password" in part.lower() for part in command)
    # It travels in the environment: a command line is seen by every account of the machine.
    assert opening._environment(tmp_path, "secret")["JUPYTER_TOKEN"] == "secret"


def test_the_server_starts_without_foreign_modules_or_the_slow_import(tmp_path):
    """Even in a folder that has a module of the same name."""
    (tmp_path / "jupyterlab.py").write_text("print('a stranger runs')")
    command = [*opening.jupyter_command("jupyterlab"), "--version"]
    ended = subprocess.run(
        [command[0], "-X", "importtime", *command[1:]], cwd=tmp_path, capture_output=True, text=True, timeout=60
    )
    assert ended.stdout.strip() == metadata.version("jupyterlab")
    assert " jsonschema._format" in ended.stderr and " lark" not in ended.stderr  # lark is what makes the import slow


def test_the_address_is_told_only_when_the_server_listens(tmp_path, monkeypatch):
    """Jupyter writes its file before it listens: asked sooner, it refuses, and no Python would be started ahead."""
    monkeypatch.setenv("JUPYTER_RUNTIME_DIR", str(tmp_path))
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        port = taken.getsockname()[1]
        told = {"token": "secret", "url": f"http://127.0.0.1:{port}/", "port": port}
        (tmp_path / "jpserver-1.json").write_text(json.dumps(told))
        asked = []

        class Server:
            def poll(self):
                asked.append(True)
                if len(asked) == 3:
                    taken.listen()

        address = opening._address(Server(), "secret", "page.ipynb")
    assert address == f"http://127.0.0.1:{port}/doc/tree/page.ipynb?token=secret"
    assert len(asked) == 3


def test_a_page_gets_the_python_that_loads_the_library_at_once(tmp_path, monkeypatch):
    from jupyter_client.kernelspec import KernelSpecManager

    monkeypatch.setenv("JUPYTER_PATH", opening._environment(tmp_path, "secret")["JUPYTER_PATH"])
    found = KernelSpecManager().get_kernel_spec("python3")
    assert found.argv[1:3] == ["-m", "pondheat.show.kernel"] and importlib.util.find_spec(found.argv[2])
    last, tutors = max(opening.WORKBOOK.glob("[0-9][0-9]_*.ipynb")).name, Path(opening.TUTORS_PAGE).name
    code = f"""
import sys
from {found.argv[2]}.__main__ import load_library, of_the_workbook
print([of_the_workbook(page) for page in ("of my own.ipynb", {last!r}, {tutors!r})].count(True))
print("pandas" in sys.modules)
from pondheat.show.ponds import _known_seasons
for page in ({last!r}, {opening.FIRST_PAGE!r}):
    load_library(page)
    print(_known_seasons.cache_info().currsize)
print(*sys.modules)
"""
    loaded = subprocess.run(
        [sys.executable, "-c", code],
        capture_output=True,
        text=True,
        timeout=60,
        env={**os.environ, "PYTHONPATH": str(opening.CLONE)},
    )
    ours, at_once, elsewhere, first, *modules = loaded.stdout.split()
    assert (ours, at_once) == ("2", "False")  # another's notebook may not need the library at all
    assert (elsewhere, first) == ("0", "1")  # only the first page needs these seasons at once
    assert {"pandas", "ipywidgets", "pint", "pondheat.show.panels.start_here"} <= set(modules)
    assert loaded.stderr == ""


@pytest.mark.skipif(not hasattr(os, "geteuid"), reason="this system has no user numbers")
@pytest.mark.parametrize("number, allowed", [(0, True), (1000, False)])
def test_root_is_allowed_only_as_root(monkeypatch, tmp_path, number, allowed):
    monkeypatch.setattr(os, "geteuid", lambda: number)
    assert ("--allow-root" in opening._command(tmp_path, 8888, True)) is allowed


def test_settings_and_extension_are_where_the_command_says(tmp_path):
    given = dict(part.split("=", 1) for part in opening._command(tmp_path, 8888, False) if "=" in part)
    settings, extensions = Path(given["--LabApp.app_settings_dir"]), Path(given["--LabApp.extra_labextensions_path"])
    for name in ("overrides.json", "page_config.json"):
        assert json.loads((settings / name).read_text(encoding="utf-8"))
    package = json.loads((extensions / "pondheat-open" / "package.json").read_text(encoding="utf-8"))
    assert (extensions / "pondheat-open" / package["jupyterlab"]["_build"]["load"]).exists()


def test_the_limit_that_the_extension_lengthens_is_still_anywidgets():
    """anywidget has no setting for how long a widget may take to start, so another version may need another number."""
    folders = (Path(one) / "anywidget" / "static" for one in jupyter_path("labextensions"))
    scripts = next(folder for folder in folders if folder.is_dir()).glob("*.js")
    limit = re.compile(r"AbortSignal\.timeout\((\w+)\)\.addEventListener\([^)]*\)[^)]*Failed to initialize")
    found = {float(one) for script in scripts for one in limit.findall(script.read_text(encoding="utf-8"))}
    served = opening.HERE / "labextensions" / "pondheat-open" / "served" / "open.js"
    assert found == {2000.0} and "milliseconds === 2000 ? 120000" in served.read_text(encoding="utf-8")
