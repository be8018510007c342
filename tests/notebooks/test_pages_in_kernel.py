"""Controls and exercises answered through a kernel, as a browser answers them.

By default one of each kind, on a page made for it; nbval runs the workbook's own pages. The long command does the same
on every page: each exercise meets every misconception of the bank, nonsense, and the right answer in two spellings,
each other control meets nonsense. What counts is the state that comes back, what is kept in progress.json, and that
the kernel raised nothing.
"""

import json
import re
from pathlib import Path

import nbformat
import pytest
from kernel_page import KernelPage
from nbformat.v4 import new_code_cell, new_notebook

from pondheat.core import units
from pondheat.core.number_format import unbroken
from pondheat.core.places import WORKBOOK
from pondheat.lesson import marking, progress
from pondheat.lesson.marking import Exercise
from pondheat.lesson.questions import BANK, Question

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
NO_ANSWER = tuple(text for text in NOT_A_NUMBER if text != "12,5")  # an exercise takes a decimal comma
ANSWER_STATE = ("label", "hints", "more_hints", "may_renew")
MADE_KEYS = ("1.2", "2.1")  # money and a time: the two ways in which a right answer is written with its unit
MADE_PAGE = (
    """
from pondheat.show.controls import Choice, Slider, Switch, Text, live
from pondheat.show.exercises import exercise
from pondheat.show.file_control import File
from ipywidgets import HTML, VBox

water = Slider("Water temperature", 18, 4, 30, 0.5, "degC")
share = Slider("Share covered", 50, -10, 100, 10)
guess = Choice("Which pond is dearer", {"deep": "The deep one", "wide": "The wide one"})
counted = Switch("Count the standing charge")
place, zone, meter = Text("Its path", "Read it"), Text("Time zone", "", "Europe/London"), File("Your meter's file")
live({"water": water, "share": share, "guess": guess}, lambda values: None, HTML())
VBox([water, share, guess, counted, place, zone, meter])
""",
    *(f'exercise("{key}")' for key in MADE_KEYS),
)


def is_a_sentence(said: str) -> bool:
    """Text for a reader: of readable length, complete, and nothing from Python."""
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
    """The outcomes in progress.json by exercise."""
    return json.loads((folder / progress.NAME).read_text(encoding="utf-8"))["answers"]


def answer_every_way(page: KernelPage, key: str, box: str, folder: Path, on: str) -> None:
    """Every misconception, a hint, nonsense, the right answer twice, nonsense again; on: the notebook's name."""
    exercise, state = Exercise(key, page=on), page.widgets[box]
    question = exercise.question
    assert state["label"] == unbroken(exercise.text()), "the numbers of this page are asked for"
    roads = question.values(question.given)[1]
    answered = page.say_all(box, [{"typed": repr(roads[road.name])} for road in question.misconceptions])
    assert [after["says"] for after in answered] == [
        unbroken(f"A common slip. {road.sentence}") for road in question.misconceptions
    ], key
    assert kept(folder)[key] == marking.MISCONCEPTION
    if len(state["hints"]) < 2:
        page.say(box, wants="hint")
    assert state["hints"] and state["hints"][0] == unbroken(question.nudge)
    page.say(box, typed=repr(roads[question.misconceptions[-1].name]))
    type_nonsense(page, key, box, folder)
    for typed in right_spellings(question):
        assert page.say(box, typed=typed).startswith("✓ Right."), (key, typed)
        assert kept(folder)[key] == marking.RIGHT
    assert state["may_renew"]
    type_nonsense(page, key, box, folder, ("", "abc", "1e999", "3 fish"))


def type_nonsense(page: KernelPage, key: str, box: str, folder: Path, texts: tuple[str, ...] = NO_ANSWER) -> None:
    """Each is answered with a sentence; question, hints and the outcome reached so far are kept."""
    before, reached = {name: page.widgets[box][name] for name in ANSWER_STATE}, kept(folder)
    for typed, state in zip(texts, page.say_all(box, [{"typed": typed} for typed in texts]), strict=True):
        said = state["says"]
        sign = marking.SIGNS[marking.UNREADABLE if typed.strip() else marking.UNTRIED]
        assert said.startswith(sign) and is_a_sentence(said), (key, typed[:40], said)
        assert {name: state[name] for name in ANSWER_STATE} == before, (key, typed[:40])
    assert kept(folder) == reached, key


def refuses(page: KernelPage, model: str, messages: list[dict]) -> None:
    """Each message is answered with a sentence and leaves the value as it is."""
    before = page.widgets[model]["value"]
    for message, state in zip(messages, page.say_all(model, messages), strict=True):
        assert is_a_sentence(state["says"]), (state["label"], f"{message!r:.60}", state["says"])
        assert state["value"] == before, (state["label"], f"{message!r:.60}")


def trouble_slider(page: KernelPage, model: str) -> None:
    """A slider takes only a value of its own kind, within its ends."""
    messages: list[dict] = [{"typed": typed} for typed in (*NOT_A_NUMBER, "3 kg", "3 m²·kg", "1e9", "-1e9")]
    if page.widgets[model]["least"] > -5:
        messages.append({"typed": "-5"})
    refuses(page, model, messages + [{"value": value} for value in ("abc", "", None, [], -1e9, 1e300)])
    assert page.say(model, value=page.widgets[model]["value"]) == "", "and it still works"


def trouble_choice(page: KernelPage, model: str) -> None:
    """A choice takes only one of its options."""
    options = [key for key, _ in page.widgets[model]["options"]]
    # "" is “show me” on one page
    values = [value for value in (*NOT_A_NUMBER, "-5", 3, None, [], {}) if value not in options]
    refuses(page, model, [{"value": value} for value in values])
    assert page.say(model, value=options[0]) == "" and page.widgets[model]["value"] == options[0], "and it still works"


def trouble_switch(page: KernelPage, model: str) -> None:
    """A switch takes only true and false."""
    before = page.widgets[model]["value"]
    refuses(page, model, [{"value": value} for value in ("on", "", "true", 1, None, [])])
    assert page.say(model, value=not before) == "" and page.widgets[model]["value"] is not before, "and it still works"


def trouble_text(page: KernelPage, model: str) -> None:
    """A line of text keeps whatever is typed; only what is no text, or too long, is refused."""
    before = page.widgets[model]["value"]
    for typed in (text for text in NOT_A_NUMBER if len(text) <= 1000):
        said = page.say(model, typed=typed)
        assert (said == "" or is_a_sentence(said)) and page.widgets[model]["value"] == typed, typed
    refuses(page, model, [{"typed": typed} for typed in ("x" * 10_000, None, 5, [], {})])
    page.say(model, typed=before)
    assert page.widgets[model]["value"] == before


def trouble_file(page: KernelPage, model: str) -> None:
    """A file chooser waits for no file without a sensible size."""
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


TROUBLE = {
    "slider": trouble_slider,
    "choice": trouble_choice,
    "text": trouble_text,
    "file": trouble_file,
    "switch": trouble_switch,
}


def check_page(notebook: nbformat.NotebookNode, tmp_path: Path, on: str = "") -> tuple[set[str], set[str]]:
    """Run a notebook and trouble all its controls; returns the exercises it asks and its kinds of control.

    on: the notebook's name, where it is a page of the workbook.
    """
    folder, log = tmp_path / "folder", tmp_path / "log"
    folder.mkdir()
    with KernelPage(notebook, folder).open(log) as page:
        assert len(page.boxes) == len(page.controls("answer"))
        for key, box in page.boxes:
            answer_every_way(page, key, box, folder, on)
        kinds = {kind for kind in TROUBLE if page.controls(kind)}
        for kind in kinds:
            for model in page.controls(kind):
                TROUBLE[kind](page, model)
    keys = {key for key, _ in page.boxes}
    if keys:
        assert {key: kept(folder).get(key) for key in keys} == dict.fromkeys(keys, marking.RIGHT)
    assert "Traceback" not in log.read_text(encoding="utf-8"), log.read_text(encoding="utf-8")[-3000:]
    return keys, kinds


def test_one_control_of_each_kind(tmp_path):
    made = new_notebook(cells=[new_code_cell(code.strip()) for code in MADE_PAGE])
    assert check_page(made, tmp_path) == (set(MADE_KEYS), set(TROUBLE))


@pytest.mark.long
@pytest.mark.parametrize("path", sorted(WORKBOOK.glob("*.ipynb")), ids=lambda path: path.stem)
def test_every_control_of_a_page(path, tmp_path):
    keys, kinds = check_page(nbformat.read(path, as_version=4), tmp_path, path.stem)
    assert {key for key, question in BANK.items() if question.notebook == path.stem} <= keys
    assert kinds & {"slider", "choice"}
