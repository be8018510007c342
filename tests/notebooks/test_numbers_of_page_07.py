"""Every number in the prose of page 07 comes from the library, or from a source that is named beside it."""

import json
import re

import numpy as np
import pytest

from pondheat.core.places import WORKBOOK
from pondheat.heat.covers import sheet_loss
from pondheat.show.panels import covers

CELLS = [
    cell
    for cell in json.loads((WORKBOOK / "07_covers.ipynb").read_text(encoding="utf-8"))["cells"]
    if cell["cell_type"] == "markdown"
]
TEXT = {cell["id"]: "".join(cell["source"]).replace("\u00a0", " ") for cell in CELLS}
NUMBER = re.compile(r"(?<![\w./-])\d+(?:\.\d+)?(?![\w]*\.ipynb)")
# cell → the numbers in it: the minutes are checked in test_pages, page numbers are links
PROSE = {
    "setting": {"18", "14"},
    "diary": {"24"},  # a date
    "observe": {"1", "2", "3", "4", "1.5", "20", "24"},
    "lifting-words": {"0.5"},
}


@pytest.fixture(scope="module")
def panel():
    return covers.panel()


def test_no_other_numbers_stand_in_the_prose():
    found = {
        key: set(NUMBER.findall(re.sub(r"\(\d\d_\w+\.ipynb\)|after \d\d", "", text)))
        for key, text in TEXT.items()
        if key not in ("about", "next")
    }
    assert {key: numbers for key, numbers in found.items() if numbers} == PROSE


def test_setting(panel):
    hours = panel.controls["hours"].value
    assert (
        f"kept at {covers.WATER_TEMP:g} °C" in TEXT["setting"] and f"for {hours:g} hours each night" in TEXT["setting"]
    )
    assert "about four fifths of the heat while it's on" in TEXT["head"]
    assert round(panel.share_while_on / 20) == 4  # the nearest fifth
    assert "six last night and came off at eight" in TEXT["diary"] and hours == 24 - 18 + 8


def test_questions_can_be_tried_on_the_panel(panel):
    for name, value in (("u_value", 1.5), ("gap", 20), ("hours", 24)):
        control = panel.controls[name]
        assert control.least <= value <= control.most
    assert panel.controls["u_value"].value / 1.5 == pytest.approx(2, abs=0.1)  # “twice as good”


def test_why_nights_count_for_more(panel):
    """Nights take more heat than days, so a cover on at night saves more than its hours."""
    heat, on = panel.open_season.hours["heater"].to_numpy(), panel.on
    assert np.average(heat, weights=on) > np.average(heat, weights=1 - on)
    assert panel.share > panel.share_while_on * on.mean()


def test_a_sheet_faces_the_sky():
    """On a clear night it passes more than U-value times difference, under cloud not."""
    clear, overcast = (sheet_loss(18.0, 8.0, 1.0, sky, 1.0, 3.1) / (3.1 * 10) for sky in (-12.0, 8.0))
    assert clear > 1 > overcast


def test_lid_of_the_lifting_hours():
    assert f"U-value {covers.SOLID_LID.u_value:g}" in TEXT["lifting-words"]


def test_quoted_savings_are_printed_with_their_sources(capsys):
    """US Department of Energy: 50 to 70 %; California Polytechnic: 94 to 96 and 14 to 16 %, by which a film is run."""
    covers.print_published()
    printed = " ".join(capsys.readouterr().out.split())
    for share, source in (("50 to 70", "US Department"), ("94 to 96", "California"), ("14 to 16", "California")):
        assert f"{share} {source}" in printed
    low, high = (one.value for one in covers.FILM_EVAPORATION)
    assert low < covers.SOLID_LID.evaporation_cut < high


def test_a_net_is_not_a_cover(panel):
    """A little less heat goes out, and a little less sun comes in: next to no effect over the season."""
    heat = covers.net_seasons()
    bare, net, sheet, both = heat.values()
    assert abs(net / bare - 1) < 0.06 < 0.4 < 1 - sheet / bare
    assert abs(both / sheet - 1) < 0.06
    assert bare == pytest.approx(panel.open_season.heat_kwh)
