"""The checking bench without a browser: rows, order, filters, explanations and the reader's own rows."""

import html
import math
import re

import pytest
from panel_values import putting
from usual_cases import some_of

from pondheat.analysis import formula_spread
from pondheat.analysis.uncertain_inputs import NEAR_SURFACE
from pondheat.checks import explain, runner, user_row
from pondheat.core import nomenclature
from pondheat.core.display_units import METRIC
from pondheat.core.places import CLONE
from pondheat.fish.oxygen import saturation
from pondheat.heat import surface
from pondheat.heat.moist_air import pressure_at_altitude
from pondheat.sheet import pond_sheet
from pondheat.show import ponds
from pondheat.show.pages import PredictFirst
from pondheat.show.panels import check_rows, checking_bench, own_check
from pondheat.show.panels.checking_bench import ALL, FIRST, MORE, Formulae, OwnRow, OwnSeason, Rows, WhyFirst, room_of
from pondheat.text import limitations

HOSTILE = "<script>alert(1)</script>,\"'=cmd|x"
START = {"water_temp": 18, "air_temp": 8, "humidity": 80, "wind": 1}
put = putting(START)


@pytest.fixture
def rows(tmp_path):
    return Rows(tmp_path)


def shown(rows) -> list[str]:
    """Names of the rows that the table shows, in order."""
    return re.findall(r"<th scope='row' class='ph-text'>(\S+) ", rows.table.value)


def choose(rows, **values):
    for name, value in values.items():
        rows.controls[name].value = value
    assert rows.error.value == "", rows.error.value


# --- the rows


def test_all_rows_are_run_and_counted_as_the_shell_counts_them(rows):
    outcomes, faults = runner.run([checking_bench.CHECKS])
    held = sum(one.holds for one in outcomes)
    assert not faults and held == len(outcomes) and len(rows.rows) == len(outcomes)
    assert rows.sentence().startswith(f"{len(outcomes)} rows, and all agree, run just now. ")
    assert f"Printed in a book or paper: {sum(one.kind == 'published' for one in outcomes)}." in rows.sentence()


def test_the_row_that_uses_most_of_its_tolerance_stands_first(rows):
    used = [one.share_of_tolerance for one in rows.rows]
    assert used == sorted(used, reverse=True) and shown(rows)[0] == rows.rows[0].id
    assert (
        f"{rows.rows[0].id}, {explain.quantity_label(rows.rows[0].quantity)}: {check_rows.used(rows.rows[0])}"
        in rows.sentence()
    )


def test_filters_and_orders(rows):
    choose(rows, room="money")
    assert {room_of(one) for one in rows.rows} == {"money"}
    choose(rows, room=ALL, kind="published")
    assert {one.kind for one in rows.rows} == {"published"}
    choose(rows, order="apart")
    off = [one.relative for one in rows.rows]
    assert off == sorted(off, reverse=True) and off[0] > 0
    choose(rows, order="file", words="fao-56 EXAMPLE")
    assert rows.rows and all("FAO-56" in one.source and "xample" in one.source for one in rows.rows)
    choose(rows, words=rows.outcomes[0].id, kind=ALL)
    assert [one.id for one in rows.rows] == [rows.outcomes[0].id] and rows.sentence().startswith(
        "One row, and it agrees"
    )
    choose(rows, words=HOSTILE)
    assert (
        rows.sentence().startswith("No row fits these choices.") and rows.table.value == "" and rows.picture.value == ""
    )
    assert rows.more.layout.display == "none" and "No row" in rows._arithmetic()


def test_few_at_once_and_more_when_asked(rows):
    assert len(shown(rows)) == FIRST <= 40 and f"Rows 1 to {FIRST} of {len(rows.rows)}" in rows.table.value
    rows.more.click()
    assert len(shown(rows)) == FIRST + MORE <= 40
    while rows.more.layout.display == "":
        rows.more.click()
    assert shown(rows) == [one.id for one in rows.rows]
    choose(rows, room="meter")
    assert len(shown(rows)) == FIRST


def test_the_picture_counts_every_row_once(rows):
    figure, _ = rows.redraw(ALL, ALL, "share", "")
    assert sum(figure.numbers.values()) == len(rows.rows) and figure.numbers["fails"] == 0
    assert figure.numbers["50 to 100 %"] == sum(0.5 < one.share_of_tolerance <= 1 for one in rows.rows)


def test_the_table_has_a_caption_and_scopes(rows):
    assert rows.table.value.count("<caption>") == 1
    assert (
        rows.table.value.count('scope="col"') == len(check_rows.HEADS)
        and rows.table.value.count("scope='row'") == FIRST
    )


def test_an_opened_row_tells_function_arguments_and_the_value_before_rounding(rows):
    first = rows.rows[0]
    said = html.unescape(check_rows.opened(first))
    function = runner.function_of(first.quantity)
    given = runner.arguments_of(function, first.inputs)
    assert f"pondheat.{first.quantity}" in said and explain.all_digits(float(function(**given))) in said
    assert "water temperature: 0 °C" in said and "altitude: 1500 m" in said
    assert html.unescape(rows._arithmetic()) == said


def test_every_shipped_row_can_be_opened(rows):
    for one in rows.outcomes:
        said = check_rows.opened(one)
        assert "It was given:" in said and "Raises" not in said and "&gt;&gt;&gt;" not in said, one.id


def test_own_rows_stand_in_the_table_and_what_cannot_be_read_is_said(tmp_path):
    text = HOSTILE.replace(",", " ").replace('"', "")
    (tmp_path / user_row.NAME).write_text(
        f"{','.join(runner.COLUMNS)}\nMY-1,heat.moist_air.dew_point,air_temp=20 degC; rel_humidity=0.5,9,degC,abs "
        f"0.1,{text},published,\nbad,row\n",
        encoding="utf-8",
    )
    rows = Rows(tmp_path)
    faults = " ".join(child.value for child in rows.children if isinstance(getattr(child, "value", None), str))
    assert rows.rows[0].id == "MY-1" and "fails" in rows.table.value and "<script" not in rows.table.value + faults
    assert "my_checks.csv:3: bad: " in faults and str(tmp_path) not in faults
    assert f"{len(rows.rows)} rows, of which {len(rows.rows) - 1} agree" in rows.sentence()


def test_a_file_of_own_rows_that_is_no_text_is_said(tmp_path):
    (tmp_path / user_row.NAME).write_bytes(b"\xff\xfe\x00")
    assert Rows(tmp_path).read_errors == ["my_checks.csv cannot be read as UTF-8 text. It stays as it is."]


def test_rows_without_a_finite_difference_come_first_and_do_not_upset_the_rest():
    made = [
        runner.CheckResult(
            name,
            "heat.water.density",
            "temp=1 degC",
            printed,
            ours,
            "kg/m**3",
            "abs 0",
            0.0,
            "a book",
            "published",
            "",
            "",
            "1",
        )
        for name, printed, ours in (("same", 1.0, 1.0), ("nan", 1.0, math.nan), ("inf", 0.0, math.inf))
    ]
    assert checking_bench.most_disagreeing(made).id in ("nan", "inf")
    text = check_rows.table(made, "rows")
    assert text.count("fails") >= 2 and "no number" in text and "infinite" in text


# --- the question, and why


def test_the_right_choice_is_worked_out_from_the_rows(rows):
    assert rows.rows[0].quantity.split(".")[0] == checking_bench.RIGHT
    assert (
        set(checking_bench.WORDS)
        == set(checking_bench.OPTIONS) - {checking_bench.RIGHT}
        == set(explain.ROOMS) - {checking_bench.RIGHT}
    )


def test_the_page_asks_first_and_says_its_own_sentence(tmp_path):
    asked = PredictFirst("17_checking_bench", tmp_path)
    assert asked.panel.layout.display == "none"
    asked.guess.value, asked.sure.value = checking_bench.RIGHT, "guess"
    assert asked.panel.layout.display == "" and "why does it disagree?" in asked.reply.value


def test_why_follows_from_the_printed_digits():
    asked = WhyFirst()
    first = checking_bench.most_disagreeing(checking_bench.shipped())
    assert asked.right == ("rounding" if abs(first.difference) <= explain.half_digit(first.printed_text) else "more")
    said = {}
    for key in asked.OPTIONS:
        asked.guess.value = key
        said[key] = asked.reply.value
    assert [key for key, text in said.items() if "That&#x27;s right" in text] == [asked.right]
    assert first.printed_text in said[asked.right]


def test_what_was_found_out_of_the_first_row():
    """Pressure as exp(−height/8000 m) gives all eight printed values, rounded; the standard atmosphere does not."""
    table = [one for one in checking_bench.shipped() if one.id.startswith("FW-A10") and "oxygen meter" in one.source]
    assert len(table) == 8 and set(WhyFirst.FOUND_OUT) == {"FW-A102"}
    ours, even = [], []
    for one in table:
        given = runner.arguments_of(runner.function_of(one.quantity), one.inputs)
        pressure = 101_325 * math.exp(-given["altitude"] / 8000)
        ours.append(round(one.ours, 1) == one.printed)
        even.append(round(float(saturation(given["water_temp"], pressure)), 1) == one.printed)
    assert all(even) and not all(ours)
    assert 100 * (pressure_at_altitude(1500.0) / (101_325 * math.exp(-1500 / 8000)) - 1) == pytest.approx(0.7, abs=0.05)


# --- formulae


def test_every_formula_at_one_moment():
    panel = Formulae()
    assert set(panel.flux) == set(surface.EVAPORATION) == set(formula_spread.FORMULA_INFO)
    assert list(panel.flux.values()) == sorted(panel.flux.values())
    assert f"a factor of {max(panel.flux.values()) / min(panel.flux.values()):.1f}" in panel.sentence()
    assert "We use Ryan and Harleman" in panel.sentence() and len(panel.arithmetic().lines) == len(surface.EVAPORATION)
    put(panel, water_temp=4, air_temp=25, humidity=100)
    assert min(panel.flux.values()) < 0 and "dew falls" in panel.sentence() and "factor" not in panel.sentence()


@pytest.mark.parametrize("name", some_of(START, 0, 3))
def test_extremes_of_the_formulae(name):
    panel = Formulae()
    for value in (panel.controls[name].least, panel.controls[name].most):
        put(panel, **{name: value})
        assert "nan" not in panel.sentence() and "inf" not in panel.sentence() and "<svg" in panel.picture.value


def run(panel, whose):
    panel.whose.value = None
    panel.whose.value = whose
    panel.wait(60)
    return html.unescape(panel.progress_line.value)


def test_the_garden_pond_and_the_readers_own(tmp_path):
    panel = OwnSeason(tmp_path)
    said = run(panel, "garden")
    assert (
        "The garden pond, open" in said
        and "£" in said
        and "a factor of" in said
        and "The sheet uses Ryan and Harleman" in said
    )
    assert panel.result.value.count("<tr>") == 1 + len(surface.EVAPORATION) + len(NEAR_SURFACE)
    assert "There is no my_pond.toml beside this page yet" in run(panel, "own") and panel.result.value == ""
    own = tmp_path / "my_pond.toml"
    own.write_text(pond_sheet.with_values(ponds.invented_text(), {"tariff": None, "name": HOSTILE}), encoding="utf-8")
    said = run(panel, "own")
    assert (
        "Your pond" in said
        and "kWh" in said
        and "£" not in said
        and "<script" not in panel.progress_line.value + panel.result.value
    )
    own.write_text("nonsense", encoding="utf-8")
    run(panel, "own")
    assert 'role="alert"' in panel.progress_line.value and panel.result.value == ""


def test_a_pond_without_heat_is_told_in_temperatures(tmp_path):
    bare = pond_sheet.with_values(
        ponds.invented_text(), {"pond.set_point": None, "heater.kind": "none", "heater.power": None}
    )
    (tmp_path / "my_pond.toml").write_text(bare, encoding="utf-8")
    said = run(OwnSeason(tmp_path), "own")
    assert "is not heated" in said and re.search(r"from −?[\d.]+ to −?[\d.]+ °C", said)


# --- a row of one's own

GOOD = {
    "quantity": "wet bulb",
    "inputs": "air_temp=68 degF; rel_humidity=0.5; pressure=101325 Pa",
    "value": "13.8",
    "unit": "degC",
    "tolerance": "abs 0.1",
    "source": "my own table, p. 12",
}


def typed(panel, **lines):
    for key, value in lines.items():
        panel.lines[key]._answer(None, {"typed": value, "asked": "1"}, [])
    return html.unescape(panel.progress_line.value)


def test_each_line_is_answered_and_the_whole_is_evaluated_at_once(tmp_path):
    panel = OwnRow(tmp_path)
    assert "Still to be typed: inputs, value, source" in typed(panel, quantity="wet bulb")
    assert "air_temp=… degC" in panel.lines["quantity"].says
    assert (
        "It agrees" in typed(panel, **GOOD)
        and "How we got ours" in panel.result.value
        and list(tmp_path.iterdir()) == []
    )
    assert "It fails" in typed(panel, value="15") and "have overturned a number" in panel.progress_line.value
    typed(panel, quantity="wet blub")
    assert "Did you mean moist air: wet bulb" in panel.lines["quantity"].says


@pytest.mark.parametrize(
    "changed, said",
    [
        ({"quantity": "heat.moist_air.wetbulb"}, "wet bulb"),
        ({"value": "warm"}, "not a number"),
        ({"value": "1e999"}, "finite"),
        ({"unit": "kWh"}, "kWh"),
        ({"tolerance": "2"}, "rel 1%"),
        ({"source": ""}, "source"),
        ({"inputs": HOSTILE}, "has no argument"),
        ({"quantity": HOSTILE}, "isn't something we work out here"),
        ({"inputs": "air_temp=900 degC; rel_humidity=0.5; pressure=101325 Pa"}, "900"),
    ],
)
def test_a_row_that_cannot_be_read_is_refused_in_words(changed, said, tmp_path):
    panel = OwnRow(tmp_path)
    assert said in typed(panel, **GOOD | changed)
    panel.save_button.click()
    assert "Not added." in panel.progress_line.value and "<script" not in panel.progress_line.value
    assert list(tmp_path.iterdir()) == []


def test_a_kept_row_stands_in_the_table_the_next_time(tmp_path):
    panel = OwnRow(tmp_path)
    typed(panel, **GOOD | {"source": f'a "quoted", comma {HOSTILE}'})
    panel.save_button.click()
    assert "Added to my_checks.csv as MY-1" in panel.progress_line.value
    panel.save_button.click()
    assert "Not added. This row is in my_checks.csv already, as MY-1" in panel.progress_line.value
    rows = Rows(tmp_path)
    choose(rows, words="my_checks.csv")
    assert rows.read_errors == [] and [one.id for one in rows.rows] == ["MY-1"] and "<script" not in rows.table.value


def test_a_file_that_cannot_be_written_is_said(tmp_path):
    panel = OwnRow(tmp_path / "no" / "such")
    (tmp_path / "no").write_text("a file where a folder should be")
    typed(panel, **GOOD)
    panel.save_button.click()
    assert "Not added: my_checks.csv cannot be written or read" in panel.progress_line.value


def brought(panel, name, content):
    panel.file.content, panel.file.value = content, name
    panel.file.turn += 1
    panel.wait(60)
    return html.unescape(panel.progress_line.value)


def test_a_file_of_ones_own_is_evaluated_and_faults_are_told_by_line(tmp_path):
    panel = OwnRow(tmp_path)
    wind = (checking_bench.CHECKS / "wind.csv").read_bytes()
    count = len(wind.decode().strip().splitlines()) - 1
    said = brought(panel, "mine.csv", wind + b"\nspoilt,<b>row\n")
    assert f"mine.csv: {count} rows evaluated, {count} agree, 0 fail; 1 could not be read." in said
    assert f"mine.csv:{count + 3}: spoilt: " in panel.result.value and "<b>row" not in panel.result.value
    assert list(tmp_path.iterdir()) == []
    assert "cannot be read as UTF-8" in brought(panel, "picture.png", b"\x89PNG\xff")
    many = wind + b"\n" + b"spoilt,row\n" * 100
    brought(panel, "many.csv", many)
    assert "And 60 more." in panel.result.value


def test_the_list_has_every_quantity_there_is():
    text = html.unescape(own_check.quantities())
    assert all(f"({name})" in text for name in nomenclature.RETURNS)


# --- what is left out


def test_the_list_of_what_is_left_out_is_that_of_the_developers_file(capsys):
    text = (CLONE / "DEVELOPERS.md").read_text(encoding="utf-8")
    part = text.split("### What the model leaves out")[1].split("\n## ")[0]
    rows = [
        tuple(cell.strip() for cell in line.strip("|").split("|")) for line in part.splitlines() if line.startswith("|")
    ][2:]
    assert rows == [tuple(map(METRIC.with_alt_units, row)) for row in limitations.LEFT_OUT]
    checking_bench.print_left_out()
    printed = " ".join(capsys.readouterr().out.split())
    assert all(what in printed and size in printed for what, size in rows)


def test_every_distance_names_its_source_or_says_that_none_is_known(capsys):
    checking_bench.print_measured()
    said = " ".join(capsys.readouterr().out.split())
    assert all(f"({whence})" in said for _, _, whence in limitations.MEASURED[:-1])
    assert (
        "1.1 K at most" in said
        and "18 % on average" in said
        and said.endswith("we found no such measurement to test any of this")
    )


def test_a_former_name_of_a_quantity_is_noted_under_its_row():
    row = (
        "F-1,meter.spells.cv_rmse,measured=10|12; predicted=11|11; parameters=0,0.1,dimensionless,abs 0.1,own,derived,"
    )
    (found,), errors = runner.run_text(f"{','.join(runner.COLUMNS)}\n{row}\n", "mine.csv")
    note = "meter.spells.cv_rmse is now called meter.savings.period_comparison.cv_rmse."
    assert not errors and note in check_rows.opened(found)
