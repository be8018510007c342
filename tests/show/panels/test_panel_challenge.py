"""The panel of the final challenge, as the browser talks to it."""

import re

import pytest

from pondheat.lesson import marking, progress
from pondheat.lesson.reasons import ReasonQuestion
from pondheat.show.exercises import AnswerBox
from pondheat.show.panels import challenge
from pondheat.show.reasons import ReasonChoice
from pondheat.tutor.routes import ROUTES


@pytest.fixture(scope="module")
def pond():
    return challenge.shipped_or_invented(2)


def opened(number, folder, short=False):
    panel = challenge.Challenge(folder)
    panel.short.value = short
    panel.number._answer(None, {"asked": "1", "typed": number}, [])
    panel.wait()
    return panel


def questions(panel):
    """The question of each step, in order."""
    return [box.children[1] for box in panel.steps.boxes]


def test_it_is_calm_until_a_pond_is_opened(tmp_path):
    panel = challenge.Challenge(tmp_path)
    assert panel.steps is None and panel.children == panel.closed and panel.NOTHING in panel.progress_line.value
    assert panel._repr_mimebundle_()["text/plain"] == panel.NOTHING


def test_one_screen_a_step(tmp_path):
    panel = opened("2", tmp_path)
    assert "Pond 2 is open" in panel.progress_line.value
    assert panel.steps.trail.names == [step.title for step in challenge.challenge.STEPS]
    for at in range(5):
        panel.steps.trail.at = at
        assert [box.layout.display != "none" for box in panel.steps.boxes] == [one == at for one in range(5)]
    assert isinstance(questions(panel)[1], ReasonChoice) and isinstance(questions(panel)[2], challenge.ChallengeAnswer)


def test_all_five_right_answers_are_taken_and_kept(tmp_path, pond):
    panel = opened("2", tmp_path)
    asked = list(challenge.challenge.questions_of(pond).values())
    for question, shown in zip(asked, questions(panel)):
        if isinstance(question, ReasonQuestion):
            shown.guess.value = question.right
            assert ReasonChoice.RIGHT in shown.reply.value
        else:
            shown._answer(None, {"asked": "1", "typed": f"{question.right(**question.given):.4g}"}, [])
            assert shown.says.startswith("✓ Right") and "season" in shown.says or "really saved" in shown.says
            assert not shown.may_renew
    assert (
        set(progress.load(tmp_path).answers.values()) == {marking.RIGHT} and len(progress.load(tmp_path).answers) == 5
    )


def test_wrong_answers_point_to_a_page_and_nonsense_is_asked_again(tmp_path, pond):
    panel = opened("2", tmp_path)
    for question, shown in zip(challenge.challenge.questions_of(pond).values(), questions(panel)):
        if isinstance(question, ReasonQuestion):
            shown.guess.value = next(iter(question.replies))
            assert "Page " in shown.reply.value
        else:
            for typed in ("3", "77777"):
                shown._answer(None, {"asked": "1", "typed": typed}, [])
                assert "Page " in shown.says
            shown._answer(None, {"asked": "1", "typed": "lots"}, [])
            assert shown.says.startswith("? Not read.")
            assert isinstance(shown, AnswerBox)


def test_the_short_form_has_three_screens_and_names_only_pages_of_a_one_hour_evening(tmp_path, pond):
    panel = opened("2", tmp_path, short=True)
    assert "decide three things" in panel.progress_line.value
    assert panel.steps.trail.names == [step.title for step in challenge.short_challenge.STEPS]
    asked = list(challenge.short_challenge.questions_of(pond).values())
    for question, shown in zip(asked, questions(panel), strict=True):
        said = []
        if isinstance(question, ReasonQuestion):
            for choice in question.replies:
                shown.guess.value = choice
                said.append(shown.reply.value)
            shown.guess.value = question.right
            assert ReasonChoice.RIGHT in shown.reply.value
        else:
            roads = [one.value(**question.given) for one in question.misconceptions]
            for typed in (*roads, 3, 77777, question.right(**question.given) * 1.1):
                shown._answer(None, {"asked": "1", "typed": f"{typed:.4g}"}, [])
                said.append(shown.says)
            shown._answer(None, {"asked": "1", "typed": f"{question.right(**question.given):.3g}"}, [])
            assert "✓ Right" in shown.says and "simulated cover saves" in shown.says
        named = [set(re.findall(r"[Pp]ages? (\d\d)", reply)) for reply in said]
        assert all(pages and pages <= set(ROUTES["one_hour"][1]) for pages in named), said


@pytest.mark.parametrize("typed", ("", "zero", "0", "1000", "2.5", "-3", "²", "9" * 300))
def test_a_number_that_is_none_gets_a_sentence(typed, tmp_path):
    panel = opened(typed, tmp_path)
    assert 'role="alert"' in panel.progress_line.value and "999" in panel.progress_line.value
    assert panel.steps is None and panel.children == panel.closed


def test_a_second_number_replaces_the_first_pond(tmp_path):
    panel = opened("2", tmp_path)
    panel.number._answer(None, {"asked": "2", "typed": "3"}, [])
    panel.wait()
    assert "Pond 3 is open" in panel.progress_line.value and len(panel.children) == len(panel.closed) + 2
