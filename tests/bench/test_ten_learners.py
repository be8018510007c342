"""Ten learners at once on one small machine: until the first page has run, memory of each, a kernel that dies.

    python -m pytest tests/bench/test_ten_learners.py -s -o addopts=

The learners' browsers would be on machines of their own, so each signs in, starts the page's kernel and runs all its
cells as a browser would, without drawing anything.
"""

import asyncio
import json
import os
import re
import signal
import subprocess
import sys
import time
import uuid
from http.cookiejar import CookieJar
from pathlib import Path
from urllib import parse, request

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tutor"))
from test_one_machine import CLONE, PASSWORD, Hub

NAMES = [f"learner{number}" for number in range(10)]
CELLS = [
    "".join(cell["source"])
    for cell in json.loads((CLONE / "workbook" / "00_start_here.ipynb").read_text(encoding="utf-8"))["cells"]
    if cell["cell_type"] == "code"
]


def memory(*patterns: str) -> float:
    """Memory (proportional set size) [MB] of all processes whose command line contains one of the patterns."""
    whole, seen = 0.0, set()
    for pattern in patterns:
        seen |= set(subprocess.run(["pgrep", "-f", pattern], capture_output=True, text=True).stdout.split())
    for one in seen:
        try:
            text = Path(f"/proc/{one}/smaps_rollup").read_text()
            whole += int(next(line for line in text.splitlines() if line.startswith("Pss:")).split()[1]) / 1024
        except OSError:
            continue
    return whole


class Learner:
    """One learner's visit, with the messages that a browser would send."""

    def __init__(self, hub: Hub, name: str):
        self.hub, self.name, self.jar = hub, name, CookieJar()
        self.opener = request.build_opener(request.HTTPCookieProcessor(self.jar))

    def ask(self, path: str, data=None, kind: str = "application/json"):
        """The text that the learner's server answers."""
        headers = {"Content-Type": kind}
        token = next((one.value for one in self.jar if one.name == "_xsrf" and one.path == f"/user/{self.name}/"), None)
        if token:
            headers["X-XSRFToken"] = token
        return self.opener.open(request.Request(f"{self.hub.base}{path}", data, headers), timeout=120).read().decode()

    def sign_in(self) -> None:
        """Sign in and wait until the server is up."""
        page = self.ask("/hub/login")
        token = re.search(r'name="_xsrf" value="([^"]+)"', page)[1]
        form = parse.urlencode({"username": self.name, "password": PASSWORD, "_xsrf": token}).encode()
        self.ask("/hub/login", form, "application/x-www-form-urlencoded")
        while True:
            try:
                self.ask(f"/user/{self.name}/lab")
                if "00_start_here.ipynb" in self.ask(f"/user/{self.name}/api/contents"):
                    return
            except OSError:
                pass
            time.sleep(0.5)

    async def run_page(self) -> None:
        """Start the first page's kernel and run every cell."""
        from tornado.httpclient import HTTPRequest
        from tornado.websocket import websocket_connect

        made = json.loads(
            self.ask(
                f"/user/{self.name}/api/sessions",
                json.dumps(
                    {
                        "path": "00_start_here.ipynb",
                        "name": "00_start_here.ipynb",
                        "type": "notebook",
                        "kernel": {"name": "python3"},
                    }
                ).encode(),
            )
        )
        self.kernel = made["kernel"]["id"]
        cookies = "; ".join(f"{one.name}={one.value}" for one in self.jar if one.path in ("/", f"/user/{self.name}/"))
        self.socket = await websocket_connect(
            HTTPRequest(
                f"{self.hub.base.replace('http', 'ws')}/user/{self.name}/api/kernels/{self.kernel}/channels",
                headers={"Cookie": cookies},
            )
        )
        for cell in CELLS:
            assert await self.run(cell) == "ok"

    async def run(self, code: str) -> str:
        """Run code and return its status."""
        header = {
            "msg_id": uuid.uuid4().hex,
            "username": self.name,
            "session": "x",
            "msg_type": "execute_request",
            "version": "5.3",
        }
        await self.socket.write_message(
            json.dumps(
                {
                    "header": header,
                    "parent_header": {},
                    "metadata": {},
                    "channel": "shell",
                    "content": {
                        "code": code,
                        "silent": False,
                        "store_history": True,
                        "user_expressions": {},
                        "allow_stdin": False,
                    },
                }
            )
        )
        while True:
            message = json.loads(await asyncio.wait_for(self.socket.read_message(), 120))
            if message["parent_header"].get("msg_id") == header["msg_id"] and message["msg_type"] == "execute_reply":
                return message["content"]["status"]


async def visit(hub: Hub, name: str) -> tuple[Learner, float]:
    began, learner = time.monotonic(), Learner(hub, name)
    await asyncio.to_thread(learner.sign_in)
    await learner.run_page()
    return learner, time.monotonic() - began


async def ten(hub: Hub) -> None:
    found = await asyncio.gather(*(visit(hub, name) for name in NAMES))
    seconds = sorted(each for _, each in found)
    whole = memory(str(hub.rooms), "jupyterhub.singleuser")
    print(f"\nload {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores")
    print(f"first page run after {seconds[0]:.0f} to {seconds[-1]:.0f} s, in the middle {seconds[5]:.0f} s")
    print(f"memory of all servers and kernels {whole:.0f} MB, {whole / len(NAMES):.0f} MB a learner")
    killed = subprocess.run(
        ["pgrep", "-f", f"ipykernel_launcher.*{hub.rooms}/{NAMES[0]}/"], capture_output=True, text=True
    ).stdout
    for process in killed.split():
        os.kill(int(process), signal.SIGKILL)
    await asyncio.sleep(3)
    alive = await asyncio.gather(*(learner.run("1 + 1") for learner, _ in found[1:]))
    print(f"after one kernel was killed {alive.count('ok')} of the other {len(alive)} go on")


def test_ten_at_once(tmp_path):
    hub = Hub(tmp_path / "rooms")
    try:
        asyncio.run(ten(hub))
    finally:
        hub.end()
