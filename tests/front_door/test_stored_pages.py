"""What a page shows until Python answers: every control and text as it stands at the start, and nothing hidden."""

import datetime as dt

import ipywidgets
import numpy as np
import pytest
import stored_pages
from ipywidgets.embed import dependency_state

from pondheat.show import figures
from pondheat.show.arithmetic import Fold
from pondheat.show.controls import Choice, Slider, Switch, Text
from pondheat.show.cover_frame import CoverFrame
from pondheat.show.exercises import AnswerBox
from pondheat.show.file_control import File
from pondheat.show.live_picture import LivePicture
from pondheat.show.pictures.carpet import Carpet


def drawn(widget):
    return stored_pages.drawn(dependency_state(widget, drop_defaults=False), widget.model_id)


def test_a_slider_stands_where_it_starts():
    said = drawn(Slider("Water temperature", 18, 8, 26, 0.5, "degC"))
    assert "Water temperature" in said and 'value="18"' in said and 'value="18.0"' in said and "°C" in said
    assert "--ph-filled: 55.56%" in said


@pytest.mark.parametrize(
    "widget, texts",
    [
        (Choice("Which?", {"a": "One & two", "b": "Three"}), ["<legend>Which?", "One &amp; two", "Three"]),
        (Switch("Covered", True), ["Covered", "checked"]),
        (Text("Town", "Look it up", "Leeds"), ["Town", "Look it up", 'value="Leeds"']),
        (AnswerBox("1.1", opened=1), ["Your answer", "Check", "Hint", "<li>"]),
        (Fold(lambda: ""), ["Show the arithmetic"]),
        (ipywidgets.HTML("<b>bold</b>"), ["<b>bold</b>"]),
    ],
)
def test_each_kind_of_control_is_drawn_with_its_words(widget, texts):
    said = drawn(widget)
    assert [text for text in texts if text not in said] == []


def test_pictures_are_drawn_without_what_only_their_scripts_read():
    chart = figures.lines({"one": ([0.0, 1.0], [1.0, 2.0])}, "c", "Heat, kW", (0, 1), {0: "0"}, (0, 3)).html()
    said = drawn(LivePicture(value=chart))
    assert "data-readings" in chart and "data-readings" not in said
    assert "ph-live" in said and "<svg" in said and "Heat, kW" in said
    lost = np.full((24, 3), 1000.0)
    carpet = Carpet(tuple(dt.date(2025, 10, day) for day in (1, 2, 3)), lost, lost / 2, lost / 2)
    said = drawn(CoverFrame("c", carpet, carpet.whole(18, 32), "Heat lost", str)).replace("\u00a0", " ")
    assert "<image" in said and "The open pond loses 72.0 kWh" in said


def test_a_file_control_is_drawn():
    assert 'type="file"' in drawn(File("Your log"))


def test_boxes_keep_their_look_and_hidden_parts_stay_away():
    hidden = ipywidgets.HTML("later")
    hidden.layout.display = "none"
    said = drawn(ipywidgets.VBox([ipywidgets.HTML("now"), hidden]).add_class("ph-panel"))
    assert "ph-panel" in said and "widget-vbox" in said and "now" in said and "later" not in said


def test_a_likely_range_is_not_stored_however_far_it_came():
    for value in ("Likely range: working it out…", "£1 to £2"):
        said = drawn(ipywidgets.HTML(f'<div class="ph-likely">{value}</div>'))
        assert '<div class="ph-likely">Likely range: working it out…</div>' in said
