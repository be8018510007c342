"""The interface for Python users: what `import pondheat` gives, and results as numbers, text and a notebook table."""

import ast
import html.parser
import subprocess
import sys

import pytest

import pondheat
from pondheat.analysis.results import Assessment
from pondheat.core import units
from pondheat.core.places import CLONE, PONDS
from pondheat.season.simulate import COLUMNS
from pondheat.sheet.pond_sheet import Sheet, SheetError, with_values
from pondheat.text import summary

GARDEN = (PONDS / "garden_pond.toml").read_text(encoding="utf-8")
SIX_WEEKS = {"season": {"start": "2025-11-03", "end": "2025-12-14"}}


def read(tmp_path, changes: dict | None = None) -> Sheet:
    path = tmp_path / "pond.toml"
    path.write_text(with_values(GARDEN, SIX_WEEKS | (changes or {})), encoding="utf-8")
    return pondheat.read_sheet(path)


@pytest.fixture(scope="module")
def results(tmp_path_factory):
    """Six weeks of the garden pond with a small Monte Carlo run."""
    return pondheat.assess(read(tmp_path_factory.mktemp("sheet")), scenarios=20)


class Cells(html.parser.HTMLParser):
    """Collects the text of every table cell, and all tags that were opened and not closed."""

    def __init__(self, text: str):
        super().__init__()
        self.cells, self.open = [], []
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        self.open.append(tag)
        if tag in ("td", "th"):
            self.cells.append("")

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_data(self, data):
        if self.open and self.open[-1] in ("td", "th"):
            self.cells[-1] += data


def test_importing_the_package_loads_no_library():
    code = (
        "import sys, pondheat\n"
        "assert pondheat.__version__ and 'assess' in dir(pondheat)\n"
        "heavy = {'numpy', 'pandas', 'scipy', 'pint', 'ipywidgets'} & set(sys.modules)\n"
        "assert not heavy, heavy\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, encoding="utf-8", timeout=60)
    assert done.returncode == 0, done.stderr


def test_the_public_names_are_there():
    assert all(getattr(pondheat, name) for name in pondheat.__all__)
    with pytest.raises(AttributeError, match="no attribute 'asess'"):
        getattr(pondheat, "asess")  # noqa: B009
    face = ast.parse((CLONE / "pondheat" / "__init__.py").read_text(encoding="utf-8"))
    typed = [alias.name for node in ast.walk(face) if isinstance(node, ast.ImportFrom) for alias in node.names]
    assert set(pondheat.__all__) - {"__version__"} <= set(typed)  # what type checkers see is what can be had


def test_a_sheet_with_mistakes_is_refused(tmp_path):
    path = tmp_path / "wrong.toml"
    path.write_text('timezone = "Europe/London"\n[pond]\nsurface_area = "10 m"\n', encoding="utf-8")
    with pytest.raises(SheetError, match="surface_area"):
        pondheat.read_sheet(path)


def test_hours_and_summary_are_those_of_the_command_line(results):
    assert isinstance(results, Assessment)
    assert results.hours is results.covered.hours and set(COLUMNS) == set(results.hours.columns)
    assert results.summary() == summary.season_text(results)
    assert results.as_dict()["covered"]["heat_kwh"] == pytest.approx(results.hours["heater"].sum() / 1000)


def test_weather_by_name_path_and_record(results, tmp_path, monkeypatch):
    sheet = read(tmp_path)
    assert pondheat.assess(sheet, "potsdam", scenarios=0).open.heat_kwh == results.open.heat_kwh
    colder = pondheat.assess(sheet, "hof", scenarios=0)
    assert colder.weather.place == "Hof" and colder.open.heat_kwh > results.open.heat_kwh
    again = pondheat.assess(sheet, colder.weather, scenarios=0)
    assert again.open.heat_kwh == colder.open.heat_kwh
    invented = pondheat.assess(sheet, "sollerwick", scenarios=0)
    assert any("daily means vary by 3 K," in note for note in invented.notes)
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    rows = [
        f"{stamp:%Y-%m-%d %H:%M},{row.air_temp:.3f},{100 * row.rel_humidity:.2f},{row.wind_speed:.3f},{row.solar:.2f},"
        f"{100 * row.cloud_cover:.2f}"
        for stamp, row in colder.weather.hours["2025-11-03":"2025-12-14"].iterrows()
    ]
    head = "time,air_temp [°C],rel_humidity [%],wind_speed [m/s at 10 m],solar [W/m²],cloud_cover [%]"
    (elsewhere / "mine.csv").write_text("\n".join((head, *rows)), encoding="utf-8")
    monkeypatch.chdir(elsewhere)  # a path is seen from here, not from the sheet
    mine = pondheat.assess(sheet, "mine.csv", scenarios=0)
    assert mine.weather.place == "mine.csv" and mine.open.heat_kwh > results.open.heat_kwh


def test_a_sheet_may_be_given_by_its_path(results, tmp_path):
    read(tmp_path)
    assert pondheat.assess(tmp_path / "pond.toml", scenarios=0).open.heat_kwh == results.open.heat_kwh
    with pytest.raises(SheetError, match="no such file"):
        pondheat.assess("nowhere.toml")


def test_the_notebook_table_has_the_headline_first_and_the_numbers(results):
    text = results._repr_html_()
    assert text.startswith("<p><b>The cover saves ") and "<script" not in text and "ipywidgets" not in text
    table = Cells(text)
    assert table.open == []  # every tag is closed
    rows = [table.cells[at : at + 5] for at in range(0, len(table.cells), 5)]
    assert [row[0] for row in rows] == ["", "heat, kWh", "electricity, kWh", "money"]
    assert rows[0][1:] == ["open", "covered", "saved by the cover", "likely saving"]
    money = [units.money(value, units.GBP) for value in (results.open.money, results.covered.money)]
    likely = results.uncertainty.saving_money
    assert rows[3][1:4] == [*money, units.money(results.saving.total, units.GBP)]
    assert rows[3][4] == f"{units.money(likely.low, units.GBP)} to {units.money(likely.high, units.GBP)}"
    assert "The cover saves about" in repr(results)


def test_the_notebook_table_without_cover_tariff_or_runs(tmp_path):
    bare = pondheat.assess(read(tmp_path, {"cover": None, "tariff": None, "name": "A <b>pond</b>"}), scenarios=0)
    text = bare._repr_html_()
    assert text.startswith("<p><b>The open pond takes about ") and "money" not in text and "A &lt;b&gt;pond" in text
    table = Cells(text)
    assert table.cells[:3] == ["", "open", "likely"] and table.cells[3] == "heat, kWh" and table.cells[-1] == ""


def test_a_cover_that_takes_more_is_not_called_a_saving(tmp_path):
    worse = {
        "season": {"start": "2025-06-01", "end": "2025-06-30"},
        "pond.set_point": "19 °C",
        "cover": {"kind": "insulated lid", "u_value": "2 W/m²K", "on": "09:00", "off": "17:00"},
    }
    found = pondheat.assess(read(tmp_path, worse), scenarios=0)
    assert (
        found.saving_kwh < 0 and "saves nothing: it costs about" in repr(found) and "saves −" not in found._repr_html_()
    )
