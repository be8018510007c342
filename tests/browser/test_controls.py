"""The workbook's own controls in a real browser: keys, typing, dragging, Lab's shortcuts, and a kernel that is gone."""

import itertools
import re

import kit
import pytest
from playwright.sync_api import expect

GONE = "Python is not running this page. Reload the page to go on."


def slider(panel, name):
    return panel.get_by_role("slider", name=name)


def field(panel, name):
    return panel.get_by_role("textbox", name=name)


def told(panel, name):
    return panel.locator(".ph-control").filter(has=slider(panel, name)).get_by_role("status")


def test_keys(panel):
    water = slider(panel, "Water temperature")
    expect(water).to_have_attribute("aria-valuetext", "18.0 °C")
    water.focus()
    for key, value in (
        ("ArrowRight", "18.5"),
        ("ArrowUp", "19.0"),
        ("ArrowLeft", "18.5"),
        ("Home", "4.0"),
        ("ArrowRight", "4.5"),
        ("End", "30.0"),
        ("ArrowDown", "29.5"),
    ):
        water.press(key)
        expect(water).to_have_attribute("aria-valuetext", f"{value} °C")
    expect(panel.get_by_text("Water 29.5 °C")).to_be_visible()
    for key, grows in (("PageDown", False), ("PageUp", True)):
        before = float(water.input_value())
        water.press(key)
        assert (float(water.input_value()) > before) is grows
        assert abs(float(water.input_value()) - before) > 0.5  # a larger stride than an arrow's


def test_the_focus_is_visible_and_controls_are_large_enough(panel):
    slider(panel, "Water temperature").focus()
    panel.keyboard.press("Tab")
    expect(field(panel, "Water temperature")).to_be_focused()
    panel.keyboard.press("Shift+Tab")
    ring = slider(panel, "Water temperature").evaluate("node => getComputedStyle(node).outline")
    assert "solid" in ring and "3px" in ring
    controls = panel.locator(".ph-control input")
    heights = controls.evaluate_all("nodes => nodes.map(node => node.getBoundingClientRect().height)")
    assert min(heights) >= 24


@pytest.mark.parametrize("typed, value", [("21", "21.0"), ("68 F", "20.0"), ("19.5 °C", "19.5")])
def test_typed(panel, typed, value):
    box = field(panel, "Water temperature")
    box.fill(typed)
    box.press("Enter")
    expect(panel.get_by_text(f"Water {value} °C")).to_be_visible()
    expect(box).to_have_value(value)
    expect(slider(panel, "Water temperature")).to_have_value(value.removesuffix(".0"))
    expect(told(panel, "Water temperature")).to_have_text("")


def test_nonsense_is_answered_and_the_value_kept(panel):
    box = field(panel, "Water temperature")
    for typed, answer in (
        ("warm", "No number was found in “warm”"),
        ("45", "45 °C is outside this control, which runs from 4.0 to 30.0 °C."),
        ("3 kW", "something like 18 °C or 64 °F is needed here."),
    ):
        box.fill(typed)
        box.press("Tab")
        expect(told(panel, "Water temperature")).to_contain_text(answer)
        expect(told(panel, "Water temperature")).to_contain_text("It stays at 18.0 °C.")
        expect(box).to_have_value("18.0")
    box.fill("18.3")
    box.press("Enter")
    expect(told(panel, "Water temperature")).to_have_text("Set to 18.5 °C: this control moves in steps of 0.5.")
    slider(panel, "Water temperature").press("ArrowRight")
    expect(told(panel, "Water temperature")).to_have_text("")
    expect(panel.get_by_text("Water 19.0 °C")).to_be_visible()


def test_an_answer_that_arrives_does_not_overwrite_what_is_being_typed(panel):
    box = field(panel, "Water temperature")
    box.fill("25")
    box.press("Enter")
    box.fill("2")
    expect(panel.get_by_text("Water 25.0 °C")).to_be_visible()
    panel.wait_for_timeout(200)
    expect(box).to_have_value("2")
    box.fill("21")
    box.press("Enter")
    expect(panel.get_by_text("Water 21.0 °C")).to_be_visible()
    expect(box).to_have_value("21.0")


def test_choice(panel):
    group = panel.get_by_role("group", name="Which pond is dearer to heat")
    group.get_by_label("A deep one under a lid").check()
    expect(panel.get_by_text("pond deep.")).to_be_visible()
    panel.keyboard.press("ArrowDown")
    expect(panel.get_by_text("pond shallow.")).to_be_visible()
    expect(group.get_by_label("A shallow one in the wind")).to_be_checked()


def test_labs_shortcuts_do_nothing_in_a_control(panel):
    cells = panel.locator(".jp-Cell")
    before = cells.count()
    for control in (
        slider(panel, "Water temperature"),
        field(panel, "Water temperature"),
        panel.get_by_label("A deep one under a lid"),
    ):
        control.focus()
        panel.keyboard.type("ddaabbxmjk00")  # delete, insert, cut, turn to text, go elsewhere, restart
        expect(control).to_be_focused()
    field(panel, "Water temperature").press("Escape")
    expect(field(panel, "Water temperature")).to_have_value("18.0")
    panel.get_by_role("heading", name="The controls").click()
    panel.keyboard.type("ddaabbxm")  # nor does a stray key outside the controls lose anything
    assert cells.count() == before
    expect(panel.get_by_role("heading", name="The controls")).to_be_visible()


def messages(frames, named):
    return [(moment, found[1]) for moment, frame in frames if (found := re.search(named, frame))]


def test_a_fast_drag_leaves_no_backlog(panel):
    panel.watch.sent.clear()
    panel.watch.received.clear()
    released = kit.drag(panel, slider(panel, "Slow to draw"), 60)
    expect(panel.get_by_text("Drawn at 60.")).to_be_visible()
    everything = messages(panel.watch.sent, rb'"asked":"(.+?)"')
    control = everything[-1][1].split(b":")[0]  # the fixture's last message, of another control, may be among them
    asked = [(moment, message) for moment, message in everything if message.startswith(control)]
    answered = {message: moment for moment, message in messages(panel.watch.received, rb'"seen": "(.+?)"')}
    assert all(answered[before] < moment for (_, before), (moment, _) in itertools.pairwise(asked))  # one at a time
    span = asked[-1][0] - asked[0][0]
    assert 3 <= len(asked) <= span / 0.15 + 2  # of 30 moves, as many as could be drawn at 0.15 s each
    assert sum(moment > released for moment, _ in asked) <= 2  # no more are left to be drawn after the release


def test_an_error_while_drawing_is_shown_in_the_panel(panel):
    night = slider(panel, "Hours of night")
    night.press("End")
    alert = panel.get_by_role("alert")
    expect(alert).to_contain_text("could not work out an answer for these settings (ZeroDivisionError")
    night.press("Home")
    expect(alert).to_have_count(0)
    expect(panel.get_by_text("0 h at 12.0 p")).to_be_visible()
    assert [frame for frame in panel.watch.kernel if "ZeroDivisionError" not in frame] == []
    panel.watch.kernel.clear()  # the trace, folded in the panel, is the error that this test provokes


def test_a_slow_kernel_is_reported_and_what_is_set_last_counts(panel):
    slow = slider(panel, "Slow to draw")
    slow.press("End")
    slow.press("ArrowLeft")  # waits for the answer
    expect(told(panel, "Slow to draw")).to_contain_text("Python has not answered yet.")
    panel.watch.sent.clear()
    slow.press("Home")  # waits no longer
    expect(panel.get_by_text("Drawn at 0.")).to_be_visible()
    expect(told(panel, "Slow to draw")).to_have_text("")
    panel.wait_for_timeout(500)  # in which the one that waited would follow
    assert [value for _, value in messages(panel.watch.sent, rb'"value":([\d.]+)')][-1] == b"0"
    expect(panel.get_by_text("Drawn at 0.")).to_be_visible()


def test_a_lost_kernel_is_reported(panel):
    """Last of this file: it ends the page's kernel, twice."""
    water = slider(panel, "Water temperature")
    kit.choose_from_menu(panel, "Kernel", re.compile("^Restart Kernel…"))
    panel.get_by_role("button", name="Confirm Kernel Restart").click()
    expect(told(panel, "Water temperature")).to_have_text(GONE)  # at once, before anything is touched
    kit.choose_from_menu(panel, "Run", "Run All Cells")
    expect(told(panel, "Water temperature")).to_have_text("")
    water.press("ArrowRight")
    expect(panel.get_by_text("Water 18.5 °C")).to_be_visible()

    kit.choose_from_menu(panel, "Kernel", "Shut Down Kernel")
    expect(panel.locator(".pondheat-told")).to_have_text("Python has stopped.")
    water.press("ArrowRight")
    expect(told(panel, "Water temperature")).to_have_text(GONE)
    expect(water).to_have_attribute("aria-valuetext", "18.5 °C")  # what the sentence below it still says
