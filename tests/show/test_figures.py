"""Pictures: made to fit any page, the same every time, with words for those who do not see them."""

import json
import re
import xml.etree.ElementTree as tree
from dataclasses import replace

import pytest

from pondheat.analysis.scenarios.what_if import ScenarioRow
from pondheat.show import figures
from pondheat.show.choices_figure import choices

COLUMNS = {"open": 23_283.0, "covered": 12_855.0, "covered, day and night": 4_100.0}


def made(panel="one"):
    written = {name: f"{value:,.0f} kWh" for name, value in COLUMNS.items()}
    return figures.bars(COLUMNS, panel, "Heat lost, September to May", written, "open", most=25_000)


def test_is_clean_svg():
    figure = made()
    root = tree.fromstring(figure.svg)
    assert root.get("viewBox") and root.get("width") is None and root.get("role") == "img"
    title, described = (root.find(f"{{http://www.w3.org/2000/svg}}{name}") for name in ("title", "desc"))
    assert root.get("aria-labelledby") == f"{title.get('id')} {described.get('id')}"
    assert "September to May" in title.text and "open 23,283 kWh" in described.text
    assert "<script" not in figure.svg and "http" not in figure.svg.replace("http://www.w3.org/", "")


def test_text_takes_the_pages_colour():
    svg = made().svg
    assert "#010203" not in svg and "rgb(1,2,3)" not in svg and "rgb(4,5,6)" not in svg
    for text in re.findall(r"<text[^>]*>", svg):
        explicit = re.findall(r"fill[:=]\"?([^;\" ]+)", text)
        assert all(colour in ("currentColor", "1.0") for colour in explicit), text


def test_rules_are_scoped_and_ids_belong_to_the_panel():
    one, two = made("one").svg, made("two").svg
    ids = {name: set(re.findall(r'\bid="([^"]+)"', svg)) for name, svg in (("one", one), ("two", two))}
    assert not ids["one"] & ids["two"]
    assert all(i.startswith("one-") for i in ids["one"])
    style = re.search(r"<style>(.*?)</style>", one, re.S)[1]
    assert style.strip() and all(rule.strip().startswith("#one-") for rule in style.split("}") if rule.strip())


def test_same_bytes_twice():
    assert made().svg == made().svg


def test_columns_are_in_the_proportion_of_the_numbers():
    """Heights of the drawn rectangles, on a scale from zero."""
    drawn = [float(h) for h in re.findall(r'<rect x="[\d.]+" y="[\d.]+" height="([\d.]+)"[^>]*fill="rgb', made().svg)]
    assert len(drawn) == len(COLUMNS)
    scale = max(drawn) / max(COLUMNS.values())
    assert sorted(drawn) == pytest.approx(sorted(scale * value for value in COLUMNS.values()), rel=1e-3)


def test_a_scale_holds_until_a_column_outgrows_it():
    """Of a column that stays the same, beside one that grows."""

    def scaled(other: float) -> tuple[float, str]:
        svg = figures.bars({"a": 50.0, "b": other}, "p", "t", {"a": "", "b": ""}, scales=(100.0, 200.0)).svg
        heights = re.findall(r'<rect x="[\d.]+" y="[\d.]+" height="([\d.]+)"[^>]*fill="rgb', svg)
        return float(heights[-1]), max(re.findall(r">(\d+)<", svg), key=int)

    assert scaled(20.0) == scaled(96.0) and scaled(20.0)[1] == "100"
    assert scaled(97.0)[1] == scaled(190.0)[1] == "200"
    assert scaled(190.0)[0] == pytest.approx(scaled(20.0)[0] / 2, abs=0.01)


def test_bars_mark_one_and_escape_words():
    figure = figures.bars({"a": 1.0, "b": 3.0}, "p", "<b>cost</b> & more", {"a": "£1", "b": "£3"}, "b")
    assert "&lt;b&gt;" in figure.svg and "<b>" not in figure.svg and "<b>" not in figure.html()
    assert figures.MARKED == "#0072b2" and "rgb(0,114,178)" in figure.svg
    assert figure.description == "a £1, b £3."


def test_places_for_labels():
    assert figures._apart([1, 1.1, 5], 2, 0) == [1, 3, 5]
    assert figures._ticks(25_000) == [0, 5000, 10_000, 15_000, 20_000, 25_000]
    assert 4 <= len(figures._ticks(41_000)) <= 8


# --- a keeper's choices -----------------------------------------------------------------------------------------------


def choice(key, money, group="heaters", taken=100.0, band=None, lowest=17.9, short=0) -> ScenarioRow:
    return ScenarioRow(
        key,
        f"words of {key}",
        group,
        90.0,
        taken,
        0.0,
        money,
        None if money is None else 0.0,
        lowest,
        lowest,
        lowest,
        short,
        0,
        True,
        None if band is None else (80.0, 140.0),
        band,
    )


def bar_widths(svg: str) -> list[float]:
    bar = r'<rect x="[\d.]+" y="[\d.]+" height="[\d.]+" width="([\d.]+)"[^>]*fill="rgb'
    return [float(width) for width in re.findall(bar, svg)]


MANY = [
    choice("as_it_is", 400.0, ""),
    choice("none", 40.0, "no heat, and other temperatures", lowest=0.0),
    choice("pump", 120.0, band=(100.0, 150.0), short=12),
    choice("strong", 500.0),
]


def test_a_bar_for_each_choice_in_proportion():
    figure = choices(MANY, "w")
    widths = bar_widths(figure.svg)
    assert len(widths) == 4
    assert sorted(widths) == pytest.approx([max(widths) / 500 * money for money in (40, 120, 400, 500)], rel=0.02)
    assert figure.numbers == {"as_it_is": 400.0, "none": 40.0, "pump": 120.0, "strong": 500.0}
    assert figure.svg.count("rgb(0,114,178)") == 1  # the sheet as it is stands out, alone


def test_choices_are_told_in_words():
    figure = choices(MANY, "w")
    for said in (
        "words of as_it_is £400, lowest water 17.9 °C",
        "No heat, and other temperatures: words of none £40",
        "lowest water 0.0 °C",
        "Heaters: words of pump £120",
        "too little heat for 12 hours",
    ):
        assert said in figure.description
    for drawn in ("£400", "£40", "0.0 °C", "lowest water", "Heaters", "words of strong"):
        assert f">{drawn}<" in re.sub(r">\s+|\s+<", lambda m: m[0].strip(), figure.svg), drawn
    root = tree.fromstring(figure.svg)
    assert root.get("role") == "img" and root.get("width") is None
    assert figure.svg == choices(MANY, "w").svg and figure.svg != choices(MANY, "v").svg
    assert "#010203" not in figure.svg and "rgb(1,2,3)" not in figure.svg


def test_choices_without_a_tariff_are_in_kwh():
    rows = [choice("as_it_is", None, "", taken=8430.0), choice("none", None, taken=655.0)]
    figure = choices(rows, "w")
    assert "kWh taken" in figure.title and "8,430 kWh" in figure.description and "£" not in figure.svg


def test_choices_may_pay_or_cost_nothing():
    paid = choices([choice("as_it_is", 50.0, ""), choice("flat", -25.0)], "w")
    assert "−£25" in paid.description
    widths = sorted(bar_widths(paid.svg))
    assert widths[0] == pytest.approx(widths[1] / 2, rel=0.02)
    assert "£0.00" in choices([choice("as_it_is", 0.0, "")], "w").description


def test_hostile_words_of_a_choice_stay_words():
    hostile = replace(MANY[0], words="<script>alert(1)</script> & so")
    figure = choices([hostile], "w")
    assert "<script" not in figure.svg and "&lt;script&gt;" in figure.svg and tree.fromstring(figure.svg) is not None


def test_twenty_choices_stay_apart():
    rows = [choice("as_it_is", 100.0, "")] + [choice(f"k{number}", float(number)) for number in range(20)]
    heights = [
        float(y)
        for y in re.findall(r'translate\([\d.]+ ([\d.]+) \) ">\s*<text style="[^"]*14\.4px', choices(rows, "w").svg)
    ]
    named = sorted(set(heights))
    assert len(named) >= 21 and min(b - a for a, b in zip(named, named[1:])) > 14.4


def drawn_points(svg: str) -> list[list[tuple[float, float]]]:
    """The points of each drawn line, within the frame of the picture."""
    paths = re.findall(r'<path d="(M[^"]+)" fill="none"', svg)
    return [[tuple(map(float, at.split())) for at in re.findall(r"[\d.-]+ [\d.-]+", path)] for path in paths]


def test_what_a_line_says_under_the_pointer_is_what_is_drawn_there():
    hours = [0.0, 6.0, 12.0, 18.0]
    series = {"open": (hours, [1.0, 2.5, 3.0, 0.5]), "covered": (hours[:3], [0.5, 0.25, 1.0])}
    svg = figures.lines(series, "one", "Heat, kW", (0, 24), {0: "0 h"}, (0, 4), where=lambda at: f"{at:.0f} h").svg
    found = json.loads(tree.fromstring(svg).get("data-readings"))
    left, top, wide, high = found["frame"]
    assert (left, top) == pytest.approx((6 + float(re.search(r'<rect x="([\d.]+)"', svg)[1]), 6), abs=0.01)
    assert [told for _, _, told in found["readings"]] == [
        "0 h: open 1.00, covered 0.500",
        "6 h: open 2.50, covered 0.250",
        "12 h: open 3.00, covered 1.00",
        "18 h: open 0.500",  # the other line has ended
    ]
    for line, points in enumerate(drawn_points(svg)):
        for x, y in points:
            share, heights, _ = min(found["readings"], key=lambda one: abs(one[0] * wide - x))
            assert (share * wide, heights[line] * high) == pytest.approx((x, y), abs=0.1)


def test_long_lines_are_read_at_a_hundred_places_or_so():
    many = [float(n) for n in range(5000)]
    svg = figures.lines({"one": (many, many)}, "one", "Heat, kW", (0, 5000), {0: "0"}, (0, 5000)).svg
    readings = json.loads(tree.fromstring(svg).get("data-readings"))["readings"]
    assert 100 < len(readings) < 130 and readings[0][2].startswith("0: ") and len(svg) < 200_000
