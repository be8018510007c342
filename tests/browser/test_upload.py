"""A reader's meter file, uploaded through the page: small, large, too large, and one that is cancelled.

A part of the long run. In the usual one tests/show looks at what Python does with the pieces of a file.
"""

import re
import time

import kit
import numpy as np
import pytest
from playwright.sync_api import expect

pytestmark = pytest.mark.long
PAGE = "13_readings.ipynb"
MEGABYTE = 1024 * 1024
POWER = 2.0  # kW, constant


def meter_file(path, size: int, digits: int = 9) -> tuple[int, float]:
    """Write a counter's readings, one a minute, of this size [bytes]; returns the number of intervals and their kWh.

    digits: with which each is written; the more there are, the fewer readings make the size.
    """
    rows = size // (len("2020-01-01 00:00,\n") + digits)
    times = np.datetime_as_string(np.datetime64("2020-01-01T00:00") + np.arange(rows).astype("timedelta64[m]"))
    counter = np.round(1000 + POWER / 60 * np.arange(rows), 2)
    with path.open("w", encoding="utf-8", newline="\n") as file:
        file.write("time,counter [kWh]\n")
        file.writelines(f"{at},{kwh:0{digits}.2f}\n" for at, kwh in zip(times.tolist(), counter.tolist()))
    return rows - 1, float(counter[-1] - counter[0])


def chooser(page):
    return page.get_by_label("Your meter's file")


def panel(page):
    return page.locator(".ph-panel").filter(has=chooser(page))


def use_utc(page):
    """Set the file's time zone to UTC, so that there is no clock change in it."""
    zone = page.get_by_label("Time zone of its clock")
    zone.fill("UTC")
    zone.press("Enter")


# Once with few readings, which are read sooner, and once with as many as the size holds.
@pytest.mark.parametrize("megabytes, digits", [(11, 240), (45, 9)])
def test_a_large_file_arrives_whole(lesson, tmp_path, megabytes, digits):
    """The server's default limit for one message is 10 MiB; the pieces must be far smaller."""
    use_utc(lesson)
    path = tmp_path / f"minutes_{megabytes}.csv"
    intervals, kwh = meter_file(path, megabytes * MEGABYTE, digits)
    before = len(lesson.watch.sent)
    began = time.perf_counter()
    chooser(lesson).set_input_files(path)
    here = f"{path.name}, {path.stat().st_size / MEGABYTE:.1f} MB, is here."
    expect(panel(lesson).get_by_text(here)).to_be_visible(timeout=60000)
    arrived = time.perf_counter() - began
    found = panel(lesson).get_by_text(re.compile(rf"{path.name}: [\d,.]+ kWh in"))
    expect(found).to_be_visible(timeout=120000)
    print(f"{megabytes} MB: here after {arrived:.1f} s, read after {time.perf_counter() - began:.1f} s")
    said = found.inner_text().replace(",", "")
    assert float(re.search(r": ([\d.]+) kWh", said)[1]) == pytest.approx(kwh, abs=0.06)
    assert float(re.search(r"in (\d+) hours", said)[1]) == pytest.approx(intervals / 60, abs=0.6)
    assert max(len(frame) for _, frame in lesson.watch.sent[before:]) < 10 * MEGABYTE


def test_too_large_a_file_is_refused_with_a_sentence(lesson, tmp_path):
    path = tmp_path / "too_large.csv"
    with path.open("wb") as file:
        file.truncate(51 * MEGABYTE)
    chooser(lesson).set_input_files(path)
    expect(
        panel(lesson).get_by_text(
            "too_large.csv has 51.0 MB. Through the page at most 50.0 MB can be taken; "
            "give its path instead, which has no such limit."
        )
    ).to_be_visible()


def test_an_ambiguous_date_is_asked_about(lesson, tmp_path):
    use_utc(lesson)
    path = tmp_path / "either_way.csv"
    path.write_text("when,counter [kWh]\n" + "".join(f"0{day}/02/2026 08:00,{100 + 20 * day}\n" for day in range(1, 6)))
    chooser(lesson).set_input_files(path)
    asked = "either_way.csv: Row 2: is “01/02/2026 08:00” day/month or month/day?"
    expect(panel(lesson).get_by_role("alert")).to_contain_text(asked)
    lesson.get_by_role("radio", name="the day first").check()
    expect(panel(lesson).get_by_text("either_way.csv: 80.0 kWh in 96 hours, from 1 February 2026")).to_be_visible()
    lesson.get_by_role("radio", name="the month first").check()
    expect(panel(lesson).get_by_text("either_way.csv: 80.0 kWh in 2,880 hours")).to_be_visible()
    lesson.get_by_role("group", name="How dates are written").get_by_role("radio", name="as the file says").check()


def test_a_path_is_given_by_keys_and_a_wrong_one_stays_typed(lesson, tmp_path):
    use_utc(lesson)
    box = lesson.get_by_label("Or its path on this computer")
    box.focus()
    lesson.keyboard.type(str(tmp_path / "nowhere.csv"))
    lesson.keyboard.press("Enter")
    expect(panel(lesson).get_by_role("alert")).to_contain_text("nowhere.csv: no such file")
    expect(box).to_have_value(str(tmp_path / "nowhere.csv"))
    meter_file(tmp_path / "somewhere.csv", 5000)
    box.fill(str(tmp_path / "somewhere.csv"))
    lesson.keyboard.press("Tab")
    expect(panel(lesson).get_by_role("button", name="Read it")).to_be_focused()
    lesson.keyboard.press("Enter")
    expect(panel(lesson).get_by_text("somewhere.csv: 6.1 kWh in 3 hours")).to_be_visible()


def test_the_chooser_opens_by_key(lesson):
    with lesson.expect_file_chooser() as opened:
        chooser(lesson).press("Enter")
    assert not opened.value.is_multiple()


def test_reading_can_be_cancelled(lesson, tmp_path):
    use_utc(lesson)
    path = tmp_path / "long.csv"
    meter_file(path, 6 * MEGABYTE)
    head, _, readings = path.read_bytes().partition(b"\n")
    path.write_bytes(head + b"\n" + 10 * readings)  # the same weeks ten times: nobody gets as far as to find out
    box = lesson.get_by_label("Or its path on this computer")
    box.fill(str(path))
    box.press("Enter")
    expect(panel(lesson).get_by_text("Reading long.csv")).to_be_visible()
    cancel = panel(lesson).get_by_role("button", name="Cancel")
    cancel.focus()
    cancel.press("Enter")
    expect(panel(lesson).get_by_text("Cancelled. Nothing from the file was kept")).to_be_visible()
    expect(cancel).to_be_hidden()
    lesson.wait_for_timeout(3000)
    expect(panel(lesson).get_by_text("Cancelled. Nothing from the file was kept")).to_be_visible()
    expect(box).to_have_value(str(path))


def test_no_barrier(lesson):
    kit.open_everything(lesson)
    assert kit.barriers(lesson) == []
