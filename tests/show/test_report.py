"""The decision sheet: every number leads to its arithmetic, no foreign text runs, and its sentences fit the pond."""

import html
import json
import math
import re
import subprocess
import sys
from dataclasses import replace

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from usual_cases import some_of

from pondheat import cli as front
from pondheat.analysis import assessment, power_cut
from pondheat.analysis.results import ROUTE_GROUPS
from pondheat.analysis.scenarios import what_if
from pondheat.core import units
from pondheat.core.display_units import METRIC
from pondheat.core.places import PONDS
from pondheat.core.sources import BIBLIOGRAPHY
from pondheat.fish.cautions import CAUTIONS, REPORT_KEYS, STANDING
from pondheat.meter.reading import meter_file
from pondheat.money import payback
from pondheat.sheet import pond_sheet
from pondheat.show.panels.start_here import grouped
from pondheat.show.report.decision_sheet import report
from pondheat.text.pond_answer import pond_answer

LOG = meter_file.read(PONDS.parent / "readings" / "garden_pond_open.csv", "Europe/London").use
GARDEN = (PONDS / "garden_pond.toml").read_text(encoding="utf-8")
CASES = {
    "garden": {},
    "no cover": {"cover": None},
    "no tariff": {"tariff": None},
    "no heat": {"pond.set_point": None, "heater": None},
    "no heat, no cover": {"pond.set_point": None, "heater": None, "cover": None},
    "no pump, no heat": {"pond.set_point": None, "heater": None, "pump": None},
    "film": {"cover.kind": "film", "cover.u_value": None, "cover.gap": None, "cover.light": None},
    "heat pump": {"heater.kind": "heat pump", "heater.power": "9 kW"},
    "gas": {"heater.kind": "gas", "heater.efficiency": "90 %", "heater.gas_rate": "9 p/kWh"},
    "dear cover": {"cover.price": "£90000"},
    "never pays": {
        "cover.kind": "sheet",
        "cover.u_value": "6 W/m²K",
        "cover.gap": "50 L/s",
        "cover.light": "0 %",
        "cover.on": "10:00",
        "cover.off": "15:00",
        "place.shade": 0.0,
    },
    "dollars": {
        "currency": "USD",
        "cover.price": "$640",
        "tariff.otherwise": "30 ¢/kWh",
        "tariff.standing_charge": "50 ¢/day",
        "tariff.window": [{"name": "night", "rate": "12 ¢/kWh", "start": "00:30", "end": "07:30"}],
    },
    "by date, guesses": {
        "pond.set_point": {"1 Sep": "18 °C", "1 Dec": "12 °C", "1 Mar": "16 °C"},
        "assumed": ["cover.u_value", "place.wind_shelter"],
    },
    "learned": {},
    "learned, no cover": {"cover": None},
    "learned, no tariff": {"tariff": None},
}
SCENARIOS, LEARNED_SCENARIOS = 12, 40  # of 12 runs, P10 and P90 aren't the extremes; 40 set the median apart in print
RARE = (
    "no heat, no cover",
    "no pump, no heat",
    "film",
    "gas",
    "dear cover",
    "learned, no cover",
    "learned, no tariff",
)  # in the long command
cases = pytest.mark.parametrize(
    "name", [pytest.param(name, marks=pytest.mark.long if name in RARE else ()) for name in CASES]
)


def described(**changes) -> pond_sheet.Sheet:
    return pond_sheet.from_text(pond_sheet.with_values(GARDEN, changes), PONDS)


@pytest.fixture(scope="module")
def assessed():
    """A function that gives the assessment of a case, made once."""
    found = {}

    def assess(name):
        if name not in found:
            pond = described(**CASES[name])
            fitted = assessment.learn(pond, LOG) if name.startswith("learned") else None
            count = LEARNED_SCENARIOS if fitted else SCENARIOS
            found[name] = assessment.assess(pond, scenarios=count, fitted=fitted)
        return found[name]

    return assess


@pytest.fixture(scope="module")
def written(assessed):
    """A function that gives the decision sheet of a case, rendered once."""
    sheets = {}

    def write(name):
        if name not in sheets:
            sheets[name] = report(assessed(name).sheet, assessed(name))
        return sheets[name]

    return write


@pytest.fixture(scope="module")
def without_runs():
    """The garden pond and its assessment without Monte Carlo runs."""
    pond = described()
    return pond, assessment.assess(pond, scenarios=0)


def first_page(made: str) -> str:
    """The HTML of the first page."""
    return made.split('<main id="first"')[1].split("</main>")[0].split(">", 1)[1]


def words(part: str) -> str:
    """The text of a piece of HTML, with single blanks."""
    return " ".join(html.unescape(re.sub(r"<[^>]*>", " ", part)).split())


# --- every number can be traced ---


@cases
def test_every_number_on_the_first_page_leads_to_its_arithmetic(name, written):
    made = written(name)
    numbers = re.findall(r'<a class="number" id="([^"]+)" href="#(from-[^"]+)" data-trace="\2">', made)
    assert len(numbers) > 15
    for own, entry in numbers:
        assert made.count(f'id="{entry}"') == 1 and made.count(f'id="{own}"') == 1
    bare = re.sub(r"<(a|time|bdi|code|cite|style|svg)\b.*?</\1>", " ", first_page(made), flags=re.DOTALL)
    bare = re.sub(r"<svg.*?</svg>", " ", bare, flags=re.DOTALL)
    assert not re.findall(r"\S*\d\S*", html.unescape(re.sub(r"<[^>]*>", " ", bare)))


def recomputed(sign: str, parts: list[float]) -> float:
    """The result of a line of arithmetic."""
    first, *others = parts
    for other in others:
        first = {
            "+": first + other,
            "−": first - other,
            "×": first * other,
            "÷": first / other if other > 0 else math.inf,
        }[sign]
    return first


def entries(made: str) -> dict[str, tuple[str, list[tuple[str, list[str]]]]]:
    """By key: what is printed, and the lines of arithmetic as (sign, numbers as printed)."""
    return {
        key: (
            html.unescape(shown),
            [
                (sign, re.findall(r"<data[^>]*>([^<]*)</data>", row))
                for sign, row in re.findall(r'<tr data-sign="([^"]*)">(.*?)</tr>', body, re.DOTALL)
            ],
        )
        for key, shown, body in re.findall(
            r'<section class="entry" id="from-([^"]+)"[^>]*>\s*<h4>[^<]*?: ([^<:]*)</h4>(.*?)</section>',
            made,
            re.DOTALL,
        )
    }


def without_gaps(text: str) -> str:
    """A text without any blanks, which links put where there were none."""
    return re.sub(r"\s", "", text)


def value_of(text: str) -> float:
    return math.inf if text == "never" else float(text.replace("−", "-").replace(",", ""))


@cases
def test_the_steps_end_in_the_printed_number(name, written):
    made = written(name)
    assert len(entries(made)) == made.count('class="entry"')
    for shown, lines in entries(made).values():
        for sign, printed in lines:
            values = [value_of(one) for one in printed]
            if sign:
                assert recomputed(sign, values[:-1]) == pytest.approx(values[-1], rel=1e-6, abs=1e-6), (shown, printed)
        last, found = values[-1], re.search(r"\d[\d,]*(?:\.\d+)?", shown)
        if math.isinf(last):
            assert shown == "never"
            continue
        whole, _, part = found[0].partition(".")
        digits = whole.replace(",", "")
        # three figures as a rule, two for the ends of a band: a whole number's last noughts may be rounding
        noughts = min(len(digits) - len(digits.rstrip("0")), max(len(digits) - 2, 0)) if not part else 0
        assert abs(last) == pytest.approx(value_of(found[0]), abs=0.501 * 10.0 ** (noughts - len(part))), (shown, last)


def test_the_arithmetic_is_that_of_the_assessment(written, assessed):
    """The steps end in the values of the assessment, which the library works out without them."""
    pond, found, made = described(), assessed("garden"), entries(written("garden"))
    # the last step of these rounds the exact value, and that must be the printed one
    rounded = {"saving-money", "saving-kwh", "saving-money-low", "saving-money-high", "cost-covered", "used-covered"}

    def ends(key: str) -> float:
        return value_of(made[key][1][-2 if key in rounded else -1][1][-1])

    expected = {
        "saving-money": found.saving.total,
        "saving-kwh": found.saving_kwh,
        "payback": found.payback_years,
        "money-open": found.open.money,
        "money-covered": found.covered.money,
        "standing": found.open.cost.standing_charge,
        "lost-open": sum(found.open.routes_kwh.values()),
        "gain-covered-heater": found.covered.heat_kwh,
        "gain-open-solar": found.open.solar_kwh,
        "taken-covered": found.covered.electricity_kwh,
        "used-covered": found.covered.electricity_kwh,
        "cost-covered": found.covered.money,
        "saving-money-low": found.uncertainty.saving_money.low,
        "saving-money-high": found.uncertainty.saving_money.high,
        "payback-high": found.uncertainty.payback.high,
        "area": pond.pond.surface_area,
        "volume": pond.pond.volume,
        "money-open-1": found.open.cost.by_rate.money["night"],
        "kwh-covered-1": found.covered.cost.by_rate.kwh["night"],
        "leaves": float(payback.net_present_value(640.0, found.saving.total, 6.0, 0.04)),
    }
    exact_share = value_of(made["saving-share"][1][-2][1][-1])  # the last step is the share as it is printed
    assert exact_share == pytest.approx(100 * found.saving_kwh / found.open.electricity_kwh, rel=1e-7)
    for key, value in expected.items():
        assert ends(key) == pytest.approx(value, rel=1e-7), key
    for key in rounded:
        printed = float(re.sub(r"[^\d.]", "", made[key][0]))
        assert abs(value_of(made[key][1][-1][1][-1])) == printed, key
    ways = grouped(found.covered)
    assert list(ways) == list(ROUTE_GROUPS)
    for place, value in enumerate(ways.values(), 1):
        assert ends(f"heat-covered-{place}") == pytest.approx(value, rel=1e-7)
    # P10 and P90 of twelve runs in order, numbered from 1: 1 + 0.1 × 11 and 1 + 0.9 × 11, rounded
    assert set(re.findall(r"number (\d+) of 12 runs, smallest first", written("garden"))) == {"2", "11"}
    taxed = entries(
        report(untaxed := described(**{"tariff.tax_included": False}), assessment.assess(untaxed, scenarios=0))
    )
    assert value_of(taxed["standing"][1][-1][1][-1]) == pytest.approx(1.05 * 0.50 * 273)  # 273 days at 50 p and 5 %


@cases
def test_sources_are_spelled_out(name, written):
    made = written(name)
    keys = set(re.findall(r'href="#source-([^"]+)"', made))
    assert keys and keys <= set(BIBLIOGRAPHY)
    for key in keys:
        assert f'<li id="source-{key}"' in made


def test_the_appendix_holds_the_sheet_as_given(written):
    (shown,) = re.findall(r"<pre[^>]*>(.*?)</pre>", written("garden"), re.DOTALL)
    assert html.unescape(shown) == pond_sheet.with_values(GARDEN, {})


# --- what it says ---


@cases
def test_the_first_page_has_the_cautions(name, written):
    said = words(first_page(written(name)))
    for text in (STANDING, *(CAUTIONS[key].text for key in REPORT_KEYS)):
        assert " ".join(text.split()) in re.sub(r" (?=[.,)])|(?<=[(]) ", "", said)


@cases
def test_the_answer_is_the_one_of_every_other_place(name, written, assessed):
    """Headline, lines and how sure, word for word; only the choices are not worked out here."""
    said = without_gaps(words(first_page(written(name))))
    answer = pond_answer(assessed(name))
    for text in (answer.headline, answer.beside, *(text for _, text in answer.lines), *answer.sure):
        assert without_gaps(METRIC.with_alt_units(str(text))) in said, text


def test_the_decision_comes_first(written, assessed):
    page = first_page(written("garden"))
    said, answer = without_gaps(words(page)), pond_answer(assessed("garden"))
    assert said.index(without_gaps(str(answer.headline))) < said.index("Whattodowhen")
    assert page.index("headline") < page.index("<svg xmlns") < page.index("What to do when") < page.index("Cautions")


def test_saving_payback_and_what_to_measure(written):
    said = words(first_page(written("garden")))
    for wanted in (
        "The cover saves about £",
        "in the first winter",
        "What could change this",
        "Measure first. Log the heater's meter",
        "Does your insurance cover",
        "What wakes you when the pump stops",
        "Who lifts the cover",
    ):
        assert wanted in said, wanted
    assert "No measured heated or covered pond was found" in said


@pytest.mark.parametrize(
    "name, of_the_meter",
    some_of(
        [("learned", "saving-money"), ("learned, no tariff", "saving-kwh"), ("learned, no cover", "open-money")], 0
    ),
)
def test_a_likely_range_from_a_meter_has_its_own_median(name, of_the_meter, written):
    """The headline is that of the pond as learned; no range of it is joined to a number of the sheet."""
    page = first_page(written(name))
    said = words(page)
    low, middle, high = (
        float(re.sub(r"[^\d.]", "", words(re.search(rf'data-trace="from-{of_the_meter}-{end}">(.*?)</a>', page)[1])))
        for end in ("low", "middle", "high")
    )
    assert low < middle < high
    headline = re.search(r'<p class="headline">(.*?)</p>', page, re.DOTALL)[1]
    assert all(f"from-{of_the_meter}-{end}" in headline for end in ("low", "middle", "high"))
    assert "from your pond's own meter" in said
    assert len(re.findall(r", likely [£\d]", said)) == len(
        re.findall(r"as learned from its own meter [£\d][^,]*, likely", said)
    )


@pytest.mark.parametrize(
    "changes",
    [
        {"pond.set_point": "5 °C", "season": {"start": "2025-06-01", "end": "2025-08-31"}},
        {"tariff": {"rate": "0 p/kWh"}},
    ],
    ids=["no heat is wanted", "a kWh costs nothing"],
)
def test_a_pond_whose_answer_no_unknown_changes(changes):
    pond = described(**changes)
    made = report(pond, assessment.assess(pond, scenarios=12))
    assert (
        "all with the same answer" in made
        and "Measure first" not in made
        and "never to never" not in words(first_page(made))
    )


def test_never_is_said_in_words(written):
    said = words(first_page(written("never pays")))
    assert "Payback: never" in said and re.search(r"it costs about £[\d.,]+ more a winter", said)
    assert "never to never" not in said and "saves −" not in said
    assert "after never" not in said and "The cover saves nothing" in said and "The cover saves about" not in said


def test_no_heat_is_normal_practice_and_the_pump_still_costs(written):
    said = words(first_page(written("no heat")))
    for wanted in (
        "Carp do not eat then",
        "farms overwinter them in ponds about 2 m deep",
        "no heating cost",
        "The pump still takes",
        "Ask a fish vet about weak or young fish",
    ):
        assert wanted in said, wanted
    assert "saves £" not in said and "paid back" not in said
    assert "The sheet has no pump; running one would still cost money" in words(first_page(written("no pump, no heat")))


def test_what_is_assumed_is_told(written):
    said = words(first_page(written("by date, guesses")))
    assert "Guesses, according to the sheet: the cover's U-value, the shelter from wind" in said and "_" not in said
    assert "18 °C from 1 Sep , 12 °C from 1 Dec , 16 °C from 1 Mar" in said
    assert "No meter's log was used" in said


def test_rates_and_money(written):
    said = words(first_page(written("garden")))
    assert "night, 12.0 p" in said.replace(" ,", ",") and "standing charge" in said
    assert "$" in words(first_page(written("dollars"))) and "£" not in words(first_page(written("dollars")))
    assert words(first_page(written("no tariff"))).count("£") == 1  # the cover's own price


def test_what_if_and_power_cut_add_lines(without_runs):
    pond, found = without_runs
    table = what_if.what_if(pond, found.weather, ["insulated_lid", "no_heat", "cover_always", "cover_cold_months"])
    cut = power_cut.power_cut(pond, found.weather, start="2026-01-15 18:00", covered=True, fish_kg=20.0)
    bare = power_cut.power_cut(pond, found.weather, start="2026-01-15 18:00", covered=False)
    both = words(first_page(report(pond, found, what_if=table, power_cut=(cut, bare))))
    assert f"cover on: 5 K colder after {units.significant(cut.hours_to[5.0], 2)} h" in both
    assert f"(open 5 K after {units.significant(bare.hours_to[5.0], 2)} h )" in both
    said = words(first_page(report(pond, found, what_if=table, power_cut=cut, fish_kg=20.0)))
    assert "If the power fails On 15 January 2026" in said and "20.0 kg of fish" in said
    # by day in May a cover that is never lifted saves most, and cooks the fish
    assert "Best next step leave the cover on day and night from November to March" in said
    assert "No heat at all" in said and "Ask a fish vet" in said
    fall, hours = [(fall, hours) for fall, hours in cut.hours_to.items() if hours < float("inf")][-1]
    assert f"{fall:g} K colder after {units.significant(hours, 2)} h" in said


def test_without_runs_there_is_no_likely_range(without_runs):
    said = words(first_page(report(*without_runs)))
    assert "The cover saves about £" in said and "likely" not in said


# --- the file ---


def test_the_same_sheet_gives_the_same_bytes(written):
    pond = described()
    assert report(pond, assessment.assess(pond, scenarios=SCENARIOS)) == written("garden")


def test_opening_a_page_of_the_workbook_loads_no_template_engine():
    code = "import sys, pondheat.show.panels.your_pond; print('jinja2' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], capture_output=True, text=True).stdout.strip() == "False"


@cases
def test_self_contained(name, written):
    made = written(name)
    assert not re.search(
        r"<script|<link|<iframe|<object|<embed|<form|url\((?!#)|@import|\ssrc=|\son[a-z]+=|javascript:", made
    )
    assert not re.search(r'href="(?!#)', made) and "default-src 'none'" in made


HOSTILE = [
    "<script>alert(1)</script>",
    '"><img src=x onerror=alert(1)>',
    "</main></body>",
    "{{7*7}} ${x} %s %d",
    "=cmd|' /C calc'!A1",
    "\u202eevil\u202c",
    "🐟" * 50,
    "x" * 10_000,
    "a b " * 2500,
    "</style><style>*{display:none}</style>",
    "\x07bell",
]


@pytest.fixture(scope="module")
def hostile():
    """A pond whose tariff, rates and walls have hostile names, and its assessment."""
    rates = [
        {"name": text, "rate": f"{12 + hour} p/kWh", "start": f"{hour:02d}:00", "end": f"{hour + 1:02d}:00"}
        for hour, text in enumerate(HOSTILE)
    ]
    walls = [{"name": text, "area": "1.4 m²", "u_value": "0.5 W/m²K"} for text in HOSTILE]
    pond = described(**{"tariff.name": HOSTILE[0], "tariff.window": rates, "wall": walls})
    return pond, assessment.assess(pond, scenarios=0)


@pytest.mark.parametrize("text", some_of(HOSTILE, 0, 5, 9))
def test_hostile_text_stays_text(text, hostile):
    pond, found = hostile
    named = replace(pond, name=text, tariff=replace(pond.tariff, name=text))
    made = report(named, replace(found, sheet=named))
    assert not re.search(r"<script|<img|onerror=alert\(1\)>(?!&)", made)
    assert made.count("</main>") == 1 and made.count("<style") == 1
    assert len(first_page(made)) < 90_000 and "\u202e" not in made and "\x07" not in made


@pytest.mark.long
@settings(
    max_examples=8, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow]
)
@given(text=st.text(max_size=200))
def test_any_name_leaves_the_page_whole(text, without_runs):
    pond, found = without_runs
    named = replace(pond, name=text, text=json.dumps(text))
    made = report(named, replace(found, sheet=named))
    tags = re.findall(r"<(/?)(main|section|table|p|div|h1|h2|bdi)\b", made)
    for name in {tag for _, tag in tags}:
        assert sum(1 if not end else -1 for end, tag in tags if tag == name) == 0


# --- from a shell ---


def test_from_a_shell(tmp_path, capsys, few_runs):
    target = tmp_path / "sheet of paper.html"
    assert front.main(["season", str(PONDS / "garden_pond.toml"), "--report", str(target)]) == 0
    assert str(target) in capsys.readouterr().out
    assert target.read_text(encoding="utf-8").startswith("<!DOCTYPE html>")
    for wrong in (tmp_path, tmp_path / "none" / "x.html", PONDS / "garden_pond.toml"):
        assert front.main(["season", str(PONDS / "garden_pond.toml"), "--report", str(wrong)]) == 2
    assert "would be written over what this command reads" in capsys.readouterr().err


def test_numbers_that_are_worked_out_are_not_called_common_practice(written):
    made = written("garden")
    for title in ("The heater", "What could change this", "Best next step", "How sure"):
        found = re.findall(rf'<section class="entry"[^>]*>\s*<h4>{title}: .*?</section>', made, re.DOTALL)
        assert not any('href="#source-practice"' in one or "practice" in one for one in found), title
        assert found or title == "Best next step"
