"""Pictures that move: a cover's frame and a line by pointer and keys, the film and what stops it, arrows that grow.

Our widgets alone, without JupyterLab: quick enough to look at many states.
"""

import pandas as pd
import pytest
from bare_widget import open_widget

from pondheat.show import figures
from pondheat.show.controls import Film
from pondheat.show.cover_frame import CoverFrame
from pondheat.show.line_fit import ACTIONS, HANDLES, OWN, START, WITH_COVERED, LineFit
from pondheat.show.live_picture import LivePicture
from pondheat.show.pictures.carpet import Carpet
from pondheat.show.pictures.nights import MOST_USED, PLOT_HEIGHT, across, up
from pondheat.show.pictures.pond import pond_picture
from pondheat.show.pictures.scene import PondScene

NIGHTS = (
    [("1 May", 8.0, 2.0, 60.0), ("2 May", 14.0, 3.0, 90.0), ("3 May", 20.0, 2.0, 105.0)],
    [("4 May", 6.0, 2.0, 30.0), ("5 May", 9.0, 3.0, 38.0), ("6 May", 12.0, 4.0, 42.0)],
)


@pytest.fixture
def bare(profile):
    """An empty page; whatever goes wrong in its scripts fails the test."""
    page = profile.new_page()
    page.set_viewport_size({"width": 960, "height": 760})
    wrong: list[str] = []
    page.on("pageerror", lambda error: wrong.append(str(error)))
    yield page
    page.close()
    assert wrong == []


def carpet() -> Carpet:
    import datetime as dt

    import numpy as np

    days = tuple(dt.date(2025, 10, 1) + dt.timedelta(days=day) for day in range(100))
    lost = np.tile(np.linspace(4000, 1000, 24)[:, None], 100)
    return Carpet(days, lost, lost / 3, lost * 2 / 3)


def test_the_frame_is_moved_by_keys_and_pointer(bare):
    found = carpet()
    widget = CoverFrame("c", found, found.whole(18, 32), "Heat lost", str)
    open_widget(bare, widget)
    edges = {name: bare.get_by_role("slider", name=name) for name in ("Cover on at", "Cover off at", "Last day of the")}
    on = edges["Cover on at"]
    assert on.get_attribute("aria-valuetext") == "18:00"
    on.focus()
    for key, taken in (("ArrowDown", 19), ("ArrowLeft", 18), ("PageUp", 15), ("Home", 12), ("End", 32)):
        bare.keyboard.press(key)
        bare.settle()
        assert widget.frame == [0, 99, taken, 32], key
    assert on.get_attribute("aria-valuetext") == "08:00" and "never on" in bare.inner_text("#widget")
    for taken in (12, 15, 18, 19, 18):
        bare.keyboard.press("Control+z")
        bare.settle()
        assert widget.frame == [0, 99, taken, 32]
    assert bare.get_by_role("button", name="Undo").is_disabled()

    grip = edges["Last day of the"].locator(".ph-grip").bounding_box()
    x, y = grip["x"] + grip["width"] / 2, grip["y"] + grip["height"] / 2
    plot = bare.locator(".ph-look").bounding_box()
    bare.mouse.move(x, y)
    bare.mouse.down()
    bare.mouse.move(x - plot["width"] / 4, y, steps=4)
    bare.mouse.up()
    bare.settle()
    assert widget.frame == [0, 74, 18, 32] and "13 December" not in widget.sentence()
    assert "1 October to 14 December" in bare.inner_text("#widget").replace("\u00a0", " ")
    # what is clipped to the cover is what the frame holds
    clip = {name: float(bare.locator(".ph-clip").get_attribute(name)) for name in ("x", "y", "width", "height")}
    left, top, wide, high = widget.plot
    assert clip == pytest.approx({"x": left, "y": top + high * 6 / 24, "width": wide * 0.75, "height": high * 14 / 24})
    bare.get_by_role("button", name="Undo").click()
    bare.settle()
    assert widget.frame == [0, 99, 18, 32]
    # pointer and keys read one hour
    bare.mouse.move(plot["x"] + 0.5, plot["y"] + 0.5)
    assert bare.inner_text(".ph-reading") == "1 October, 12:00: open 4,000 W, covered 1,333 W"
    bare.locator(".ph-look").focus()
    bare.keyboard.press("ArrowDown")
    assert bare.inner_text(".ph-reading").startswith("1 October, 13:00: open 3,870 W")


def test_a_line_is_moved_by_keys_and_pointer_and_undone(bare):
    widget = LineFit("n", *(pd.DataFrame(nights, columns=["night", "warmer", "wind", "used"]) for nights in NIGHTS))
    open_widget(bare, widget, width=720)
    left, right = (bare.get_by_role("slider", name=f"{side} end of your line") for side in ("Left", "Right"))
    start = list(START)
    left.focus()
    for key, taken in (("ArrowUp", 81), ("ArrowLeft", 80), ("PageUp", 90), ("Home", 0), ("End", MOST_USED)):
        bare.keyboard.press(key)
        bare.settle()
        assert widget.ends == [taken, start[1]], key
        assert left.get_attribute("aria-valuenow") == f"{taken:g}"
    assert left.get_attribute("aria-valuetext") == f"{MOST_USED:g} kWh with the water 2 K warmer than the air"
    bare.keyboard.press("Tab")
    bare.keyboard.press("ArrowDown")
    bare.settle()
    assert widget.ends == [MOST_USED, start[1] - 1]
    for _ in range(6):
        assert bare.get_by_role("button", name="Undo").is_enabled()
        bare.keyboard.press("Control+z")
        bare.settle()
    assert widget.ends == start and bare.get_by_role("button", name="Undo").is_disabled()

    grip = right.locator(".ph-grip").bounding_box()
    x, y = grip["x"] + grip["width"] / 2, grip["y"] + grip["height"] / 2
    scale = bare.locator("svg").bounding_box()["height"] / 380 * PLOT_HEIGHT / MOST_USED  # px for each kWh
    bare.mouse.move(x, y)
    bare.mouse.down()
    bare.mouse.move(x, y - 40 * scale, steps=4)
    bare.mouse.up()
    bare.settle()
    assert widget.ends == [start[0], pytest.approx(start[1] + 40, abs=1)]
    # the line's end is under the pointer, and each stick reaches from its night to the line
    line = {name: float(bare.locator(".ph-own").get_attribute(name)) for name in ("x2", "y2")}
    assert line == pytest.approx({"x2": across(HANDLES[1]), "y2": up(widget.ends[1])}, abs=0.1)
    for stick, (_, warmer, _, used) in zip(bare.locator(".ph-stick").all(), NIGHTS[0]):
        drawn = [float(stick.get_attribute(name)) for name in ("x1", "y1", "x2", "y2")]
        assert drawn == pytest.approx([across(warmer), up(used), across(warmer), up(widget.own.at(warmer))], abs=0.1)
    bare.get_by_role("button", name="Undo").click()
    bare.settle()
    assert widget.ends == start

    for action in ACTIONS:
        assert left.is_visible() and right.is_visible() or action == ACTIONS[WITH_COVERED]
        bare.get_by_role("button", name=action).click()
        bare.settle()
    assert widget.stage == OWN and left.is_visible() and bare.locator("rect.ph-night").count() == 0


def test_the_film_plays_stops_at_a_key_and_steps(bare):
    film = Film("A day", [f"{hour:02d}:00" for hour in range(24)])
    open_widget(bare, film)
    bare.get_by_role("button", name="Play").click()
    for _ in range(40):
        bare.settle()
        if film.value >= 2:
            break
    assert film.value >= 2
    bare.keyboard.press("x")
    assert bare.get_by_role("button", name="Play").count() == 1
    bare.settle()
    stopped = film.value
    bare.wait_for_timeout(800)
    bare.settle()
    assert film.value == stopped
    bare.get_by_role("button", name="One back").click()
    bare.settle()
    assert film.value == stopped - 1
    assert bare.get_by_role("slider", name="A day").get_attribute("aria-valuetext") == f"{stopped - 1:02d}:00"


def test_with_less_motion_the_film_only_steps(bare):
    bare.emulate_media(reduced_motion="reduce")
    film = Film("A day", ["00:00", "01:00", "02:00"])
    open_widget(bare, film)
    for expected in (0, 1, 2, 0):
        bare.get_by_role("button", name="Next").click()
        bare.settle()
        assert film.value == expected
    bare.wait_for_timeout(800)
    bare.settle()
    assert film.value == 0


def picture(**changed) -> str:
    losses = {"evaporation": changed.pop("evaporation", 1400.0)}
    scene = PondScene(4.0, 1.2, losses, 18.0, 6.0, hour=2.0, has_cover=True, full=2000.0, **changed)
    return f"<figure>{pond_picture(scene)}</figure>"


def test_arrows_grow_instead_of_being_drawn_anew(bare):
    widget = LivePicture(value=picture())
    open_widget(bare, widget)
    arrow = bare.locator('[data-k="arrow evaporation"] [data-flow]')
    bare.evaluate("document.querySelector('[data-k=\"arrow evaporation\"]').kept = true")
    length = arrow.evaluate("node => getComputedStyle(node).transitionDuration")
    assert length == "0.15s"
    before = arrow.bounding_box()["width"]
    bare.evaluate("text => model.put('value', text)", picture(evaporation=200.0, covered=1.0))
    assert bare.evaluate("document.querySelector('[data-k=\"arrow evaporation\"]').kept")
    bare.wait_for_timeout(400)
    assert arrow.bounding_box()["width"] < before / 2
    assert bare.locator('[data-k="label evaporation"] text').all_text_contents() == ["evaporation", "200 W"]
    bare.emulate_media(reduced_motion="reduce")
    assert arrow.evaluate("node => getComputedStyle(node).transitionProperty") in ("none", "all")
    assert float(arrow.evaluate("node => parseFloat(getComputedStyle(node).transitionDuration)")) == 0
    bare.evaluate("text => model.put('value', text)", "<p>No picture.</p>")
    assert bare.inner_text("#widget").strip() == "No picture."


def test_a_chart_is_read_by_pointer_and_keys(bare):
    hours = [float(hour) for hour in range(24)]

    def chart(factor: float) -> str:
        series = {"open": (hours, [2.0 * factor] * 24), "covered": (hours, [factor + hour / 24 for hour in hours])}
        ticks = {0: "0:00", 12: "12:00"}
        return figures.lines(series, "c", "Heat, kW", (0, 24), ticks, (0, 6), where=lambda at: f"{at:02.0f}:00").html()

    widget = LivePicture(value=chart(1.0))
    open_widget(bare, widget)
    words, slider = bare.locator(".ph-chart-words"), bare.get_by_role("slider", name="Read the chart: Heat, kW")
    assert words.is_hidden()
    bare.keyboard.press("Tab")
    assert slider.evaluate("node => node === document.activeElement") and words.is_visible()
    bare.keyboard.press("ArrowRight")
    assert words.inner_text() == slider.get_attribute("aria-valuetext") == "01:00: open 2.00, covered 1.04"
    bare.keyboard.press("End")
    assert words.inner_text().startswith("23:00: open 2.00, covered 1.96")
    bare.evaluate("text => model.put('value', text)", chart(2.0))  # the chart moves on, the place stays
    assert words.inner_text().startswith("23:00: open 4.00, covered 2.96") and bare.locator(".ph-rule").count() == 1
    box = bare.locator("svg").bounding_box()
    frame = bare.evaluate("JSON.parse(document.querySelector('svg').dataset.readings).frame")
    scale = box["width"] / 720
    bare.mouse.move(box["x"] + (frame[0] + 2) * scale, box["y"] + 60)
    assert words.inner_text().startswith("00:00: ")
    label, page = words.bounding_box(), bare.locator("#widget").bounding_box()
    assert label["x"] >= page["x"] and label["x"] + label["width"] <= page["x"] + page["width"] + 1
    bare.mouse.move(box["x"] + 10, box["y"] + box["height"] + 200)
    assert words.is_hidden() and bare.locator(".ph-rule").count() == 0
    bare.evaluate("text => model.put('value', text)", "<p>No chart.</p>")
    assert slider.count() == 0 and bare.inner_text("#widget").strip() == "No chart."


def test_every_chart_of_a_result_is_read_by_pointer_and_keys(bare):
    def result(factor: float) -> str:
        days = [0.0, 1.0, 2.0]
        made = [
            figures.lines({"mean": (days, [of * factor] * 3)}, f"r{of}", name, (0, 2), {0: "0"}, (0, 9)).html()
            for of, name in ((1.0, "Power, kW"), (2.0, "Energy, kWh"))
        ]
        return f"<div>{made[0]}<details open><summary>By day</summary>{made[1]}</details></div>"

    widget = LivePicture(value="")
    open_widget(bare, widget)
    bare.evaluate("text => model.put('value', text)", result(1.0))
    power, energy = (bare.get_by_role("slider", name=f"Read the chart: {name}") for name in ("Power", "Energy"))
    words = bare.locator(".ph-chart-words:visible")
    assert words.count() == 0
    bare.keyboard.press("Tab")
    assert words.all_inner_texts() == ["0: mean 1.00"] == [power.get_attribute("aria-valuetext")]
    bare.keyboard.press("Tab")  # in the order of the page: what unfolds comes before the chart in it
    assert words.count() == 0
    bare.keyboard.press("Tab")
    bare.keyboard.press("End")
    assert words.all_inner_texts() == ["2.00: mean 2.00"] == [energy.get_attribute("aria-valuetext")]
    bare.evaluate("text => model.put('value', text)", result(3.0))  # the same places in the next result
    assert words.all_inner_texts() == ["2.00: mean 6.00"] and power.get_attribute("aria-valuetext") == "0: mean 3.00"
    box = bare.locator("svg").first.bounding_box()
    bare.mouse.move(box["x"] + box["width"] / 3, box["y"] + 80)
    assert bare.locator("svg").first.locator(".ph-rule").count() == 1 and "1.00: mean 3.00" in words.all_inner_texts()
