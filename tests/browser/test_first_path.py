"""A newcomer's way through a page, by keys and mouse: it is live by itself, answers, keeps what was done, and is not
harmed by a stray key. Page 07 in the usual run, two more in the long one.

The fixtures see to it that nothing went wrong unseen on any page, and that nothing was asked of another machine.
"""

import importlib
import json
import re

import kit
import pytest
from playwright.sync_api import expect
from test_first_screen import all_is_seen_now_and_after_another_choice

from pondheat.lesson import marking, progress
from pondheat.lesson.marking import SIGNS, Exercise
from pondheat.show.pages import PREDICT, PredictFirst
from pondheat.show.panels import covers, open_surface

PAGE = "07_covers.ipynb"
# Page: its first slider, what is typed into its box (far from where the mouse lets go), how that is shown, an exercise.
LESSONS = {
    "04_open_surface": ("Wind at the water", "5.5", "5.5 m/s", "4.1"),
    "07_covers": ("Hours covered, each night", "21", "21 h", "7.1"),
    "12_tariffs": ("Hours covered, each night", "21", "21 h", "12.1"),
}
STRAY = ("d", "d", "x", "a", "b", "m", "ArrowUp", "ArrowDown", "ArrowLeft", "ArrowRight")


class Panel:
    """A panel on a page, found by the name of its first slider, with its picture and its sentence."""

    def __init__(self, page, name):
        self.slider = page.get_by_role("slider", name=name)
        self.box = page.get_by_role("textbox", name=name)
        self.told = page.locator(".ph-control").filter(has=self.slider).get_by_role("status")
        whole = page.locator(".ph-panel").filter(has=self.slider)
        self.sentence, self.picture = whole.locator(".ph-sentence").first, whole.get_by_role("img").first

    def answers(self, act):
        """Do something; the sentence and the picture must both change."""
        sentence, picture = self.sentence.inner_text(), self.picture.inner_html()
        act()
        expect(self.sentence).not_to_have_text(sentence)
        kit.wait_for(lambda: self.picture.inner_html() != picture, 20, lambda: f"the picture stayed: {picture[:300]}")


def plays_with(page, name, typed, said):
    """Move a slider by arrows, page keys, end keys, mouse and its box."""
    panel = Panel(page, name)
    for key in ("ArrowRight", "PageUp", "Home", "End", "ArrowLeft"):
        panel.answers(lambda key=key: panel.slider.press(key))
    least, most = (float(panel.slider.get_attribute(of)) for of in ("min", "max"))
    panel.answers(lambda: kit.drag(page, panel.slider, least + (most - least) / 4, moves=6, seconds=0.2))
    panel.box.fill(typed)
    panel.answers(lambda: panel.box.press("Enter"))
    expect(panel.slider).to_have_attribute("aria-valuetext", said)
    panel.box.fill("warm")
    panel.box.press("Enter")
    expect(panel.told).to_contain_text("No number was found in “warm”")
    expect(panel.told).to_contain_text(f"It stays at {said}.")


def question(page, topic):
    """A page's question, as a group of choices."""
    return page.get_by_role("group", name=topic.QUESTION, exact=True)


def exercise(page, key):
    """The box of one exercise, which must show the printed numbers, and a way to answer it."""
    box = page.get_by_role("group", name=Exercise(key).text(), exact=True)

    def answer(typed, says):
        box.get_by_role("textbox", name="Your answer").fill(typed)
        box.get_by_role("button", name="Check", exact=True).click()
        expect(box.get_by_role("status")).to_contain_text(says)

    return box, answer


def answers(page, key):
    """Each misconception has its own sentence, nonsense is asked back, the right answer is confirmed."""
    asked = Exercise(key).question
    right, roads = asked.values()
    _, answer = exercise(page, key)
    for road in asked.misconceptions:
        answer(f"{roads[road.name]:.6g}", f"{SIGNS['a common slip']} {road.sentence}")
    answer("a few", f"{SIGNS['not read']} There's no number in that")
    answer(f"{right:.6g}", SIGNS["right"])


def sources(path):
    """A notebook's cells without their outputs; None while the file is being written."""
    try:
        cells = json.loads(path.read_text(encoding="utf-8"))["cells"]
    except ValueError:
        return None
    return [(cell["id"], cell["cell_type"], "".join(cell["source"])) for cell in cells]


def withstands_stray_keys(page, workbook, name, *controls):
    """Press Lab's shortcut keys in each control; the page that Lab then saves must be the shipped one, cell by cell."""
    for control in controls:
        control.focus()
        for key in STRAY:
            page.keyboard.press(key)
        expect(page.locator(":focus")).to_have_attribute("data-lm-suppress-shortcuts", "true")
    file, shipped = workbook.folder / name, workbook.clone / "workbook" / name
    with page.expect_response(lambda answer: answer.request.method == "PUT" and f"/api/contents/{name}" in answer.url):
        kit.choose_from_menu(page, "File", re.compile("^Save Notebook(?! As)"))
    kept = kit.wait_for(lambda: sources(file), 20, lambda: "the page was not kept")
    assert kept == sources(shipped)
    file.write_bytes(shipped.read_bytes())  # without the outputs of a kernel that will be gone


def shows_no_trace(page):
    assert "Traceback" not in page.locator(".jp-Notebook").text_content()
    expect(page.get_by_role("alert")).to_have_count(0)


def kept(workbook):
    return json.loads((workbook.folder / progress.NAME).read_text(encoding="utf-8"))


HEADINGS = (
    "[...document.querySelectorAll('.jp-NotebookPanel:not(.lm-mod-hidden) .jp-RenderedMarkdown :is(h1, h2)')]"
    ".filter(node => node.offsetParent).map(node => node.textContent)"
)
SIZE = """(() => { const text = document.querySelector('.jp-RenderedMarkdown p'), zoom = node => node
  ? (+getComputedStyle(node).zoom || 1) * zoom(node.parentElement) : 1;
  return parseFloat(getComputedStyle(text).fontSize) * zoom(text); })()"""


@pytest.fixture(scope="module")
def an_earlier_guess(workbook):
    """On page 04 the reader was sure of a wrong guess, so page 07 asks again."""
    progress.load(workbook.folder).note(f"{PREDICT}04_open_surface", marking.MISCONCEPTION, sure=True)


@pytest.fixture(scope="module")
def lesson(an_earlier_guess, lesson):
    """Page 07, opened once for its tests, by a reader who has made that guess."""
    return lesson


def guesses(page, topic, chosen):
    """Guess, and be sure of it: only then does the panel open, with a reply to the guess."""
    expect(page.get_by_role("slider")).to_have_count(0)
    question(page, topic).get_by_label(topic.OPTIONS[chosen], exact=True).check()
    expect(page.get_by_text(PredictFirst.HOW_SURE)).to_be_visible()
    expect(page.get_by_role("slider")).to_have_count(0)
    page.get_by_role("group", name="How sure are you?").get_by_label("Sure", exact=True).check()
    expect(page.get_by_text(PredictFirst.ON if chosen == topic.RIGHT else topic.WORDS[chosen])).to_be_visible()


def is_guessed(page):
    """Make page 07's guess, a wrong one, where an earlier test has not made it."""
    if not page.locator(".ph-predict.ph-guessed").count():
        guesses(page, covers, next(iter(covers.WORDS)))


def works_by_hand(page, workbook, name):
    """Look, work by hand, and press keys that would harm a notebook."""
    slider, typed, said, key = LESSONS[name]
    panel = Panel(page, slider)
    expect(panel.slider).to_be_visible()
    plays_with(page, slider, typed, said)
    answers(page, key)
    assert kept(workbook)["answers"][key] == "right"
    topic, (box, _) = importlib.import_module(f"pondheat.show.panels.{name[3:]}"), exercise(page, key)
    withstands_stray_keys(
        page,
        workbook,
        f"{name}.ipynb",
        panel.slider,
        panel.box,
        box.get_by_role("textbox", name="Your answer"),
        box.get_by_role("button", name="Check"),
        page.locator(".ph-fold > summary").first,
        question(page, topic).get_by_role("button", name="Choose again"),
    )
    shows_no_trace(page)


def test_in_one_column_the_story_is_below_the_question_and_what_gives_it_away_below_the_fold(lesson):
    lesson.set_viewport_size({"width": 800, "height": 800})
    asked = question(lesson, covers)
    diary, look = lesson.locator("em", has_text="From the pond diary"), lesson.get_by_role("heading", name="Look")
    kit.wait_for(lambda: lesson.wait_for_timeout(50) or look.bounding_box()["y"] >= 800, 20)
    below = asked.bounding_box()["y"] + asked.bounding_box()["height"]
    assert below <= diary.bounding_box()["y"] <= 800 - 40
    lesson.set_viewport_size({"width": 1280, "height": 900})


@pytest.mark.long
def test_on_the_projector_a_guess_is_made_by_keys_and_the_page_is_restored(lesson):
    lesson.set_viewport_size({"width": 1280, "height": 800})
    all_parts, before = lesson.evaluate(HEADINGS), lesson.evaluate(SIZE)
    lesson.keyboard.press("F9")
    told = lesson.locator(".pondheat-part")
    expect(told).to_contain_text("Part 1 of")
    assert lesson.evaluate(HEADINGS) == all_parts[:1] and lesson.evaluate(SIZE) > 1.3 * before
    assert lesson.locator("#pondheat-bar").is_hidden()
    expect(lesson.get_by_text(covers.QUESTION)).to_be_visible()  # the title isn't alone on the screen
    look = lesson.get_by_role("heading", name="Look")
    assert lesson.evaluate("document.activeElement.getAttribute('type')") == "radio"
    expect(lesson.get_by_role("slider")).to_have_count(0)
    lesson.keyboard.press("ArrowDown")  # the second choice, then sure of it, by keys
    expect(lesson.get_by_text(PredictFirst.HOW_SURE)).to_be_visible()
    expect(lesson.get_by_role("slider")).to_have_count(0)
    expect(look).to_be_hidden()  # while hands are counted
    lesson.keyboard.press("Tab")
    lesson.keyboard.press("Space")
    slider = lesson.get_by_role("slider").first
    expect(slider).to_be_visible()
    expect(lesson.get_by_text(covers.WORDS[list(covers.OPTIONS)[1]])).to_be_visible()
    # What to try and the panel, side by side, whole on the screen, and no other part; also on a small projector.
    expect(look).to_be_visible()
    assert [heading for heading in lesson.evaluate(HEADINGS) if "Look" not in heading] == []
    kit.wait_for(lambda: lesson.wait_for_timeout(50) or look.bounding_box()["y"] < 200, 20)
    assert look.bounding_box()["x"] < slider.bounding_box()["x"]
    picture = lesson.locator(".ph-panel figure:visible").first
    seen = (
        lesson.locator(".pondheat-beside:visible ol"),
        picture,
        lesson.locator(".ph-panel .ph-sentence:visible").first,
    )
    for height in (720, 800):
        lesson.set_viewport_size({"width": 1280, "height": height})
        foot = height - told.bounding_box()["height"]
        kit.wait_for(
            lambda: (
                lesson.wait_for_timeout(50)
                or all(part.bounding_box()["y"] + part.bounding_box()["height"] <= foot for part in seen)
            ),
            20,
            lambda: f"at {height} px: {[part.bounding_box() for part in seen]}",
        )
        assert picture.bounding_box()["height"] >= 120
    slider.focus()
    held = slider.input_value()
    lesson.keyboard.press("ArrowRight")
    assert slider.input_value() != held
    assert lesson.evaluate("document.documentElement.scrollWidth <= innerWidth")
    # Come back to, it begins with the panel, and what to try stays beside it.
    lesson.keyboard.press("F9")
    lesson.keyboard.press("F9")
    expect(told).to_contain_text("Part 1 of")
    kit.wait_for(lambda: lesson.wait_for_timeout(50) or 0 <= look.bounding_box()["y"] < 60, 20)
    assert picture.bounding_box()["y"] < 80
    lesson.keyboard.press("F9")
    expect(told).to_have_count(0)
    assert lesson.evaluate(HEADINGS) == all_parts and lesson.evaluate(SIZE) == before
    expect(lesson.get_by_role("button", name="Projector")).to_be_visible()


def test_after_a_guess_its_reply_picture_and_answer_are_on_the_first_screen(lesson):
    lesson.set_viewport_size({"width": 1280, "height": 680})
    is_guessed(lesson)
    lesson.locator(".jp-WindowedPanel-outer").evaluate("node => { node.scrollTop = 0; }")  # after another test
    all_is_seen_now_and_after_another_choice(lesson)
    lesson.set_viewport_size({"width": 1280, "height": 900})


def test_a_page_answers_and_is_worked_by_hand(lesson, workbook, pictures):
    is_guessed(lesson)
    works_by_hand(lesson, workbook, "07_covers")
    pictures(lesson, "07")
    asked = question(lesson, covers)
    asked.get_by_role("button", name="Choose again").click()
    asked.get_by_label(covers.OPTIONS[covers.RIGHT], exact=True).check()
    expect(lesson.get_by_text(PredictFirst.ON)).to_be_visible()


def test_an_earlier_guess_comes_back(lesson):
    again = question(lesson, open_surface)
    expect(lesson.get_by_text("From page 04. You were sure then")).to_be_visible()
    again.get_by_label(open_surface.OPTIONS[open_surface.RIGHT], exact=True).check()
    expect(lesson.get_by_text("That's right.", exact=True)).to_be_visible()


@pytest.mark.long
def test_no_barrier(lesson):
    kit.open_everything(lesson)
    assert kit.barriers(lesson) == []


@pytest.mark.long
def test_what_was_done_outlives_the_kernel(lesson, workbook):
    """Last of page 07: it restarts its Python."""
    is_guessed(lesson)
    answers(lesson, "7.1")
    before = kept(workbook)
    kit.choose_from_menu(lesson, "Kernel", re.compile("^Restart Kernel…"))
    lesson.get_by_role("button", name="Confirm Kernel Restart").click()
    gone = lesson.get_by_text("Python is not running this page.").first
    expect(gone).to_be_visible()
    assert kept(workbook) == before and before["answers"]["7.1"] == "right"
    kit.wait_until_ready(lesson, workbook, PAGE)
    kit.choose_from_menu(lesson, "Run", "Run All Cells")
    expect(gone).to_have_count(0)
    right, _ = Exercise("7.2").question.values()
    exercise(lesson, "7.2")[1](f"{right:.6g}", SIGNS["right"])
    assert kept(workbook)["answers"] == {**before["answers"], "7.2": "right"}


@pytest.mark.long
@pytest.mark.parametrize("name, chosen", [("04_open_surface", 0), ("12_tariffs", None)])
def test_a_lesson(page, workbook, pictures, name, chosen):
    """Guess, look, work by hand: once with a wrong guess, once with the right one. test_american_club.py has axe."""
    topic = importlib.import_module(f"pondheat.show.panels.{name[3:]}")
    kit.open_lesson(page, workbook, f"{name}.ipynb")
    guesses(page, topic, topic.RIGHT if chosen is None else list(topic.WORDS)[chosen])
    works_by_hand(page, workbook, name)
    pictures(page, name[:2])
