"""A class on one machine: each of three learners has a live copy of their own and can't see another's folder."""

import os
import shutil
import signal
import socket
import ssl
import subprocess
import sys
import time
import urllib.error
import urllib.request
from pathlib import Path

import pytest

from pondheat.core.places import CLONE

sys.path.insert(0, str(CLONE / "tests" / "browser"))
import kit

pytest.importorskip("jupyterhub", reason="no JupyterHub here: python -m pip install -r .ci/hub-requirements.txt")
expect = pytest.importorskip("playwright.sync_api").expect
PROXY = (
    os.environ.get("ROOM_PROXY")
    or shutil.which("configurable-http-proxy")
    or str(CLONE / "for-the-tutor" / "node_modules" / ".bin" / "configurable-http-proxy")
)
if not Path(PROXY).exists():
    pytest.skip(
        "no proxy for JupyterHub here: npm install --prefix for-the-tutor configurable-http-proxy, or set ROOM_PROXY",
        allow_module_level=True,
    )
if kit.find_chromium() is None:
    pytest.skip("no Chromium found", allow_module_level=True)

PASSWORD, NAMES = "ducks-on-the-water", ("ann", "ben", "cleo")
SENTENCE = ".jp-OutputArea .ph-panel .ph-sentence"  # of the live panel, not of the picture stored of it


def free_ports(count: int) -> list[int]:
    taken = [socket.socket() for _ in range(count)]
    for one in taken:
        one.bind(("127.0.0.1", 0))
    ports = [one.getsockname()[1] for one in taken]
    for one in taken:
        one.close()
    return ports


class Hub:
    """A hub with the shipped configuration on free ports; encrypted if a key and a certificate are given."""

    def __init__(self, rooms: Path, key: Path | None = None, certificate: Path | None = None):
        room, hub, api = free_ports(3)
        self.base, self.rooms = f"{'https' if key else 'http'}://127.0.0.1:{room}", rooms
        self.trusted = ssl.create_default_context(cafile=certificate) if certificate else None
        rooms.mkdir(parents=True)
        environment = {
            **{k: v for k, v in os.environ.items() if not k.startswith(("JUPYTER", "PYTEST"))},
            "ROOMS": str(rooms),
            "ROOM_WORD": PASSWORD,
            "TUTOR_WORD": "a-much-longer-word-that-only-the-tutor-knows",
            "ROOM_URL": self.base,
            "HUB_URL": f"http://127.0.0.1:{hub}",
            "PROXY_API_URL": f"http://127.0.0.1:{api}",
            "ROOM_PROXY": PROXY,
            "HOME": str(rooms),
            "PYTHONPATH": str(CLONE),
        }
        if key:
            environment |= {"ROOM_KEY": str(key), "ROOM_CERTIFICATE": str(certificate)}
        self.log = (rooms / "hub.log").open("w")
        self.process = subprocess.Popen(
            [sys.executable, "-m", "jupyterhub", "-f", str(CLONE / "workbook/tutor/jupyterhub_config.py")],
            cwd=rooms,
            env=environment,
            stdout=self.log,
            stderr=subprocess.STDOUT,
            start_new_session=True,
        )
        kit.wait_for(self._ready, 60, lambda: (rooms / "hub.log").read_text()[-3000:])

    def _ready(self) -> bool:
        try:
            return urllib.request.urlopen(f"{self.base}/hub/login", timeout=5, context=self.trusted).status == 200
        except OSError:
            return self.process.poll() is not None

    def end(self) -> None:
        """End the hub, its proxy and every learner's server."""
        os.killpg(self.process.pid, signal.SIGTERM)
        try:
            self.process.wait(20)
        except subprocess.TimeoutExpired:
            os.killpg(self.process.pid, signal.SIGKILL)
        subprocess.run(["pkill", "-f", str(self.rooms)], check=False)
        self.log.close()


def arrive(context, hub: Hub, name: str):
    """Sign in as a learner and wait for the first page; returns the browser page and the time it took [s]."""
    page, began = context.new_page(), time.monotonic()
    page.set_default_timeout(90_000)
    page.goto(f"{hub.base}/hub/login")
    page.get_by_label("Username:").fill(name)
    page.get_by_label("Password:").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    page.wait_for_url("**/doc/tree/00_start_here.ipynb*", timeout=90_000)
    page.locator(SENTENCE).first.wait_for(timeout=90_000)
    kit.wait_until_run(page)  # until then the page's stored picture is in view, or part of it
    return page, time.monotonic() - began


def answers_to(page, key: str) -> None:
    """Move the first page's slider by a key; its sentence must change."""
    sentence = page.locator(SENTENCE).first
    before = sentence.inner_text()
    page.get_by_role("slider", name="Water temperature").press(key)
    expect(sentence).not_to_have_text(before, timeout=90_000)


@pytest.fixture(scope="module")
def hub(tmp_path_factory):
    running = Hub(tmp_path_factory.mktemp("class") / "rooms")
    yield running
    running.end()


@pytest.fixture(scope="module")
def browser():
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        made = playwright.chromium.launch(executable_path=kit.find_chromium(), args=kit.CHROMIUM_OPTIONS)
        yield made
        made.close()


@pytest.fixture(scope="module")
def learners(hub, browser):
    """Every learner's browser page, each in a profile of its own, with the first page live."""
    return {name: arrive(browser.new_context(), hub, name)[0] for name in NAMES}


def test_each_learner_has_a_live_first_page_in_their_own_folder(hub, learners):
    for name, page in learners.items():
        assert f"/user/{name}/" in page.url
        answers_to(page, "ArrowRight")
        assert (hub.rooms / name / "my-workbook" / "07_covers.ipynb").exists()
        assert not (hub.rooms / name / "my-workbook" / "tutor").exists()


def test_no_learner_can_open_anothers_folder(hub, learners):
    for name, page in learners.items():
        for other in set(NAMES) - {name}:
            for path in ("lab", "api/contents", "files/00_start_here.ipynb"):
                assert page.request.get(f"{hub.base}/user/{other}/{path}").status in (403, 404), (name, other, path)
        own = page.request.get(f"{hub.base}/user/{name}/api/contents")
        assert own.status == 200 and "00_start_here.ipynb" in own.text()


def test_without_the_right_password_nobody_gets_in(hub, browser):
    with pytest.raises(urllib.error.HTTPError) as refused:
        urllib.request.urlopen(f"{hub.base}/user/ann/api/contents", timeout=20)
    assert refused.value.code == 403
    page = browser.new_context().new_page()
    page.goto(f"{hub.base}/hub/login")
    page.get_by_label("Username:").fill("tutor")
    page.get_by_label("Password:").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    page.get_by_text("Invalid").first.wait_for()


def test_a_kernel_that_dies_leaves_the_others_running(hub, learners):
    killed = subprocess.run(
        ["pgrep", "-f", f"ipykernel_launcher.*{hub.rooms}/ben"], capture_output=True, text=True
    ).stdout.split()
    assert killed
    for one in killed:
        os.kill(int(one), signal.SIGKILL)
    for name in ("ann", "cleo"):
        page = learners[name]
        answers_to(page, "ArrowLeft")


@pytest.mark.skipif(shutil.which("openssl") is None, reason="no openssl here to make a certificate with")
def test_with_a_certificate_everything_is_encrypted(tmp_path, browser):
    """The certificate is self-signed, as a tutor would make one; the first page and its kernel work over it."""
    key, certificate = tmp_path / "room.key", tmp_path / "room.crt"
    subprocess.run(
        [
            "openssl",
            "req",
            "-x509",
            "-newkey",
            "rsa:2048",
            "-nodes",
            "-days",
            "1",
            "-subj",
            "/CN=room",
            "-addext",
            "subjectAltName=IP:127.0.0.1",
            "-keyout",
            str(key),
            "-out",
            str(certificate),
        ],
        check=True,
        capture_output=True,
    )
    hub = Hub(tmp_path / "rooms", key, certificate)
    try:
        context, plain = browser.new_context(ignore_https_errors=True), []
        context.on("request", lambda request: plain.append(request.url) if request.url.startswith("http:") else None)
        page, _ = arrive(context, hub, "dora")
        assert page.url.startswith("https:") and plain == []
        answers_to(page, "ArrowRight")
        context.close()
    finally:
        hub.end()
