"""Open the workbook: update the learner's copy, start JupyterLab on it and show it in the browser."""

from __future__ import annotations

import argparse
import contextlib
import importlib.util
import json
import os
import platform
import secrets
import signal
import socket
import subprocess
import sys
import tempfile
import threading
import time
import urllib.request
from pathlib import Path

from pondheat.core.places import CLONE, WORKBOOK, require_clone
from pondheat.front_door import copying

FIRST_PAGE = "00_start_here.ipynb"
TUTORS_PAGE = f"{copying.TUTOR_FOLDER}/for_the_tutor.ipynb"
HERE = Path(__file__).resolve().parent
_direct = urllib.request.build_opener(urllib.request.ProxyHandler({}))  # never by way of a proxy: it is this machine
LARGEST_UPLOAD = 100 * 1024 * 1024  # bytes; beyond the server's default of 10 MiB an upload fails without a message


class CannotOpen(Exception):
    """The workbook can't be opened; the message is a sentence for the reader."""


def add_options(parser: argparse.ArgumentParser) -> None:
    """Add the options of `open_workbook` to a parser."""
    parser.add_argument(
        "--folder",
        type=Path,
        default=CLONE / "my-workbook",
        metavar="FOLDER",
        help="where your own copy of the workbook is (default: my-workbook, beside the workbook)",
    )
    parser.add_argument(
        "--port",
        type=_port,
        default=8888,
        metavar="NUMBER",
        help="port on this machine; if it is busy, the next free one is used (default: 8888)",
    )
    parser.add_argument(
        "--money-and-units",
        metavar="LINE",
        help="units and money to show as well from now on, such as “USD, °F, US gallons”; “GBP” switches this off",
    )
    parser.add_argument(
        "--tutor",
        action="store_true",
        help="open the tutor's page, with the notes for an evening; they are added to your copy too",
    )
    parser.add_argument(
        "--no-browser", dest="browser", action="store_false", help="print the address only, do not open a browser"
    )


def _port(text: str) -> int:
    if not text.isdecimal() or not 1024 <= int(text) <= 65000:
        raise argparse.ArgumentTypeError(f"{text} is not a port; it should be between 1024 and 65000")
    return int(text)


def open_workbook(args: argparse.Namespace) -> int:
    """Open the workbook and wait until it is closed with Ctrl-C.

    Returns the exit code: 0, or 2 after printing to stderr why it can't be opened.
    """
    try:
        folder = args.folder.expanduser().resolve()
        _check_install()
        _update_copy(folder, args.tutor)
        if args.money_and_units is not None:
            _save_display_units(args.money_and_units, folder)
        return _serve(folder, args.port, args.browser, TUTORS_PAGE if args.tutor else FIRST_PAGE)
    except CannotOpen as reason:
        print(reason, file=sys.stderr)
        return 2


def _check_install() -> None:
    try:
        require_clone("The workbook")
    except FileNotFoundError as reason:
        raise CannotOpen(str(reason)) from None
    if importlib.util.find_spec("jupyterlab") is None:
        raise CannotOpen(f"JupyterLab is missing here: in {CLONE} run “python -m pip install -r requirements.txt”.")


def _update_copy(folder: Path, tutor: bool) -> None:
    """Make or update the learner's copy, and print what was done."""
    if folder in (CLONE, WORKBOOK) or WORKBOOK in folder.parents:
        raise CannotOpen(f"{folder} belongs to the workbook itself: choose another folder for your own copy.")
    first_time = not (folder / copying.MANIFEST).exists()
    try:
        result = copying.update_copy(WORKBOOK, folder, copying.read_shipped_list(), tutor)
    except OSError as reason:
        why = reason.strerror or reason
        raise CannotOpen(f"Your copy of the workbook cannot be written in {folder}: {why}.") from None
    for sentence in copying.messages(result, folder, first_time):
        print(sentence, flush=True)


def _save_display_units(line: str, folder: Path) -> None:
    """Save the currency and units for this copy of the workbook."""
    from pondheat.core import display_units

    try:
        print(f"Money and units: {display_units.keep(line, folder).line()}.", flush=True)
    except (ValueError, OSError) as reason:
        raise CannotOpen(str(reason)) from None


def _command(folder: Path, port: int, browser: bool, page: str = FIRST_PAGE) -> list[str]:
    """The command that starts JupyterLab with our settings and extension, without installing anything."""
    options = [
        f"--ServerApp.root_dir={folder}",
        "--ServerApp.ip=127.0.0.1",
        f"--ServerApp.port={port}",
        "--ServerApp.port_retries=50",
        f"--ServerApp.open_browser={browser}",
        f"--ServerApp.use_redirect_file={_browser_reads_hidden_files()}",
        f"--ServerApp.extra_template_paths={HERE / 'templates'}",
        f"--LabApp.default_url=/doc/tree/{page}",
    ]
    return [*jupyter_command("jupyterlab"), *options, *lab_options()]


def jupyter_command(program: str) -> list[str]:
    """The command that starts a Jupyter program, to be followed by the program's own options.

    A module in the folder in which it is started, which is the learner's, is never imported.
    """
    return [sys.executable, str(HERE / "starting.py"), program]


def lab_options() -> list[str]:
    """Options that give a JupyterLab the workbook's settings and extension, large uploads and no terminals."""
    options = [
        "--ServerApp.terminals_enabled=False",
        "--LabApp.extension_manager=readonly",  # the usual one takes a tenth of a second to load, to ask PyPI
        f"--ServerApp.tornado_settings={{'websocket_max_message_size': {LARGEST_UPLOAD}}}",
        f"--LabApp.app_settings_dir={HERE / 'settings'}",
        f"--LabApp.extra_labextensions_path={HERE / 'labextensions'}",
    ]
    if hasattr(os, "geteuid") and os.geteuid() == 0:
        options.append("--allow-root")
    return options


def _browser_reads_hidden_files() -> bool:
    """Whether the browser can probably read the file in a hidden folder through which Jupyter passes the token.

    Browsers in a snap, in Windows with a server in WSL, and on a Chromebook can't (memory). They get the address
    itself on the command line, where other accounts on the machine could see it for a moment.
    """
    snap = any((Path("/snap/bin") / name).exists() for name in ("firefox", "chromium", "brave"))
    return not (snap or "microsoft" in platform.release().lower() or Path("/dev/.cros_milestone").exists())


def _environment(folder: Path, token: str) -> dict[str, str]:
    # Kernels import this clone's package even if another is installed. Jupyter's settings are kept in the learner's
    # folder, so that another Jupyter on this machine doesn't change the workbook, nor the workbook it.
    path = os.pathsep.join(filter(None, [str(CLONE), os.environ.get("PYTHONPATH")]))
    return {
        **os.environ,
        "PYTHONPATH": path,
        "JUPYTER_TOKEN": token,
        "JUPYTER_CONFIG_DIR": str(folder / ".jupyter"),
        "JUPYTER_PATH": os.pathsep.join(filter(None, [str(HERE / "jupyter"), os.environ.get("JUPYTER_PATH")])),
        "PYDEVD_DISABLE_FILE_VALIDATION": "1",
    }


def _serve(folder: Path, port: int, browser: bool, page: str) -> int:
    token = secrets.token_hex(24)
    with tempfile.TemporaryFile() as log:
        # The server ignores Ctrl-C, as it may hang when interrupted; this process catches it and ends the server.
        # (Windows does not inherit the signal handler; there the server gets the Ctrl-C itself.)
        signal.signal(signal.SIGINT, signal.SIG_IGN)
        server = subprocess.Popen(
            _command(folder, port, browser, page),
            env=_environment(folder, token),
            cwd=folder,
            stdin=subprocess.DEVNULL,
            stdout=log,
            stderr=subprocess.STDOUT,
        )
        signal.signal(signal.SIGINT, signal.default_int_handler)
        signal.signal(signal.SIGTERM, signal.default_int_handler)
        try:
            address = _address(server, token, page)
            if address:
                _start_python(address, token, page)
                print(f"The workbook is open at {address} ; to stop it, press Ctrl-C here.", flush=True)
            while server.poll() is None:
                time.sleep(0.2)  # a plain wait() cannot be interrupted on Windows
            if server.returncode or not address:
                log.seek(0)
                last = log.read().decode("utf-8", "replace").strip().splitlines()[-1:] or ["it gave no reason."]
                raise CannotOpen(f"JupyterLab ended by itself: {last[0]}")
            print("The workbook is closed.", flush=True)
            return 0
        except KeyboardInterrupt:
            print("\nThe workbook is closed.", flush=True)
            return 0
        finally:
            _stop(server)


def _address(server: subprocess.Popen, token: str, page: str) -> str | None:
    """The address of a page, once the server listens where it has written that it does; None if it has ended."""
    from jupyter_core.paths import jupyter_runtime_dir

    while server.poll() is None:
        # Searched by token, not process id: on Windows the server is a child of the process started here.
        for path in Path(jupyter_runtime_dir()).glob("jpserver-*.json"):
            try:
                running = json.loads(path.read_text(encoding="utf-8"))
            except (OSError, ValueError):
                continue  # half-written, or just removed
            if running.get("token") == token and _listens(running["port"]):
                return f"{running['url']}doc/tree/{page}?token={token}"
        time.sleep(0.05)
    return None


def _listens(port: int) -> bool:
    """Whether a server on this machine takes connections here. Jupyter names its port some time before it does."""
    try:
        socket.create_connection(("127.0.0.1", port), timeout=1).close()
        return True
    except OSError:
        return False


def _start_python(address: str, token: str, page: str) -> None:
    """Start the first page's Python now, while the browser is still loading JupyterLab, which will find it running."""
    asked = {"path": page, "name": page, "type": "notebook", "kernel": {"name": "python3"}}
    request = urllib.request.Request(
        f"{address.split('/doc/')[0]}/api/sessions",
        data=json.dumps(asked).encode("utf-8"),
        headers={"Authorization": f"token {token}", "Content-Type": "application/json"},
    )

    def ask() -> None:
        with contextlib.suppress(OSError):  # then JupyterLab starts it
            _direct.open(request, timeout=30).close()

    threading.Thread(target=ask, daemon=True).start()


def _stop(server: subprocess.Popen) -> None:
    """End the server and its kernels."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    signal.signal(signal.SIGTERM, signal.SIG_IGN)
    if os.name != "posix":
        _ended(server, 5)  # the server has had the Ctrl-C too
    for end in (server.terminate, server.kill):
        if _ended(server, 0):
            return
        end()
        _ended(server, 10)


def _ended(server: subprocess.Popen, seconds: float) -> bool:
    try:
        server.wait(seconds)
        return True
    except subprocess.TimeoutExpired:
        return False
