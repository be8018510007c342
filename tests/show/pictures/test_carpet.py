"""The carpet of a season: the right hour in the right place, even colours, and sums that hold."""

import base64
import datetime as dt
import re
import struct
import xml.etree.ElementTree as tree
import zlib

import numpy as np
import pandas as pd
import pytest

from pondheat.analysis import assessment
from pondheat.core.places import PONDS
from pondheat.sheet import pond_sheet as sheets
from pondheat.sheet.parts import CoverPlan
from pondheat.show.cover_frame import CoverFrame, hours_of_plan
from pondheat.show.panels.your_pond_picture import SeasonHours
from pondheat.show.pictures import raster
from pondheat.show.pictures.carpet import Carpet, Frame, Nights, carpet_svg, clock

DAYS = tuple(dt.date(2025, 10, 1) + dt.timedelta(days=day) for day in range(40))


def invented_carpet(price: bool = False) -> Carpet:
    """An open pond that loses 3 kW by night (18:00 to 06:00) and 1 kW by day; the cover saves two thirds of it."""
    night = np.zeros((24, 40), bool)
    night[6:18] = True
    open_ = np.where(night, 3000.0, 1000.0)
    return Carpet(DAYS, open_, open_ / 3, open_ * 2 / 3, np.where(night, 0.1, 0.3) if price else None)


def pixels(url: str) -> tuple[np.ndarray, np.ndarray]:
    """Rows of palette numbers of a PNG, and its palette."""
    data = base64.b64decode(url.split(",")[1])
    assert data[:8] == b"\x89PNG\r\n\x1a\n"
    at, chunks = 8, {}
    while at < len(data):
        (length,), name = struct.unpack(">I", data[at : at + 4]), data[at + 4 : at + 8]
        body = data[at + 8 : at + 8 + length]
        assert struct.unpack(">I", data[at + 8 + length : at + 12 + length])[0] == zlib.crc32(name + body)
        chunks[name], at = body, at + 12 + length
    wide, high = struct.unpack(">II", chunks[b"IHDR"][:8])
    rows = np.frombuffer(zlib.decompress(chunks[b"IDAT"]), np.uint8).reshape(high, wide + 1)
    assert not rows[:, 0].any()
    return rows[:, 1:], np.frombuffer(chunks[b"PLTE"], np.uint8).reshape(-1, 3)


def lightness(colours: np.ndarray) -> np.ndarray:
    """L* of CIE 1976 of sRGB colours, 0–255."""
    linear = colours / 255.0
    linear = np.where(linear <= 0.04045, linear / 12.92, ((linear + 0.055) / 1.055) ** 2.4)
    y = linear @ np.array([0.2126, 0.7152, 0.0722])
    return np.where(y > 0.008856, 116 * np.cbrt(y) - 16, 903.3 * y)


def test_image_holds_the_values():
    values = np.array([[0.0, 50.0, 100.0], [200.0, -5.0, np.nan]])
    rows, palette = pixels(raster.image(values, 100.0))
    assert rows.tolist() == [[0, 32, 63], [63, 0, 0]]
    assert palette.tolist() == raster.colours().tolist()


def test_colours_are_even():
    """Each tenth of the scale is darker than the one before, by about as much; so it survives grey printing."""
    steps = -np.diff(lightness(raster.colours(steps=11).astype(float)))
    assert (steps > 0).all() and steps.max() < 2.5 * steps.mean() and steps.min() > 0.4 * steps.mean()


def test_a_night_is_in_one_piece():
    index = pd.date_range("2025-10-01", "2025-10-04", freq="h", tz="Europe/London", inclusive="left")
    nights = Nights(index)
    days, table = nights.days, nights.table(np.arange(len(index), dtype=float))
    assert days == (dt.date(2025, 10, 1), dt.date(2025, 10, 2))  # noon to noon: the halves at the ends are no nights
    assert table.shape == (24, 2)
    assert table[:, 0].tolist() == list(range(12, 36)) and table[0, 1] == 36


@pytest.mark.parametrize("change", ["2025-10-24", "2026-03-27"])
def test_changes_of_clocks_leave_no_holes(change):
    index = pd.date_range(change, periods=5 * 24, freq="h", tz="Europe/London")
    nights = Nights(index)
    days, table = nights.days, nights.table(np.linspace(0, 1, len(index)))
    assert len(days) == 4 and np.isfinite(table).all()
    assert (np.diff(table.T.ravel()) >= -0.02).all()


def test_the_frame_covers_the_hours_it_names():
    mask = Frame(2, 4, 18, 32).mask(40)
    assert mask.sum() == 3 * 14 and mask[6, 2] and mask[19, 4] and not mask[20, 2] and not mask[6, 1]
    assert clock(18) == "18:00" and clock(32) == "08:00" and clock(36) == "12:00"


def test_sums_by_hand():
    """40 nights: 12 dark hours × 2 kW = 24 kWh a night; 12 light hours × 2/3 kW = 8 kWh a day."""
    carpet = invented_carpet(price=True)
    assert carpet.saved_kwh(carpet.whole(18, 30)) == pytest.approx(40 * 24)
    assert carpet.saved_kwh(carpet.whole(12, 36)) == pytest.approx(40 * 32)
    assert carpet.saved_kwh(Frame(0, 9, 18, 24)) == pytest.approx(10 * 12)
    assert carpet.saved_money(carpet.whole(12, 36)) == pytest.approx(40 * (24 * 0.1 + 8 * 0.3))


def framed(price: bool = False) -> CoverFrame:
    carpet = invented_carpet(price)
    return CoverFrame("c", carpet, carpet.whole(18, 30), "Heat lost", lambda value: f"£{value:.0f}")


def test_sentence_and_table_say_what_the_covered_hours_save():
    widget = framed()
    assert "loses 1,920 kWh" in widget.sentence() and "saves 960 kWh" in widget.sentence()
    assert "2.0 kWh for each hour it is on" in widget.sentence()
    assert "outside the frame would save 0.67 kWh each" in widget.sentence()
    assert widget.sentence().endswith(
        "The heater's saving differs, as at times the sun and the pump keep the pond warm without it."
    )
    widget.frame = [0, 39, 12, 36]
    assert "day and night" in widget.sentence() and "outside" not in widget.sentence()
    widget.frame = [0, 39, 20, 20]
    assert "never on" in widget.sentence()
    widget.frame = [31, 39, 18, 30]
    assert "1 November to 9 November" in widget.sentence()
    cells = re.findall(r"<th scope='row'>([^<]+)</th><td>([^<]+)</td><td>([^<]+)</td><td>([^<]+)", widget.table)
    assert cells == [("October 2025", "0", "1,488", "0"), ("November 2025", "108", "432", "216")]


def test_money_is_told_where_there_is_a_price():
    assert "£96" in framed(price=True).sentence() and "£" not in framed().sentence()


def test_a_frame_stays_within_the_season():
    widget = framed()
    for wanted, taken in (([-5, 99, 0, 99], [0, 39, 12, 36]), ([9, 3, 30, 20], [9, 9, 30, 30])):
        widget.frame = wanted
        assert widget.frame == taken


def test_the_frame_stays_when_the_carpet_changes():
    widget = framed()
    widget.frame = [3, 9, 20, 31]
    before = widget.says
    widget.draw(Carpet(DAYS, *(2 * part for part in (widget.carpet.open, widget.carpet.covered, widget.carpet.saved))))
    assert widget.frame == [3, 9, 20, 31] and widget.says != before


def test_the_picture_is_one_image_each_and_has_its_axes():
    svg = carpet_svg(invented_carpet(price=True), "k", "Heat <lost>", 4000.0)
    root = tree.fromstring(svg)
    images = [part for part in root.iter() if part.tag.endswith("image")]
    assert len(images) == 3 and len(svg.encode()) < 40_000
    rows, _ = pixels(images[0].get("href"))
    assert rows.shape == (24, 40) and rows[0, 0] == round(63 * 1000 / 4000) and rows[12, 5] == round(63 * 3000 / 4000)
    texts = [part.text or "" for part in root.iter() if part.tag.endswith("text")]
    assert {"12:00", "18:00", "00:00", "06:00", "0 W", "2,000 W", "4,000 W"} <= set(texts)
    assert any("hour of the day" in text for text in texts) and "price of a kWh" in svg
    assert root.get("aria-label") == "Heat <lost>"


# --- the reader's own season


@pytest.mark.parametrize(
    "plan, hours",
    [
        (CoverPlan(on=18 * 60, off=8 * 60), (18, 32)),
        (CoverPlan(on=6 * 60, off=11 * 60), (30, 35)),
        (CoverPlan(on=10 * 60, off=15 * 60), (34, 36)),  # what runs over noon ends there
        (CoverPlan(on=17 * 60 + 40, off=7 * 60 + 20), (18, 32)),
        (CoverPlan(), (12, 36)),
        (CoverPlan(on=600, off=600), (12, 36)),
    ],
)
def test_a_plans_hours_as_a_frame(plan, hours):
    assert hours_of_plan(plan) == hours


def test_ones_own_season_is_shown_on_demand():
    """The heat of the hours under the frame is about what two whole seasons, open and covered, differ by."""
    found = assessment.assess(sheets.read(PONDS / "garden_pond.toml"), scenarios=0)
    hours = SeasonHours()
    hours.follow(found)
    assert hours.children == (hours.shown,)
    hours.shown.value = True
    _, said, frame = hours.children
    assert "18.0\N{NO-BREAK SPACE}°C" in said.value or "18.0 °C" in said.value
    assert frame.chosen.on == 18 and frame.chosen.off == 32 and len(frame.carpet.days) > 260
    saved = found.open.heat_kwh - found.covered.heat_kwh
    # held at all hours, also in those in which the sun alone keeps the pond warm: a little more
    assert saved < frame.carpet.saved_kwh(frame.chosen) < 1.1 * saved
    assert frame.carpet.price is not None
    hours.follow(assessment.assess(sheets.read(PONDS / "my_first_sheet.toml"), scenarios=0))
    assert [part.value for part in hours.children[1:]] == [f'<p class="ph-kept">{SeasonHours.NOTHING}</p>']
