"""Every page of the workbook, run in a kernel of its own, answered as a browser would answer it.

Each answer box meets every wrong road of the bank, nonsense, and the right answer in two spellings; each slider and
choice meets nonsense. All goes as comm messages of the browser's form (see `controls.js`), and what counts is what
comes back over the same comm, what stands in progress.json, and that nothing was raised in the kernel.
"""

import contextlib
import itertools
import json
import re
from pathlib import Path

import nbformat
import pytest
from jupyter_client import BlockingKernelClient
from nbclient import NotebookClient

from pondheat.core import units
from pondheat.core.places import WORKBOOK
from pondheat.lesson import marking, progress
from pondheat.lesson.marking import Exercise
from pondheat.lesson.questions import BANK, Question

VIEW = "application/vnd.jupyter.widget-view+json"
KEY = re.compile(r'^exercise\("([^"]+)"', re.MULTILINE)
NOT_A_NUMBER = (
    "",
    "   ",
    "abc",
    "1e999",
    "-1e999",
    "12,5",
    "£",
    "<script>alert(1)</script>",
    "x" * 10_000,
    "9" * 10_000,
    "🐟💧",
    "nan",
    "inf",
    "-",
    "--5",
    ".",
    "\x00\x07\x1b[31m",
    "5\n5",
    "3 fish",
    "24/12/2025",
    "2025-12-24",
    "24.12.2025",
    "12:30",
    "{power}",
    "9**9**9",
)
ANSWER_STATE = ("label", "hints", "more_hints", "may_renew")


class Page:
    """A notebook in a kernel of its own, its widgets as a browser knows them, and messages as a browser sends them."""

    def __init__(self, path: Path, folder: Path):
        self.notebook = nbformat.read(path, as_version=4)
        self.client = NotebookClient(
            self.notebook,
            timeout=120,
            kernel_name="python3",
            record_timing=False,
            resources={"metadata": {"path": str(folder)}},
        )
        self.widgets = self.client.widget_state
        self.boxes: list[tuple[str, str]] = []  # key of the exercise, and its widget
        self.count = itertools.count(1)

    @contextlib.contextmanager
    def open(self, log: Path):
        """Run all cells, then hold the line to the kernel; whatever the kernel itself complains of goes to `log`."""
        with log.open("w") as complaints, self.client.setup_kernel(stderr=complaints):
            for at, cell in enumerate(self.notebook.cells):
                if cell.cell_type != "code":
                    continue
                self.client.execute_cell(cell, at)
                views = [output.data[VIEW].model_id for output in cell.outputs if VIEW in output.get("data", {})]
                keys = KEY.findall(cell.source)
                assert not keys or len(keys) == len(views) == 1, "one exercise a cell, shown by it"
                self.boxes += zip(keys, views)
            self.line = BlockingKernelClient()
            self.line.load_connection_info(self.client.km.get_connection_info())
            self.line.start_channels()
            try:
                self.line.wait_for_ready(timeout=30)
                yield self
            finally:
                self.line.stop_channels()

    def controls(self, kind: str) -> list[str]:
        """The widgets of one of the kinds of `controls.js`."""
        return [model for model, state in self.widgets.items() if state.get("kind") == kind]

    def say(self, model: str, **message) -> str:
        """Send what the browser's half sends; returns what it then shows below the control."""
        return self.say_all(model, [message])[0]["says"]

    def say_all(self, model: str, messages: list[dict]) -> list[dict]:
        """Send several, which the kernel takes one after another; returns the widget's state after each."""
        sent = {}
        for message in messages:
            asked = f"browser:{next(self.count)}"
            packed = self.line.session.msg(
                "comm_msg", {"comm_id": model, "data": {"method": "custom", "content": {**message, "asked": asked}}}
            )
            self.line.shell_channel.send(packed)
            sent[packed["header"]["msg_id"]] = asked
        states = []
        while len(states) < len(sent):
            got = self.line.get_iopub_msg(timeout=60)
            asked, content = sent.get(got["parent_header"].get("msg_id")), got["content"]
            if asked is None:
                continue
            assert got["msg_type"] not in ("stream", "error"), content
            if got["msg_type"] == "comm_msg" and content["data"].get("method") == "update":
                self.widgets[content["comm_id"]].update(content["data"]["state"])
            if got["msg_type"] == "status" and content["execution_state"] == "idle":
                assert self.widgets[model]["seen"] == asked, "each message is answered, or the browser waits for ever"
                states.append(dict(self.widgets[model]))
        return states


def is_a_sentence(said: str) -> bool:
    """Words for a reader, of readable length, whole to the end, and nothing of Python's."""
    pythons = re.search(r"Traceback|Error\b|Exception|could not work out|\bNone\b|object at 0x", said)
    return 10 < len(said) < 400 and " " in said and said[-1] in ".?!" and not pythons


def right_spellings(question: Question) -> tuple[str, str]:
    """The right answer at the printed numbers as a reader may type it: rounded and bare, and with its unit."""
    right = question.right(**question.given)
    if question.unit == "money":
        written = units.money(right, units.GBP, 2)
    elif question.unit == "dimensionless":
        written = f"{100 * right:.2f} %"
    else:
        written = f"{right:.6g} {units.pretty(question.unit)}"
    return units.significant(right, 3), written


def kept(folder: Path) -> dict[str, str]:
    return json.loads((folder / progress.NAME).read_text(encoding="utf-8"))["answers"]


def answer_every_way(page: Page, key: str, box: str, folder: Path) -> None:
    """Roads, a hint, nonsense, right twice, nonsense again."""
    question, state = BANK[key], page.widgets[box]
    assert state["label"] == Exercise(key).text(), "the printed numbers are asked for"
    roads = question.values(question.given)[1]
    walked = page.say_all(box, [{"typed": repr(roads[road.name])} for road in question.misconceptions])
    assert [after["says"] for after in walked] == [f"A common slip. {road.sentence}" for road in question.misconceptions], key
    assert kept(folder)[key] == marking.MISCONCEPTION
    if len(state["hints"]) < 2:
        page.say(box, wants="hint")
    assert state["hints"] and state["hints"][0] == question.nudge
    page.say(box, typed=repr(roads[question.misconceptions[-1].name]))
    nonsense(page, key, box, folder)
    for typed in right_spellings(question):
        assert page.say(box, typed=typed).startswith("✓ Right."), (key, typed)
        assert kept(folder)[key] == marking.RIGHT
    assert state["may_renew"]
    nonsense(page, key, box, folder, ("", "abc", "12,5", "1e999", "3 fish"))


def nonsense(page: Page, key: str, box: str, folder: Path, texts: tuple[str, ...] = NOT_A_NUMBER) -> None:
    """Each is answered with a sentence; question, hints and what was reached so far stay."""
    before, reached = {name: page.widgets[box][name] for name in ANSWER_STATE}, kept(folder)
    for typed, state in zip(texts, page.say_all(box, [{"typed": typed} for typed in texts]), strict=True):
        said = state["says"]
        sign = marking.SIGNS[marking.UNREADABLE if typed.strip() else marking.UNTRIED]
        assert said.startswith(sign) and is_a_sentence(said), (key, typed[:40], said)
        assert {name: state[name] for name in ANSWER_STATE} == before, (key, typed[:40])
    assert kept(folder) == reached, key


def trouble_slider(page: Page, model: str) -> None:
    """Nothing but a value of the slider's own kind, within its ends, moves it."""
    before = page.widgets[model]["value"]
    messages = [{"typed": typed} for typed in (*NOT_A_NUMBER, "3 kg", "3 m²·kg", "1e9", "-1e9")]
    if page.widgets[model]["least"] > -5:
        messages.append({"typed": "-5"})
    messages += [{"value": value} for value in ("abc", "", None, [], -1e9, 1e300)]
    for message, state in zip(messages, page.say_all(model, messages), strict=True):
        assert is_a_sentence(state["says"]), (state["label"], f"{message!r:.60}", state["says"])
        assert state["value"] == before, (state["label"], f"{message!r:.60}")
    assert page.say(model, value=before) == "", "and it still works"


def trouble_choice(page: Page, model: str) -> None:
    """Nothing but one of the options is taken."""
    before, options = page.widgets[model]["value"], [key for key, _ in page.widgets[model]["options"]]
    # "" is “show me” on one page
    messages = [{"value": value} for value in (*NOT_A_NUMBER, "-5", 3, None, [], {}) if value not in options]
    for message, state in zip(messages, page.say_all(model, messages), strict=True):
        assert is_a_sentence(state["says"]), (state["label"], f"{message!r:.60}", state["says"])
        assert state["value"] == before, (state["label"], f"{message!r:.60}")
    assert page.say(model, value=options[0]) == "" and page.widgets[model]["value"] == options[0], "and it still works"


def trouble_switch(page: Page, model: str) -> None:
    """Nothing but on and off is taken."""
    before = page.widgets[model]["value"]
    messages = [{"value": value} for value in ("on", "", "true", 1, None, [])]
    for message, state in zip(messages, page.say_all(model, messages), strict=True):
        assert is_a_sentence(state["says"]) and state["value"] is before, f"{message!r:.60}"
    assert page.say(model, value=not before) == "" and page.widgets[model]["value"] is not before, "and it still works"


def trouble_text(page: Page, model: str) -> None:
    """Whatever is typed stays typed; only what is no text at all is refused."""
    before = page.widgets[model]["value"]
    for typed in (text for text in NOT_A_NUMBER if len(text) <= 1000):
        said = page.say(model, typed=typed)
        assert (said == "" or is_a_sentence(said)) and page.widgets[model]["value"] == typed, typed
    for typed in ("x" * 10_000, None, 5, [], {}):
        assert is_a_sentence(page.say(model, typed=typed)), typed
    page.say(model, typed=before)
    assert page.widgets[model]["value"] == before


def trouble_file(page: Page, model: str) -> None:
    """Nothing that is not a file of some size is waited for."""
    for message in (
        {},
        {"at": 0},
        {"name": None},
        {"name": "a.csv", "size": 0},
        {"name": "a.csv", "size": "9" * 99},
        {"name": "a.csv", "size": -1},
        {"name": "a.csv", "size": 10**15},
        {"name": [], "size": 1e300},
    ):
        assert is_a_sentence(page.say(model, **message)), message
        assert (page.widgets[model]["expects"], page.widgets[model]["value"]) == (-1, "")


@pytest.mark.parametrize("path", sorted(WORKBOOK.glob("*.ipynb")), ids=lambda path: path.stem)
def test_every_road_nonsense_and_right(path, tmp_path):
    folder, log = tmp_path / "folder", tmp_path / "log"
    folder.mkdir()
    own = [key for key, question in BANK.items() if question.notebook == path.stem]
    with Page(path, folder).open(log) as page:
        assert set(own) <= {key for key, _ in page.boxes}, "every question of the page is asked on it"
        assert len(page.boxes) == len(page.controls("answer"))
        for key, box in page.boxes:
            answer_every_way(page, key, box, folder)
        assert page.controls("slider") or page.controls("choice")
        for model in page.controls("slider"):
            trouble_slider(page, model)
        for model in page.controls("choice"):
            trouble_choice(page, model)
        for model in page.controls("text"):
            trouble_text(page, model)
        for model in page.controls("file"):
            trouble_file(page, model)
        for model in page.controls("switch"):
            trouble_switch(page, model)
    if page.boxes:
        answers = kept(folder)
        assert {key: answers.get(key) for key, _ in page.boxes} == {key: marking.RIGHT for key, _ in page.boxes}
    assert "Traceback" not in log.read_text(encoding="utf-8"), log.read_text(encoding="utf-8")[-3000:]
