"""Drives the system's Firefox through WebDriver BiDi, a protocol that it speaks without a separate driver."""

import asyncio
import json
import os
import re
import shutil
import subprocess
from pathlib import Path

from tornado.websocket import websocket_connect


def find_firefox() -> str | None:
    """Firefox's path: PONDHEAT_FIREFOX, else one found on PATH."""
    return os.environ.get("PONDHEAT_FIREFOX") or shutil.which("firefox") or shutil.which("firefox-esr")


class Firefox:
    """One window of Firefox without a screen; `async with Firefox(path, profile) as firefox`."""

    def __init__(self, path: str, profile: Path):
        self.path, self.profile, self.count = path, profile, 0

    async def __aenter__(self) -> "Firefox":
        self.profile.mkdir(parents=True)
        self._said = (self.profile / "said").open("w")
        self._process = subprocess.Popen(
            [self.path, "--headless", "--no-remote", "--profile", self.profile, "--remote-debugging-port", "0"],
            env={**os.environ, "HOME": str(self.profile)},
            stdout=self._said,
            stderr=subprocess.STDOUT,
        )
        found = None
        for _ in range(600):
            said = (self.profile / "said").read_text(errors="replace")
            if found := re.search(r"WebDriver BiDi listening on (ws://\S+)", said):
                break
            await asyncio.sleep(0.1)
        assert found, said
        self._line = await websocket_connect(f"{found[1]}/session")
        await self.ask("session.new", capabilities={})
        tree = await self.ask("browsingContext.getTree")
        self._page = tree["contexts"][0]["context"]
        return self

    async def __aexit__(self, *_) -> None:
        self._process.terminate()
        self._process.wait(20)
        self._said.close()

    async def ask(self, method: str, **params):
        """Send a command; its result. Raises `AssertionError` with Firefox's own message."""
        self.count += 1
        await self._line.write_message(json.dumps({"id": self.count, "method": method, "params": params}))
        while True:
            answer = json.loads(await asyncio.wait_for(self._line.read_message(), 60))
            if answer.get("id") == self.count:
                assert answer["type"] == "success", answer
                return answer["result"]

    async def open(self, address: str) -> None:
        """Go to an address."""
        await self.ask("browsingContext.navigate", context=self._page, url=address, wait="none")

    async def run(self, script: str):
        """The value of an expression in the page, of what JSON can hold."""
        result = await self.ask(
            "script.evaluate",
            expression=f"JSON.stringify({script})",
            target={"context": self._page},
            awaitPromise=False,
        )
        assert result["type"] == "success", result
        return json.loads(result["result"].get("value", "null"))

    async def until(self, script: str, seconds: float = 90) -> None:
        """Wait until an expression in the page is true."""
        for _ in range(int(5 * seconds)):
            if await self.run(script):
                return
            await asyncio.sleep(0.2)
        raise AssertionError(f"not within {seconds:g} s: {script}")

    async def click(self, element: str) -> None:
        """Click in the middle of an element, given as an expression: a window without a screen has no focus to give."""
        await self.run(f"({element}.scrollIntoView({{ block: 'center' }}), true)")
        box = await self.run(
            f"(box => [box.x + box.width / 2, box.y + box.height / 2])({element}.getBoundingClientRect())"
        )
        moves = [
            {"type": "pointerMove", "x": round(box[0]), "y": round(box[1])},
            {"type": "pointerDown", "button": 0},
            {"type": "pointerUp", "button": 0},
        ]
        await self.ask(
            "input.performActions",
            context=self._page,
            actions=[{"type": "pointer", "id": "mouse", "parameters": {"pointerType": "mouse"}, "actions": moves}],
        )

    async def press(self, key: str) -> None:
        """Press and release a key where the focus is."""
        actions = [{"type": "keyDown", "value": key}, {"type": "keyUp", "value": key}]
        await self.ask(
            "input.performActions", context=self._page, actions=[{"type": "key", "id": "keys", "actions": actions}]
        )
