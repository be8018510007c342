"""The page on the reader's own pond: by keys alone to a written decision sheet, and back another day."""

import re

import kit
import pytest
from playwright.sync_api import expect

from pondheat.sheet import pond_form

PAGE, SHEET, REPORT = "16_your_pond.ipynb", "my_pond.toml", "my_pond_report.html"
TYPED = {  # what a keeper with a tape measure and a bill types, by label; all else keeps its default
    "Length of the water": "15 ft",
    "Width of the water": "10 ft",
    "Mean depth; or the volume, if you know it": "4 ft 3 in",
    "Temperature to hold, or “no heat”": "14 C",
    "Heat it can give, from its label": "4 kW",
    "Price of a kWh of electricity": "31p",
}
# For somebody who seldom types, reads every question, and measures or looks up each value (judgement).
SECONDS_A_KEY, SECONDS_A_QUESTION, SECONDS_A_VALUE = 1.5, 10, 60


class Keys:
    """Presses keys and counts them."""

    def __init__(self, page):
        self.page, self.pressed, self.visited = page, 0, []

    def press(self, key):
        self.page.keyboard.press(key)
        self.pressed += 1

    def type(self, text):
        self.page.keyboard.type(text)
        self.pressed += len(text)

    def focused(self) -> str:
        """The name of the focused element: a field's label, its group's legend, or a button's text."""
        return self.page.evaluate("""() => {
          const node = document.activeElement;
          const told = node.labels?.length ? node.labels[0].innerText : node.innerText;
          if (node.type === "radio") return node.closest("fieldset").querySelector("legend").innerText;
          return (told || "").trim();
        }""")

    def tab_to(self, wanted: str):
        for _ in range(60):
            self.press("Tab")
            name = self.focused()
            if name == wanted:
                return
            self.visited.append(name)
        raise AssertionError(f"no way by Tab to {wanted}: {self.visited}")


def field(page, label):
    return page.get_by_role("textbox", name=label, exact=True)


NEXT = {  # the label before which the next step is opened, by the text of its button
    "Temperature to hold, or “no heat”": ["Next: the heat"],
    "Price of a kWh of electricity": ["Next: the cover", "Next: bill and place"],
}


# Of the headline, the box that has the keys, and the lines: in one moment, as in the next the answer may be another.
PLACES = """() => [".ph-headline", ":focus", ".ph-right .ph-lines"].map(
  one => document.querySelector(".jp-NotebookPanel:not(.lm-mod-hidden) " + one)?.getBoundingClientRect().toJSON())"""


def wait_for_focus(page, name):
    page.wait_for_function(
        """name => {
          const group = document.activeElement.closest("fieldset")?.querySelector("legend");
          return (group ?? document.activeElement.labels?.[0])?.innerText === name;
        }""",
        arg=name,
    )


def test_by_keys_to_the_decision_sheet(lesson, workbook):
    page, folder = lesson, workbook.folder
    assert not (folder / SHEET).exists() and not (folder / REPORT).exists()
    asked = sum(not question.more for question in pond_form.questions().values())
    headline = page.locator(".ph-headline")
    expect(headline).to_have_text(re.compile("The cover saves about £"), timeout=60000)  # before anything is typed
    assert not (folder / SHEET).exists()
    field(page, next(iter(TYPED))).focus()  # as a click on the first line does
    keys = Keys(page)
    for number, (label, value) in enumerate(TYPED.items()):
        for button in NEXT.get(label, []):
            keys.tab_to(button)
            keys.press("Enter")
            wait_for_focus(page, {"Next: the cover": "Cover you have or are thinking of"}.get(button, label))
        if number and keys.focused() != label:
            keys.tab_to(label)
        keys.press("Control+a")
        keys.type(value)
        keys.press("Enter")
    link = page.get_by_role("link", name="open it and print it")
    expect(link).to_be_visible(timeout=180000)  # no button was needed
    expect(headline).to_have_text(re.compile(r"The cover saves about £[\d,]+ a winter \(£[\d,]+ to £[\d,]+\)"))
    expect(page.get_by_text("Best next step")).to_be_visible()
    expect(page.locator("svg.ph-pond")).to_have_count(1)
    # The link appears with the first answer. Later answers reach the sheet a moment after they are typed.
    wanted = [f'"{value}"' for value in ("15 ft", "10 ft", "4 ft 3 in", "14 C", "4 kW", "31p/kWh")]
    made = kit.wait_for(
        lambda: all(value in (text := (folder / SHEET).read_text(encoding="utf-8")) for value in wanted) and text,
        60,
        lambda: f"not all of {wanted} are in the sheet",
    )
    assert '"cover.u_value"' in made and '"pond.set_point"' not in made
    minutes = (keys.pressed * SECONDS_A_KEY + asked * SECONDS_A_QUESTION + len(TYPED) * SECONDS_A_VALUE) / 60
    print(
        f"{asked} questions, {len(TYPED)} of them answered by {keys.pressed} keys: {minutes:.0f} minutes at "
        f"{SECONDS_A_KEY} s a key, {SECONDS_A_QUESTION} s a question and {SECONDS_A_VALUE} s to find a value"
    )
    assert minutes < 15

    keys.tab_to("open it and print it")
    with page.context.expect_page() as opened:
        keys.press("Enter")
    sheet = opened.value
    expect(
        sheet.frame_locator("iframe").get_by_role("heading", name=re.compile("Decision sheet: My pond"))
    ).to_be_visible(timeout=30000)
    expect(sheet.get_by_role("button", name=re.compile("Print"))).to_be_visible()
    sheet.close()


@pytest.mark.long
def test_it_is_all_there_another_day(lesson, workbook):
    if not (workbook.folder / SHEET).exists():  # where the other tests of this file are not run
        test_by_keys_to_the_decision_sheet(lesson, workbook)
    page, made = lesson, (workbook.folder / SHEET).read_bytes()
    kit.restart_python(page, workbook, PAGE)
    for label, value in TYPED.items():
        for button in NEXT.get(label, []):
            page.get_by_role("button", name=button).click()
        expect(field(page, label)).to_have_value("31p/kWh" if value == "31p" else value)
    expect(page.locator(".ph-headline")).to_have_text(re.compile("The cover saves about £"), timeout=60000)
    assert (workbook.folder / SHEET).read_bytes() == made


def test_a_default_can_be_confirmed_and_errors_appear_next_to_their_field(lesson):
    page = lesson
    page.get_by_role("button", name="1 The pond").click()
    length = field(page, "Length of the water")
    length.fill("5")
    length.press("Enter")
    expect(length).to_have_value("5 m")  # a bare number takes the usual unit, and says so
    expect(page.locator(".ph-control").filter(has=length).get_by_role("status")).to_contain_text("Taken as 5.00 m")
    page.get_by_role("button", name="2 The heat").click()
    heater = page.get_by_role("group", name="Heater", exact=True)
    expect(heater).to_have_class(re.compile("ph-assumed"))
    heater.get_by_role("radio", name="electric").focus()
    page.keyboard.press("Enter")
    expect(heater).not_to_have_class(re.compile("ph-assumed"))
    power = field(page, "Heat it can give, from its label")
    power.fill("4 horses")
    page.keyboard.press("Tab")
    told = page.locator(".ph-control").filter(has=power).get_by_role("status")
    expect(told).to_contain_text("Please look again. ")
    expect(power).to_have_value("4 horses")
    expect(power).to_have_attribute("aria-invalid", "true")
    held = field(page, "Temperature to hold, or “no heat”").locator("xpath=../../label")
    assert len({node.evaluate("node => getComputedStyle(node).color") for node in (told, held)}) == 2
    expect(page.get_by_role("alert").first).to_contain_text("Heat it can give, from its label: “horses”")
    page.get_by_role("button", name="Undo").click()
    expect(power).to_have_value("4 kW")
    expect(power).to_have_attribute("aria-invalid", "false")
    page.get_by_role("button", name="3 The cover").click()
    page.get_by_role("radio", name="solid insulated lid").check()
    page.get_by_role("switch", name=re.compile("more about your pond")).check()
    expect(field(page, "U-value of the cover")).to_have_value("0.7 W/m²K")
    page.get_by_role("group", name="Cover you have or are thinking of").get_by_role("radio", name="none").check()
    expect(field(page, "U-value of the cover")).to_be_hidden()


@pytest.mark.parametrize("width, height", [(1280, 680), (800, 800), (640, 400)])  # the last: 1280 × 800 at 200 %
def test_the_headline_is_in_view_while_one_types(lesson, width, height):
    page, before = lesson, lesson.viewport_size
    page.set_viewport_size({"width": width, "height": height})
    headline = page.locator(".ph-headline")
    expect(headline).to_have_text(re.compile(r"about £.*\(£[\d,]+ to £[\d,]+\)"), timeout=120000)  # of any answer
    for label, step in (("Mean depth; or the volume, if you know it", "1"), ("Price of a kWh of electricity", "4")):
        page.get_by_role("button", name=re.compile(f"^{step} ")).click()
        box = field(page, label)
        box.focus()
        page.keyboard.press("End")
        told, typed, lines = page.evaluate(PLACES)
        assert told["y"] >= 44 and told["y"] + told["height"] <= height, (label, told)
        assert typed["y"] >= 44 and typed["y"] + typed["height"] <= height, (label, typed)
        beside = told["x"] >= typed["x"] + typed["width"]
        assert beside or told["y"] >= typed["y"] + typed["height"], (label, told, typed)
    if width == 1280:
        assert lines["y"] + lines["height"] <= height
    page.set_viewport_size(before)


def test_a_control_that_starts_slowly_still_hears_python(lesson):
    """anywidget gives up on a widget whose start takes longer than this signal, for as long as the page is open."""
    assert not lesson.evaluate("""() => new Promise(done => {
      const signal = AbortSignal.timeout(2000);
      setTimeout(() => done(signal.aborted), 2500);
    })""")


@pytest.mark.long
def test_no_barrier(lesson):
    for switch in reversed(lesson.get_by_role("switch").all()):  # what one shows moves all that are below it
        switch.check()
    kit.open_everything(lesson)
    assert kit.barriers(lesson) == []
