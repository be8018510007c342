"""The thermometer's panel of page 16: what it asks for, what it shows, and what it says to a log that is none."""

import followed_ponds as ponds
import pandas as pd
import pytest

from pondheat.core import display_units
from pondheat.show.live_picture import LivePicture
from pondheat.show.panels.own_water import DAYS, LOG, NO_SHEET, OwnWater, charts
from pondheat.show.panels.sheet_file import SHEET

WATER = ponds.water(ponds.TRUTH)


def bring(file, content: bytes, name: str) -> None:
    """A small file as the browser sends it."""
    file._answer(file, {"name": name, "size": len(content), "asked": "1"}, [])
    file._answer(file, {"at": 0, "asked": "2"}, [content])


@pytest.fixture
def panel(tmp_path, monkeypatch):
    """A panel in a folder with a sheet and the weather of the log's days."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / SHEET).write_text(ponds.SHEET, encoding="utf-8")
    hours = ponds.record().hours.reset_index()
    table = hours[["time", "air_temp", "wind_speed", "solar", "sky_long_wave"]].assign(
        time=hours["time"].dt.tz_convert("UTC").dt.strftime("%Y-%m-%dT%H:%MZ"),
        rel_humidity=100 * hours["rel_humidity"],
        cloud_cover=100 * hours["cloud_cover"],
    )
    heads = {"air_temp": "air_temp [°C]", "wind_speed": "wind_speed [m/s]", "solar": "solar [W/m²]"}
    heads |= {
        "sky_long_wave": "sky_long_wave [W/m²]",
        "rel_humidity": "rel_humidity [%]",
        "cloud_cover": "cloud_cover [%]",
    }
    (tmp_path / f"{DAYS}.csv").write_text(table.rename(columns=heads).to_csv(index=False), encoding="utf-8")
    return OwnWater(tmp_path)


def compared(panel: OwnWater, text: str) -> str:
    bring(panel.file, text.encode(), "logger.csv")
    panel.wait(120)
    return panel.progress_line.value


def test_nothing_is_shown_or_written_before_a_log(tmp_path):
    panel = OwnWater(tmp_path)
    assert "log has been compared yet" in panel.progress_line.value and list(tmp_path.iterdir()) == []
    panel.compare()
    assert "Still needed: your thermometer" in panel.progress_line.value


def test_without_a_sheet_the_form_comes_first(tmp_path):
    panel = OwnWater(tmp_path)
    assert NO_SHEET.split(":")[0] in compared(panel, ponds.log_text(WATER))


def test_verdict_pictures_table_and_limits(panel):
    said = compared(panel, ponds.log_text(WATER))
    shown = panel.result.value
    assert "Good: the model follows your water" in said and "typically it is within" in said
    assert shown.count("<svg") == shown.count("data-readings=") == 2 and isinstance(panel.result, LivePicture)
    assert "wind_shelter = 0." in shown and "Tested on days held back" in shown
    assert "only a meter does" in shown and "season --meter" not in shown
    assert (panel.folder / f"{LOG}.csv").exists()
    assert "is here from before" in OwnWater(panel.folder).file.says


def test_a_suspicion_is_shown_with_what_to_answer(panel):
    late = WATER.copy()
    late.index = late.index + pd.Timedelta("3h")
    assert "Not yet" in compared(panel, ponds.log_text(late))
    assert "3 hours earlier" in panel.result.value and "clock=" in panel.result.value


def test_answers_and_wrong_answers(panel):
    compared(panel, ponds.log_text(WATER * 1.8 + 32, "time,temp °C"))
    assert "unit=" in panel.progress_line.value
    panel.more.value = 'unit="°F"'
    panel.compare()
    panel.wait(120)
    assert "Good" in panel.progress_line.value
    panel.more.value = "voltage=230"
    panel.compare()
    assert "“voltage” isn&#x27;t an answer for a thermometer" in panel.progress_line.value


@pytest.mark.parametrize(
    "text", ["<script>alert(1)</script>", "time,<b>water\n2026-01-01,3\n", "\0\0\0", "time,water\n"]
)
def test_what_is_no_log_gets_a_sentence(panel, text):
    said = compared(panel, text)
    assert 'role="alert"' in said
    assert "<script>" not in said and "<b>" not in said and "Traceback" not in said


def test_the_picture_of_a_long_log_shows_means_of_days():
    found = ponds.follow(ponds.log_text(WATER))
    water, error = charts(found)
    assert "means of days" in water.title and "1 May 2025 to 14 June 2025" in water.title
    assert len(water.numbers["measured"][0]) == 45 and "measured runs from" in water.description
    short = charts(ponds.follow(ponds.log_text(WATER[: 24 * 20])))
    assert "means" not in short[0].title and len(short[0].numbers["computed"][0]) == 480


def test_fahrenheit_beside_differences(panel):
    display_units.keep("°F", panel.folder)
    said = compared(panel, ponds.log_text(WATER))
    assert "°F) too warm" in said and "Δ" not in said + panel.result.value
    words, folded = panel.result.value.split("The same as the command line prints it")
    assert "°F)" in words and "°F" not in folded, (
        "the weather's mean is no difference, and the shell's units are metric"
    )
