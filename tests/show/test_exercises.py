"""The answer box as the browser talks to it, without a browser."""

import json

import pytest

from pondheat.lesson import marking, progress
from pondheat.lesson.questions import BANK
from pondheat.show.exercises import AnswerBox


def say(box, **message):
    """What the browser sends; returns what the reader sees."""
    box._answer(None, {"asked": "test:1", **message}, [])
    return box.says


@pytest.mark.parametrize("key", BANK)
def test_every_wrong_road_then_right(key, tmp_path):
    box = AnswerBox(key, folder=tmp_path)
    right, roads = box.exercise.question.values()
    for road in box.exercise.question.misconceptions:
        assert road.sentence in say(box, typed=f"{roads[road.name]!r}")
    assert say(box, typed=f"{right!r}").startswith("✓ Right")
    assert progress.load(tmp_path).answers == {key: marking.RIGHT}


def test_nonsense_loses_nothing(tmp_path):
    box = AnswerBox("1.2", folder=tmp_path)
    for typed in ("", "six", "6,72", "3 bananas", "9" * 500, "<script>alert(1)</script>", "\x00", "💧", "24 kWh"):
        said = say(box, typed=typed)
        assert said and "Traceback" not in said
    assert say(box, typed="£6.72").startswith("✓ Right")
    json.loads((tmp_path / progress.NAME).read_text())


def test_hints_open_one_after_another(tmp_path):
    box = AnswerBox("2.1", folder=tmp_path)
    say(box, wants="hint")
    say(box, wants="hint")
    assert len(box.hints) == 2
    # both smaller hints were asked for: the worked solution may be opened on request
    say(box, wants="hint")
    assert len(box.hints) == 3 and box.hints[2].startswith("Worked:") and not box.more_hints and box.may_renew
    before = box.label
    say(box, wants="fresh")
    assert box.label != before and box.hints == [] and box.more_hints


def test_text_form_is_question_and_not_tried(tmp_path):
    box = AnswerBox("1.1", folder=tmp_path)
    text = box._repr_mimebundle_()["text/plain"]
    assert text.endswith("Not tried yet.") and "24" not in text.split("?")[1]
    assert not (tmp_path / progress.NAME).exists()  # looking writes nothing


def test_unwritable_folder_is_said(tmp_path):
    (tmp_path / "file").write_text("")
    box = AnswerBox("1.1", folder=tmp_path / "file")
    assert "couldn't be saved" in say(box, typed="24")


def test_a_long_answer_is_marked_whole(tmp_path):
    """What is shown is cut; what is marked is not, so that an answer cannot hide behind blanks."""
    box = AnswerBox("2.1", folder=tmp_path)
    right = f"{box.exercise.question.right(**box.exercise.given):.4g}"
    box._answer(None, {"asked": "1", "typed": right + " " * 300 + "fish"}, [])
    assert box.mark.outcome == marking.UNREADABLE and len(box.value) == 200
