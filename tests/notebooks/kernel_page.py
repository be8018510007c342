"""A notebook in a kernel of its own, with its widgets as a browser knows them and messages as a browser sends them."""

import contextlib
import itertools
import re
from collections.abc import Iterator
from pathlib import Path

import nbformat
from jupyter_client import BlockingKernelClient
from nbclient import NotebookClient

VIEW = "application/vnd.jupyter.widget-view+json"
EXERCISE = re.compile(r'^exercise\("([^"]+)"', re.MULTILINE)


class KernelPage:
    """One page: `widgets` holds every widget's state by id, `boxes` pairs each exercise's key with its widget."""

    def __init__(self, notebook: nbformat.NotebookNode, folder: Path):
        self.notebook = notebook
        self.client = NotebookClient(
            notebook,
            timeout=120,
            kernel_name="python3",
            record_timing=False,
            resources={"metadata": {"path": str(folder)}},
        )
        self.widgets = self.client.widget_state
        self.boxes: list[tuple[str, str]] = []
        self._count = itertools.count(1)

    @contextlib.contextmanager
    def open(self, log: Path) -> Iterator["KernelPage"]:
        """Run all cells and keep the kernel; the kernel's own stderr goes to `log`."""
        with log.open("w") as stderr, self.client.setup_kernel(stderr=stderr):
            for at, cell in enumerate(self.notebook.cells):
                if cell.cell_type != "code":
                    continue
                self.client.execute_cell(cell, at)
                views = [output.data[VIEW].model_id for output in cell.outputs if VIEW in output.get("data", {})]
                keys = EXERCISE.findall(cell.source)
                assert not keys or len(keys) == len(views) == 1, "each exercise has a cell of its own"
                self.boxes += zip(keys, views)
            self._line = BlockingKernelClient()
            self._line.load_connection_info(self.client.km.get_connection_info())
            self._line.start_channels()
            try:
                self._line.wait_for_ready(timeout=30)
                yield self
            finally:
                self._line.stop_channels()

    def controls(self, kind: str) -> list[str]:
        """Ids of the widgets of one of the kinds in `controls.js`."""
        return [model for model, state in self.widgets.items() if state.get("kind") == kind]

    def say(self, model: str, **message) -> str:
        """Send one message; returns the sentence that then stands below the control."""
        return self.say_all(model, [message])[0]["says"]

    def say_all(self, model: str, messages: list[dict]) -> list[dict]:
        """Send several messages, which the kernel takes in turn; returns the widget's state after each."""
        sent = {}
        for message in messages:
            asked = f"browser:{next(self._count)}"
            packed = self._line.session.msg(
                "comm_msg", {"comm_id": model, "data": {"method": "custom", "content": {**message, "asked": asked}}}
            )
            self._line.shell_channel.send(packed)
            sent[packed["header"]["msg_id"]] = asked
        states: list[dict] = []
        while len(states) < len(sent):
            got = self._line.get_iopub_msg(timeout=60)
            asked, content = sent.get(got["parent_header"].get("msg_id")), got["content"]
            if asked is None:
                continue
            assert got["msg_type"] not in ("stream", "error"), content
            if got["msg_type"] == "comm_open":  # an answer may come as a widget of its own
                self.widgets[content["comm_id"]] = dict(content["data"].get("state", {}))
            if got["msg_type"] == "comm_msg" and content["data"].get("method") == "update":
                # A widget may be opened by work in the background, which answers no message.
                self.widgets.setdefault(content["comm_id"], {}).update(content["data"]["state"])
            if got["msg_type"] == "status" and content["execution_state"] == "idle":
                assert self.widgets[model]["seen"] == asked, "an unanswered message would keep the browser waiting"
                states.append(dict(self.widgets[model]))
        return states
