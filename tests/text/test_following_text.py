"""The follow command: its text, its JSON and its file, and what it says to a log that cannot be used."""

import json

import followed_ponds as ponds
import pandas as pd
import pytest

from pondheat import cli
from pondheat.core.display_units import METRIC
from pondheat.core.places import DATA
from pondheat.fish import cautions
from pondheat.sheet import pond_sheet
from pondheat.text import following_text

WATER = ponds.water(ponds.TRUTH)


@pytest.fixture(scope="module")
def found():
    return ponds.follow(ponds.log_text(WATER))


@pytest.fixture
def folder(tmp_path, monkeypatch):
    """A keeper's folder: the sheet, the weather of the log's days, and the log."""
    monkeypatch.chdir(tmp_path)
    hours = ponds.record().hours
    table = pd.DataFrame(
        {
            "time": hours.index.tz_convert("UTC").strftime("%Y-%m-%dT%H:%MZ"),
            "air_temp [°C]": hours["air_temp"],
            "rel_humidity [%]": 100 * hours["rel_humidity"],
            "wind_speed [m/s at 10 m]": hours["wind_speed"],
            "solar [W/m²]": hours["solar"],
            "cloud_cover [%]": 100 * hours["cloud_cover"],
            "sky_long_wave [W/m²]": hours["sky_long_wave"],
        }
    )
    table.to_csv("days.csv", index=False)
    (tmp_path / "pond.toml").write_text(ponds.SHEET, encoding="utf-8")
    (tmp_path / "log.csv").write_text(ponds.log_text(WATER), encoding="utf-8")
    return tmp_path


def shell(capsys, *arguments: str) -> tuple[int, str, str]:
    """Exit code, standard output and standard error of a command."""
    try:
        code = cli.main(["follow", *arguments])
    except SystemExit as stopped:
        code = stopped.code
    return (code, *capsys.readouterr())


def test_the_text_begins_with_the_verdict_and_ends_with_the_caution(capsys, folder):
    code, text, said = shell(capsys, "log.csv", "--sheet", "pond.toml", "--weather", "days.csv")
    assert (code, said) == (0, "")
    assert text.startswith("Good: the model follows your water well enough")
    assert " ".join(text.split()).endswith(cautions.STANDING)
    for heading in ("How well", "What the log shows", "What to know", "How the log was read", "Weather"):
        assert f"\n{heading}" in text
    assert max(map(len, text.splitlines())) <= 100
    assert "These limits are our judgement" in " ".join(text.split())
    assert "May 2025" in text and "by night" in text and "wind_shelter = 0." in text


def test_json_and_hours(capsys, folder):
    code, text, _ = shell(
        capsys, "log.csv", "--sheet", "pond.toml", "--weather", "days.csv", "--json", "--hours", "h.csv"
    )
    told = json.loads(text)
    assert code == 0 and told["verdict"]["level"] == "good" and told["verdict"]["with_learned_values"]
    hours = pd.read_csv("h.csv")
    assert list(hours.columns) == ["time", "measured", "computed", "error", "scored"] and len(hours) == len(WATER)
    scored = hours[hours["scored"] == 1]
    assert told["score"]["bias"] == pytest.approx(scored["error"].mean(), abs=1e-3)
    assert told["score"]["rmse"] == pytest.approx((scored["error"] ** 2).mean() ** 0.5, abs=1e-3)
    assert told["score"]["count"] == len(scored)
    assert {one["name"]: one["key"] for one in told["learned"]["values"]} == {
        "wind": "place.wind_shelter",
        "sky": "place.sky_view",
        "sun": "place.shade",
        "volume": "pond.volume",
        "surface": None,
    }


def test_what_is_to_be_written_is_a_sheet_and_helps(found):
    """The printed lines, put into the sheet, give the error that was promised or less."""
    keys = [line for line in following_text.to_write(found) if "=" in line]
    written = dict(line.split(" = ") for line in keys)
    lines = [
        f"{name} = {written[name]}" if (name := line.split(" = ")[0]) in written else line
        for line in ponds.SHEET.splitlines()
    ]
    assert lines != ponds.SHEET.splitlines()
    again = ponds.following.follow(pond_sheet.from_text("\n".join(lines)), found.log, ponds.record())
    assert again.whole.rmse < 0.5 * found.whole.rmse


@pytest.mark.parametrize(
    "bias, rmse, r_squared, said",
    [
        (0.31, 0.78, 0.988, "is 0.3 °C too warm; typically it is within 0.8 °C of it"),
        (-1.26, 1.5, -3.0, "is 1.3 °C too cold; typically it is within 1.5 °C of it"),
        (0.04, 0.2, 0.99, "is as warm as the measured; typically it is within 0.2 °C of it"),
    ],
)
def test_scores_in_words(found, bias, rmse, r_squared, said):
    score = type(found.whole)(bias, rmse, r_squared, 2000)
    text = METRIC.with_alt_units(following_text.score_text(ponds.replace(found, whole=score)))
    assert f"On average the computed water {said}" in text
    assert ("accounts for none of the ups and downs" if r_squared < 0 else "accounts for 99 % of the") in text


def test_a_log_where_nothing_is_learned(capsys, folder):
    (folder / "log.csv").write_text(ponds.log_text(WATER[: 24 * 10]), encoding="utf-8")
    code, text, _ = shell(capsys, "log.csv", "--sheet", "pond.toml", "--weather", "days.csv")
    assert code == 0 and text.startswith("Not yet:") and "Nothing was learned: that takes 14 days" in text
    code, text, _ = shell(capsys, "log.csv", "--sheet", "pond.toml", "--weather", "days.csv", "--json")
    assert json.loads(text)["learned"] is None


@pytest.mark.parametrize(
    "arguments, said",
    [
        (("log.csv",), "--sheet"),
        (("none.csv", "--sheet", "pond.toml"), "none.csv: no such file"),
        (("log.csv", "--sheet", "none.toml"), "none.toml"),
        (("log.csv", "--sheet", "pond.toml", "--weather", "none.csv"), "none.csv"),
        (("log.csv", "--sheet", "pond.toml", "--unit", "R"), "not a temperature unit"),
        (("log.csv", "--sheet", "pond.toml", "--temp-column", "probe"), "no column of numbers “probe”"),
        (("log.csv", "--sheet", "pond.toml", "--clock", "utc", "--clock", "local"), "--clock is given more than once"),
        (("log.csv", "--sheet", "pond.toml", "--hours", "log.csv"), "would be written over"),
        (("log.csv", "--sheet", "pond.toml", "--weather", "week.csv"), "no day is in both"),
        (("days.csv", "--sheet", "pond.toml"), "--temp-column"),
    ],
)
def test_refusals_are_sentences(capsys, folder, arguments, said):
    week = next((DATA / "weather").glob("sollerwick*.csv"))
    (folder / "week.csv").write_bytes(week.read_bytes())
    (folder / "pond.toml").write_text(
        ponds.SHEET.replace("[place]", "[place]\nlatitude = 51.5\nlongitude = -1.0"), encoding="utf-8"
    )
    code, text, error = shell(capsys, *arguments)
    assert code == 2 and text == "" and said in error and "Traceback" not in error


def test_a_log_without_weather_of_its_days_is_for_trying(capsys, folder):
    code, text, _ = shell(capsys, "log.csv", "--sheet", "pond.toml")
    assert code == 0 and text.startswith("Not yet:") and "typical year's" in text
