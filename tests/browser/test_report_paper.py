"""The decision sheet on paper and on screens: one sheet of A4 or Letter, no request to any server, no script."""

import re
from pathlib import Path

import kit
import pytest

from pondheat.analysis import assessment, power_cut
from pondheat.analysis.scenarios import what_if
from pondheat.core.number_format import unbroken
from pondheat.core.places import PONDS
from pondheat.meter.reading import meter_file
from pondheat.sheet import pond_sheet
from pondheat.show.report.decision_sheet import report

GARDEN = (PONDS / "garden_pond.toml").read_text(encoding="utf-8")
LONG = "The old koi pond behind the greenhouse at number fourteen, north side " * 3
NO_HEAT = {"pond.set_point": None, "heater": None}
CASES = {
    "garden": {},
    "long names": {
        "name": LONG,
        "tariff.name": LONG,
        "tariff.window": [
            {
                "name": f"{part} {LONG}",
                "rate": f"{12 + part} p/kWh",
                "start": f"{4 * part:02d}:00",
                "end": f"{4 * part + 4:02d}:00",
            }
            for part in range(5)
        ],
        "assumed": ["cover.u_value", "cover.gap", "place.wind_shelter", "place.sky_view", "pump.power"],
    },
    "all at once": {
        "name": LONG,
        "tariff": {
            "name": LONG,
            "otherwise": "31.55 p/kWh",
            "standing_charge": "53 p/day",
            "tax": "5 %",
            "tax_included": False,
            "window": [
                {
                    "name": f"{part} {LONG}",
                    "rate": f"{12 + part} p/kWh",
                    "start": f"{4 * part:02d}:00",
                    "end": f"{4 * part + 4:02d}:00",
                }
                for part in range(5)
            ],
        },
        "assumed": ["cover.u_value", "cover.gap", "place.wind_shelter", "place.sky_view", "pump.power"],
        "filter": None,
        "aeration": None,
        "water": None,
        "base": None,
        "place": {"wind_shelter": 0.5},
        "pond.ceiling": "22 °C",
        "heater": {"kind": "heat pump", "power": "2 kW", "backup": "1 kW"},
        "cover.except": ["2025-12-24", "2025-12-25", "2025-12-31"],
        "pond.set_point": {"1 Sep": "18 °C", "1 Nov": "15 °C", "1 Dec": "12 °C", "1 Mar": "15 °C", "1 Apr": "18 °C"},
    },
    "no cover": {"cover": None},
    "no heat": NO_HEAT,
    "no tariff": {"tariff": None},
    "heat pump by date": {
        "heater.kind": "heat pump",
        "heater.power": "9 kW",
        "pond.set_point": {"1 Sep": "18 °C", "1 Dec": "12 °C", "1 Mar": "16 °C"},
    },
}


CASES |= {f"{name}, learned": CASES[name] for name in ("garden", "long names", "all at once")}
# In the usual run are the sheet as most will have it and the fullest; all others are in the long one.
USUAL = ("garden", "all at once, learned")
SHIPPED = ("my_first_sheet", "growing_on_tank")
SPARE = "3mm"  # at the foot of the shorter paper, about a line


@pytest.fixture(scope="module")
def sheet_file(tmp_path_factory):
    """Gives the decision sheet of a case, or of a shipped pond, as a file; it is written when first asked for."""
    folder = tmp_path_factory.mktemp("reports")

    def give(name: str) -> Path:
        path = folder / f"{name}.html"
        if not path.exists():
            path.write_text(sheet_of_case(name) if name in CASES else sheet_of_pond(name), encoding="utf-8")
        return path

    return give


def sheet_of_case(name: str) -> str:
    """The garden pond's sheet with a case's changes."""
    pond = pond_sheet.from_text(pond_sheet.with_values(GARDEN, CASES[name]), PONDS)
    # A heat pump draws about as much as this share of what an electric heater does.
    log = meter_file.read(PONDS.parent / "readings" / "garden_pond_open.csv", "Europe/London").use
    if pond.heater.kind == "heat pump":
        log = log.assign(kwh=0.3 * log["kwh"])
    fitted = assessment.learn(pond, log) if name.endswith("learned") else None
    found = assessment.assess(pond, scenarios=30, fitted=fitted)
    cuts = [
        power_cut.power_cut(pond, found.weather, start="2026-01-15 18:00", covered=covered, fish_kg=25.0)
        for covered in ([True] if pond.pond.cover else []) + [False]
    ]
    keys = None if name == "garden" else ["no_heat", "hold_15", "insulated_lid"]
    return report(pond, found, what_if=what_if.what_if(pond, found.weather, keys), power_cut=cuts, fish_kg=25.0)


def sheet_of_pond(name: str) -> str:
    """A shipped pond's sheet."""
    pond = pond_sheet.read(PONDS / f"{name}.toml")
    return report(pond, assessment.assess(pond, scenarios=20))


@pytest.mark.parametrize(
    "name",
    [
        pytest.param(name, marks=() if name in USUAL else pytest.mark.long)
        for name in (*CASES, "my_first_sheet", "growing_on_tank")
    ],
)
def test_fits_on_paper_and_on_screens(paper, sheet_file, name):
    """One sheet of A4 and of Letter, in type that can be read, nothing cut at any width, nothing to scroll sideways."""
    paper.goto(sheet_file(name).as_uri())
    told = paper.locator("main").inner_text()
    assert unbroken(told) == told, "a line's end may part a number from its unit"
    assert {size: kit.sheets(paper.pdf(format=size)) for size in ("A4", "Letter")} == {"A4": 1, "Letter": 1}
    paper.add_style_tag(content=f"@media print {{ main {{ padding-bottom: {SPARE} }} }}")
    assert kit.sheets(paper.pdf(format="Letter")) == 1, "room to spare, for letters a little wider than here"
    paper.get_by_role("checkbox").check()
    assert kit.sheets(paper.pdf(format="A4")) > 2, "the appendix is printed when it is ticked"
    paper.get_by_role("checkbox").uncheck()
    for width in (1280, 800, 640, 400):  # 640 is 1280 at 200 %
        paper.set_viewport_size({"width": width, "height": 900})
        assert paper.evaluate("document.documentElement.scrollWidth <= innerWidth"), width
        wide = paper.evaluate(kit.CUT.replace('"body *"', '"main *"'))
        assert [one for one in wide if "hatches" not in one and "caption" not in one] == [], width
    paper.emulate_media(media="print")
    paper.set_viewport_size({"width": 718, "height": 900})  # A4 between its margins
    assert paper.evaluate("""() => [...document.querySelectorAll(".pair section")]
      .every(part => part.scrollWidth <= part.clientWidth + 1)"""), "one table runs over the other"
    smallest = paper.evaluate("""() => Math.min(
      ...[...document.querySelectorAll("main :is(p, td, th, h1, h2, a, time, bdi)")]
        .map(node => parseFloat(getComputedStyle(node).fontSize)))""")
    assert smallest >= 9.5 * 96 / 72 - 0.01


def test_it_loads_nothing_else(paper, sheet_file):
    asked = []
    paper.on("request", lambda request: asked.append(request.url))
    paper.goto(sheet_file("garden").as_uri())
    paper.wait_for_timeout(300)
    assert asked == [sheet_file("garden").as_uri()]


def test_a_number_leads_to_its_arithmetic_and_back(paper, sheet_file):
    paper.goto(sheet_file("garden").as_uri())
    number = paper.locator("main a.number").nth(3)
    key = number.get_attribute("data-trace")
    number.press("Enter")
    assert paper.url.endswith(f"#{key}") and paper.locator(f"#{key}").is_visible()
    paper.locator(f"#{key} a", has_text="Back to the number").press("Enter")
    assert re.search(r"#n-", paper.url)


def test_each_heat_loss_has_its_own_hatching(paper, sheet_file):
    paper.goto(sheet_file("garden").as_uri())
    fills = paper.evaluate("[...document.querySelectorAll('.bar rect')].map(node => node.getAttribute('fill'))")
    assert len(set(fills)) == 5 and all(fill.startswith("url(#hatch-") for fill in fills)
    lines = paper.evaluate(
        "[...document.querySelectorAll('.hatches pattern path')].map(node => node.getAttribute('d'))"
    )
    assert len(set(lines)) == 5


def test_all_bars_have_one_scale(paper, sheet_file):
    """The drawn lengths, measured on paper and on screens, are in proportion to the numbers beside them."""
    paper.goto(sheet_file("garden").as_uri())
    for media, width in (("print", 718), ("screen", 1280), ("screen", 400)):
        paper.emulate_media(media=media)
        paper.set_viewport_size({"width": width, "height": 900})
        drawn = paper.evaluate("""() => [...document.querySelectorAll(".barred")].map(cell => [
          cell.querySelector("rect").getBoundingClientRect().width,
          parseFloat(cell.querySelector("a.number").textContent.replace(/,/g, ""))])""")
        assert len(drawn) == 10
        scale = max(length for length, _ in drawn) / max(kwh for _, kwh in drawn)
        for length, kwh in drawn:
            assert length == pytest.approx(scale * kwh, abs=0.6), (media, width, length, kwh)
    paper.emulate_media(media="screen")


@pytest.mark.long
@pytest.mark.parametrize("name", ["garden", "no heat"])
def test_no_barrier(paper, sheet_file, name):
    from axe_playwright_python.base import AXE_SCRIPT

    paper.goto(sheet_file(name).as_uri())
    paper.evaluate(AXE_SCRIPT)
    found = paper.evaluate("axe.run(document, {resultTypes: ['violations']})")
    assert [
        f"{rule['id']}: {node['html'][:150]}"
        for rule in found["violations"]
        if rule["impact"] in ("serious", "critical")
        for node in rule["nodes"]
    ] == []


def test_hostile_text_does_not_run(profile, tmp_path):
    hostile = (
        "<script>document.title='run'</script><img src=x onerror=\"document.title='run'\">" + "\u202e" + "y" * 9000
    )
    pond = pond_sheet.from_text(pond_sheet.with_values(GARDEN, {"name": hostile, "tariff.name": hostile}), PONDS)
    path = tmp_path / "hostile.html"
    path.write_text(report(pond, assessment.assess(pond, scenarios=0)), encoding="utf-8")
    page = profile.new_page()
    page.goto(path.as_uri())
    page.wait_for_timeout(300)
    assert page.title() != "run" and page.locator("script, img").count() == 0
    assert kit.sheets(page.pdf(format="A4")) == 1
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    page.close()
