"""Quantities are marked where a sentence is made, and shown without the marks wherever it is printed."""

import html
import re
from types import SimpleNamespace

import followed_ponds
import pytest

from pondheat import cli
from pondheat.analysis import assessment, power_cut
from pondheat.analysis.scenarios import what_if
from pondheat.analysis.scenarios.choices import CHOICES
from pondheat.analysis.uncertain_inputs import UNCERTAIN_INPUTS
from pondheat.cli.terminal import json_text
from pondheat.core import display_units, units
from pondheat.core.display_units import METRIC, DisplayUnits
from pondheat.core.places import CLONE, PONDS
from pondheat.fish.cautions import CAUTIONS
from pondheat.sheet import pond_sheet
from pondheat.show.panels import checking_bench, fish_first, heaters, start_here, your_pond_result
from pondheat.show.panels import power_cut as power_cut_panel
from pondheat.show.report.decision_sheet import report
from pondheat.text import following_text, limitations, season_results, summary, what_if_text
from pondheat.text.pond_answer import pond_answer
from pondheat.text.power_cut_text import power_cut_text

AMERICAN = DisplayUnits(units.currency_of("USD"), True, "US gallons")
_UNIT = r"[ \u00a0](?:°C|m³|K|L|litres?)"
MARK = re.compile(r"\[(?:[^\[\]]*\d[^\[\]]*|[Oo]ne)[ \u00a0](?:°C|K|m³|L|litres?|degree)(?:<[^>]*>)*\]")
# a quantity without its preferred unit; of a range written with one unit, the preferred one follows the second number
BARE = re.compile(rf"\d{_UNIT}(?![\w·/])(?!</a>)(?!\s+\([^()]*(?:°F|gallons)\))")
GARDEN = (PONDS / "garden_pond.toml").read_text(encoding="utf-8")
CASES = {
    "covered and heated": {},
    "unheated and shallow": {"pond.set_point": None, "heater": None, "cover": None, "pond.volume": "2 m³"},
    "too weak a heat pump": {"heater": {"kind": "heat pump", "power": "2 kW"}},
    "too hot": {"pond.ceiling": "20 °C", "cover.on": None, "cover.off": None},
    "too cold, by date": {"pond.set_point": {"1 Sep": "12 °C", "1 Dec": "9 °C"}, "pond.floor": "10 °C"},
    "high up": {"place.altitude": "900 m"},
}


def plainly(text: str) -> str:
    """A text, plain or HTML, on one line and without style sheets and hidden data."""
    text = re.sub(r"<(style|svg)[ >].*?</\1>", " ", text, flags=re.S)
    return " ".join(html.unescape(re.sub(r"<(?!/a>)[^<>]*>", "", text)).replace("\u00a0", " ").split())


@pytest.fixture(scope="module", params=CASES)
def made(request):
    """A pond with everything that is worked out for it."""
    pond = pond_sheet.from_text(pond_sheet.with_values(GARDEN, CASES[request.param]), PONDS)
    found = assessment.assess(pond, scenarios=8)
    table = what_if.what_if(pond, found.weather, room_temp=12.0)
    cut = power_cut.power_cut(
        pond, found.weather, start="2026-01-10 18:00", covered=pond.pond.cover is not None, fish_kg=9
    )
    return SimpleNamespace(pond=pond, found=found, table=table, cut=cut, answer=pond_answer(found, table))


@pytest.mark.parametrize("usual", [METRIC, AMERICAN], ids=["metric", "American"])
def test_texts_about_a_pond(made, usual):
    season = summary.season_text(made.found, usual, made.table)
    choices = what_if_text.table_text(made.table, usual=usual)
    sheet = report(made.pond, made.found, what_if=made.table, power_cut=made.cut, fish_kg=9, usual=usual)
    first, appendix = sheet.split('id="appendix"')
    cut = [usual.with_alt_units(line) for line in power_cut_text(made.cut)]
    for said in (season, choices, first, appendix, *cut):
        assert not MARK.search(plainly(said)), MARK.search(plainly(said))
    assert all(("°F" in said) == (usual is AMERICAN) for said in (season, choices, first))
    for said in (season, choices, first, *cut):
        assert usual is METRIC or not BARE.search(plainly(said)), BARE.search(plainly(said))


@pytest.mark.parametrize("line", ["", AMERICAN.line()], ids=["metric", "American"])
def test_what_the_page_of_the_readers_own_pond_shows(made, line, tmp_path, monkeypatch):
    display_units.keep(line, tmp_path)
    monkeypatch.chdir(tmp_path)
    parts = [getattr(your_pond_result, f"{name}_html")(made.answer) for name in ("headline", "answer", "sure")]
    parts += [your_pond_result.result_html(made.found, made.table, made.answer)]
    parts += [next(your_pond_result.choice_ranges(made.table, lambda: False))]
    for said in map(plainly, parts):
        assert not MARK.search(said), MARK.search(said)
        assert not line or not BARE.search(said), BARE.search(said)


def test_what_python_users_see(made):
    results = season_results.SeasonResults(**vars(made.found))
    for said in (repr(results), results._repr_html_(), results.summary(), str(results.as_dict())):
        assert not MARK.search(plainly(said)), MARK.search(plainly(said))


@pytest.mark.parametrize("as_json", [[], ["--json"]], ids=["text", "JSON"])
@pytest.mark.parametrize(
    "command",
    [
        ["season", "data/ponds/garden_pond.toml", "--meter", "data/readings/garden_pond_open.csv"],
        [
            "compare",
            "data/readings/garden_pond_open.csv",
            "data/readings/garden_pond_covered_one_forgotten.csv",
            "--sheet=data/ponds/garden_pond.toml",
        ],
        ["read", "data/weather/sollerwick.toml", "data/readings/garden_pond_counter.csv"],
    ],
    ids=lambda command: command[0],
)
def test_commands(command, as_json, monkeypatch, capsys):
    monkeypatch.chdir(CLONE)
    assert cli.main([*command, *as_json]) == 0
    told = capsys.readouterr()
    said = plainly(f"{told.out} {told.err}")
    assert "°C" in said and not MARK.search(said), MARK.search(said)


def test_a_pond_that_is_followed_by_a_thermometer():
    warmer = followed_ponds.water(followed_ponds.TRUTH) + 9
    found = followed_ponds.follow(followed_ponds.log_text(warmer))
    assert "[Δ" in following_text.score_text(found) and any("[Δ" in one for one in found.verdict.reasons)
    for said in (following_text.following_text(found), json_text(following_text.as_dict(found))):
        assert "°C" in said and "Δ" not in said and not MARK.search(plainly(said)), MARK.search(plainly(said))


def _shown(monkeypatch, *functions) -> list[str]:
    """What functions that show tables and paragraphs below a cell show there."""
    shown: list[str] = []
    monkeypatch.setattr("pondheat.show.tables.display", lambda one: shown.extend((repr(one), one._repr_html_())))
    for show in functions:
        show()
    return shown


@pytest.mark.parametrize("line", ["", AMERICAN.line()], ids=["metric", "American"])
def test_panels_and_paragraphs_of_pages(line, tmp_path, monkeypatch):
    display_units.keep(line, tmp_path)
    monkeypatch.chdir(tmp_path)
    shown = _shown(monkeypatch, checking_bench.print_left_out, checking_bench.print_measured, heaters.print_cautions)
    power_fails = power_cut_panel.panel()
    power_fails._move(
        {**{name: one.value for name, one in power_fails.controls.items()}, "fish": "9 kg", "lid_air_height": 0.3}
    )
    shown += [power_fails.words.value, fish_first.by_source().words.value]
    shown += [text for _, text in start_here.four_ponds().controls["guess"].options]
    for said in map(plainly, shown):
        assert not MARK.search(said), MARK.search(said)
        assert not line or not BARE.search(said), BARE.search(said)


def test_fixed_sentences_mark_every_quantity():
    texts = [caution.text for caution in CAUTIONS.values()]
    texts += [size for _, size in limitations.LEFT_OUT] + [far for _, far, _ in limitations.MEASURED]
    texts += [choice.words for choice in CHOICES.values()]
    texts += [f"{one.spread} {one.guessed} {one.how}" for one in UNCERTAIN_INPUTS.values()]
    for text in texts:
        assert not MARK.search(METRIC.with_alt_units(text)), text
        assert not BARE.search(AMERICAN.with_alt_units(text)), text


def test_no_page_or_note_of_the_workbook_has_a_mark():
    for path in sorted([*CLONE.glob("workbook/**/*.md"), *CLONE.glob("workbook/*.ipynb"), CLONE / "README.md"]):
        said = path.read_text(encoding="utf-8")
        assert not MARK.search(said), (path.name, MARK.search(said))


def test_what_a_reader_typed_is_quoted_and_the_limits_have_both_units(tmp_path, monkeypatch):
    sheet = GARDEN.replace('set_point = "18 °C"', 'set_point = "90 °C"')
    with pytest.raises(pond_sheet.SheetError, match="held between 1 and 35 °C; did you mean 90 °F"):
        pond_sheet.from_text(sheet, PONDS)
    display_units.keep(AMERICAN.line(), tmp_path)
    monkeypatch.chdir(tmp_path)
    with pytest.raises(pond_sheet.SheetError, match=r"“90 °C” can't be right: .* 1 and 35 °C \(34 and 95 °F\)"):
        pond_sheet.from_text(sheet, PONDS)
