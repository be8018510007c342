"""A town's weather from the shell: with the net (a local stand-in), with what was fetched before, and with neither."""

import html
import io
import json
import re
import shutil

import pytest

from pondheat import cli
from pondheat.core.places import CLONE
from pondheat.season.weather import stored, town_weather, towns
from pondheat.sheet.pond_sheet import from_text, with_values

READINGS = CLONE / "data" / "readings"
DAYS = {"season": {"start": "2025-11-03", "end": "2025-11-09"}, "pond.start_temp": "12 °C"}  # no days before them


@pytest.fixture
def sheet(tmp_path):
    """The garden pond for one week, without weather of its own."""
    text = (CLONE / "data" / "ponds" / "garden_pond.toml").read_text(encoding="utf-8")
    path = tmp_path / "pond.toml"
    path.write_text(with_values(text, DAYS), encoding="utf-8")
    for name in ("open", "covered_one_forgotten"):
        shutil.copy(READINGS / f"garden_pond_{name}.csv", tmp_path)
    return path


@pytest.fixture
def shell(capsys, monkeypatch, few_runs):
    """Runs a command; returns its exit code, standard output and standard error."""
    monkeypatch.setattr("pondheat.season.weather.fetching.DEADLINE", 5.0)

    def run(*arguments) -> tuple[int, str, str]:
        capsys.readouterr()
        code = cli.main([str(one) for one in arguments])
        return code, *capsys.readouterr()

    return run


def test_a_season_with_the_net_then_from_what_was_fetched(services, shell, sheet):
    code, out, said = shell("season", sheet, "--place", "leeds, gb", "--fetch", "--json")
    assert code == 0 and len(services.requests) == 1
    for part in ("PVGIS", "53.8", "-1.6", "Licence", "Fetched a typical year"):
        assert part in said, part
    found = json.loads(out)
    assert "PVGIS" in json.dumps(found, ensure_ascii=False) and "Leeds, England, GB" in out
    services.how = "error"
    code, again, said = shell("season", sheet, "--place", "Leeds, GB", "--json")
    assert (code, again, said) == (0, out, "") and len(services.requests) == 1


def test_a_season_with_neither_names_the_place_used_instead(services, shell, sheet):
    code, out, said = shell("season", sheet, "--place", "Leeds, GB")
    assert code == 0 and services.requests == []
    assert "To agree, add --fetch" in said and "Licence" in said
    flat = " ".join(out.split())
    assert "has not been fetched yet. The nearest built-in place is used instead: Sollerwick" in flat
    beside = "This isn't the weather of Leeds, England, GB, which has not been fetched, but that of Sollerwick"
    assert 0 < flat.index(beside) < flat.index("How sure"), "beside the result, not only in the notes"
    assert "km away, so take the amounts as a rough guess." in flat
    near = town_weather.read(towns.find("Berlin, DE"), timezone="Europe/Berlin", year=2025).stand_in
    assert "but that of Potsdam" in near and near.endswith(" km away.")
    page = sheet.with_name("page.html")
    code, out, _ = shell("season", sheet, "--place", "Leeds, GB", "--report", page)
    first = " ".join(page.read_text(encoding="utf-8").partition('id="appendix"')[0].split())
    assert beside in html.unescape(re.sub(r"<[^>]+>", "", first))
    services.how = "error"
    code, out, said = shell("season", sheet, "--place", "Leeds, GB", "--fetch")
    assert code == 0 and "Not fetched: PVGIS" in said and "nearest built-in place" in " ".join(out.split())


@pytest.mark.parametrize("answer, fetched", [("y\n", 1), ("n\n", 0), ("", 0)])
def test_a_reader_at_a_terminal_is_asked(services, shell, monkeypatch, answer, fetched):
    keyboard = io.StringIO(answer)
    keyboard.isatty = lambda: True
    monkeypatch.setattr("sys.stdin", keyboard)
    code, _, said = shell("weather", "--place", "Leeds, GB")
    assert len(services.requests) == fetched and code == (0 if fetched else 2)
    assert said.index("Licence") < said.index("Fetch it? [y/N]")


def test_compare_asks_for_the_very_days_of_the_logs(services, shell, sheet):
    logs = (sheet.parent / "garden_pond_open.csv", sheet.parent / "garden_pond_covered_one_forgotten.csv")
    code, out, said = shell("compare", *logs, "--sheet", sheet, "--place", "Leeds, GB", "--fetch")
    assert code == 0 and "2026-02-02" in said
    query = services.requests[0][2]
    assert query["start"] == "20250105" and services.requests[-1][2]["end"] == "20260202"
    assert "only a trial: the weather" not in " ".join(out.split()) and "NASA" in out
    services.how = "hang"
    code, again, said = shell("compare", *logs, "--sheet", sheet, "--place", "Leeds, GB")
    assert (code, again, said) == (0, out, "")


def test_compare_with_neither_proves_nothing(services, shell, sheet):
    logs = (sheet.parent / "garden_pond_open.csv", sheet.parent / "garden_pond_covered_one_forgotten.csv")
    code, out, _ = shell("compare", *logs, "--sheet", sheet, "--place", "Leeds, GB")
    assert code == 0 and services.requests == []
    assert "only a trial" in " ".join(out.split()) and "nearest built-in place" in " ".join(out.split())


def test_the_town_in_the_sheet(services, shell, sheet):
    text = with_values(sheet.read_text(encoding="utf-8"), {"place": {"town": "Leeds, GB"}, "weather": None})
    sheet.write_text(text, encoding="utf-8")
    code, out, _ = shell("season", sheet, "--fetch")
    assert code == 0 and "Leeds, England, GB" in out and len(services.requests) == 1
    read = from_text(text)
    assert (read.weather, read.latitude, read.longitude) == ("town", 53.8, -1.55)


@pytest.mark.parametrize(
    "place, said",
    [('town = "Newport"', "Newport, Wales, GB"), ('town = "Leads, GB"', "Did you mean “Leeds"), ("town = 5", "5")],
)
def test_a_town_that_is_not_known_is_a_fault_of_the_sheet(shell, sheet, place, said):
    text = sheet.read_text(encoding="utf-8").replace("[place]", f"[place]\n{place}", 1)
    sheet.write_text(text, encoding="utf-8")
    code, _, told = shell("season", sheet)
    assert code == 2 and "place.town" in told and said in told


def test_weather_of_a_town_without_a_town(shell, sheet):
    sheet.write_text(with_values(sheet.read_text(encoding="utf-8"), {"weather": {"source": "town"}}), encoding="utf-8")
    code, _, told = shell("season", sheet)
    assert code == 2 and "[place]" in told and "Leeds, GB" in told


def test_two_sources_at_once_are_refused(shell, sheet):
    code, _, told = shell("season", sheet, "--place", "Leeds, GB", "--weather", "potsdam")
    assert code == 2 and "not both" in told


def test_listing_fetching_and_clearing(services, shell, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    code, out, _ = shell("weather")
    assert code == 0 and "No weather has been fetched yet" in out and "GeoNames" in out
    assert shell("weather", "--place", "Leeds, GB", "--fetch")[0] == 0
    code, out, _ = shell("weather")
    assert "53.8, -1.6: typical year, fetched" in out and "MB" in out
    assert (
        "has been fetched already" in shell("weather", "--place", "Leeds, GB", "--fetch")[1]
        and len(services.requests) == 1
    )
    assert "1 file of fetched weather deleted" in shell("weather", "--clear")[1]
    assert list(stored.files(stored.folders(tmp_path))) == []
