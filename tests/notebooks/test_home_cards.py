"""The cards for trying at home: their numbers agree with the library, their cautions with cautions.toml."""

import html
import math
import re

import pytest
import reading_aloud

from pondheat.core.display_units import METRIC
from pondheat.fish.cautions import CAUTIONS, STANDING
from pondheat.heat import water
from pondheat.lesson.questions import BANK
from pondheat.meter.fitting.pond_fit import cool_down_loss

CARDS = {path.stem: path.read_text(encoding="utf-8") for path in (reading_aloud.WORKBOOK / "cards").glob("*.html")}
cards = pytest.mark.parametrize("name", CARDS)


def text(name: str) -> str:
    """A card's text, in one line."""
    body = CARDS[name].split("<body>")[1]
    return " ".join(html.unescape(re.sub(r"<[^>]*>", " ", body)).split())


def number_rows(name: str) -> list[list[float]]:
    """Rows of the tables that are printed with numbers, without their first column."""
    tables = re.findall(r'<table class="number">(.*?)</table>', CARDS[name], re.DOTALL)
    return [
        [float(cell) for cell in re.findall(r"<td>([^<]*)</td>", row)]
        for table in tables
        for row in table.split("</tr>")
        if "<td>" in row
    ]


def numbers(pattern: str, name: str) -> list[float]:
    found = re.search(pattern, text(name))
    assert found, pattern
    return [float(number) for number in found.groups()]


def test_there_are_three_cards():
    assert set(CARDS) == {"weigh_the_heat", "cool_down_test", "reading_by_hand"}


@cards
def test_each_has_the_standing_caution(name):
    assert STANDING in text(name)


@cards
def test_text_under_a_cautions_title_begins_with_that_cautions_first_sentence(name):
    by_title = {caution.title: METRIC.with_alt_units(caution.text) for caution in CAUTIONS.values()}
    box = CARDS[name].split('<div class="care">')[1]
    found = [(title, " ".join(said.split())) for title, said in re.findall(r"<b>([^<]+):</b>([^<]+)</p>", box)]
    taken = [said for title, said in found if re.match(r"(.+?[.])(\s|$)", said)[1] in by_title[title]]
    own = [title for title, said in found if said not in taken]
    assert len(taken) >= 1 and own == (["Children"] if name == "weigh_the_heat" else [])


@cards
def test_self_contained(name):
    assert not re.search(r"<script|<link|<img|<iframe|url\(|https?:|@import|\bsrc=|\bon[a-z]+=", CARDS[name])
    assert '<meta charset="utf-8">' in CARDS[name] and '<html lang="en-GB">' in CARDS[name]


@cards
def test_boxes_to_fill_are_empty(name):
    fill = re.search(r'<table class="fill">(.*?)</table>', CARDS[name], re.DOTALL)[1]
    assert fill.count("<td></td>") == fill.count("<td>") >= 8
    boxes = re.findall(r'<span class="box[ a-z]*"></span>', CARDS[name])
    assert CARDS[name].count('<span class="box') == len(boxes) >= 4


@cards
def test_no_card_contains_a_right_answer(name):
    per_square_metre = BANK["4.2"].values()[0] / 10  # the question is about 10 m², the card about one
    for right in (per_square_metre, *(BANK[key].values()[0] for key in ("4.2", "10.3"))):
        for written in re.findall(r"\d+\.?\d*", text(name)):
            assert float(written) != pytest.approx(right, rel=0.01), written


# Weigh the heat


def test_areas_of_buckets():
    across, areas = number_rows("weigh_the_heat")
    assert areas == [round(math.pi * (cm / 200) ** 2, 3) for cm in across]


def test_grams_an_hour_from_a_bucket():
    rate, area, grams = numbers(
        r"If a square metre loses ([\d.]+) kg an hour, a bucket of ([\d.]+) m² loses ([\d.]+) g", "weigh_the_heat"
    )
    assert grams == pytest.approx(1000 * rate * area)


def test_watts_of_a_gram_an_hour():
    factor, joules = numbers(
        r"that number × ([\d.]+) = watts from each square metre \(1 g takes (\d+) joules\)", "weigh_the_heat"
    )
    assert factor == round(joules / 3600, 2)
    assert water.latent_heat(20.0) / 1000 == pytest.approx(joules, rel=0.01)  # 2450 is for about 20 °C


def test_the_example_of_the_bucket():
    grams, hours, area = numbers(r"invented example: (\d+) g in (\d+) hours from ([\d.]+) m²", "weigh_the_heat")
    assert f"= {grams / hours:g} g an hour" in text("weigh_the_heat")
    rate = grams / hours / area
    assert f"÷ {area:.3f} = {rate:.0f} g an hour from each square metre" in text("weigh_the_heat")
    watts = rate / 1000 * 2.45e6 / 3600
    assert f"{rate:.0f} × 0.68 = {watts:.0f} watts from each square metre" in text("weigh_the_heat")


# Cool-down test


def test_table_of_logarithms():
    rows = number_rows("cool_down_test")
    ratios, logarithms = rows[0] + rows[2], rows[1] + rows[3]
    assert ratios == [round(1.05 + step / 100, 2) for step in range(16)]
    assert logarithms == [round(math.log(ratio), 3) for ratio in ratios]


def test_heat_for_one_degree():
    (factor,) = numbers(r"heat for one degree = ([\d.]+) × cubic metres of water", "cool_down_test")
    assert factor == pytest.approx(water.heat_capacity(1.0, 15.0), rel=0.002)


def test_the_example_of_the_pond():
    card = "cool_down_test"
    volume, factor, same, capacity = numbers(r"invented example: (\d+) m³, so ([\d.]+) × (\d+) = ([\d.]+) kWh/K", card)
    assert same == volume and capacity == pytest.approx(factor * volume)
    begin, end, air = numbers(r"Water ([\d.]+) °C, seven hours later ([\d.]+) °C, mean air ([\d.]+) °C", card)
    first, second = numbers(r"The differences are ([\d.]+) and ([\d.]+) K", card)
    assert (first, second) == pytest.approx((begin - air, end - air)) and begin - end <= 1
    ratio, logarithm = numbers(r"8\.5 ÷ 7\.7 = ([\d.]+), and its ln is (\d+\.\d+)", card)
    assert ratio == round(first / second, 3) and logarithm == round(math.log(first / second), 3)
    hours, loss = numbers(r"9\.304 × 0\.099 ÷ (\d+) = ([\d.]+) kW for each degree", card)
    assert loss == round(cool_down_loss(capacity, first, second, hours), 2)


def test_without_logarithms_the_fall_over_the_mean_difference_is_close():
    """As the card says of ratios beyond its table: within 4 %, up to a difference that halves."""
    for first, second in ((8.5, 7.7), (4.0, 3.0), (2.0, 1.0)):
        near = (first - second) / ((first + second) / 2)
        assert near == pytest.approx(math.log(first / second), rel=0.04)
