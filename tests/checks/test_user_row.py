"""Rows typed by a reader: finding the quantity, default values, and adding to a file without losing anything."""

import pytest

from pondheat.checks import explain, runner, user_row
from pondheat.checks.runner import COLUMNS, CheckError
from pondheat.core import nomenclature

TYPED = {
    "quantity": "wet bulb",
    "inputs": "air_temp=10 degC; rel_humidity=0.8; pressure=1013.25 hPa",
    "value": "8.3",
    "source": "a table, p. 4",
}


def test_every_quantity_is_found_by_its_name_and_its_label():
    for quantity in nomenclature.RETURNS:
        assert user_row.find_quantity(quantity) == quantity
        assert user_row.find_quantity(explain.quantity_label(quantity)) == quantity


@pytest.mark.parametrize(
    "typed, said",
    [
        ("wetbulb", "wet bulb"),
        ("Wet blub", "moist air: wet bulb"),
        ("density", "heat.water.density"),
        ("oxygen", "oxygen: saturation at altitude"),
        ("qqq", "isn't something we work out"),
        ("  ", "Name what"),
    ],
)
def test_a_wrong_name_is_answered_with_the_nearest(typed, said):
    with pytest.raises(CheckError, match=said):
        user_row.find_quantity(typed)


def test_the_inputs_named_can_be_typed_back():
    said = user_row.inputs_needed("heat.moist_air.wet_bulb")
    inputs = said.split("Its inputs: ")[1].split(". The result is")[0]
    filled = (
        inputs.replace("air_temp=…", "air_temp=10")
        .replace("rel_humidity=…", "rel_humidity=0.8")
        .replace("pressure=…", "pressure=101325")
    )
    assert runner.arguments_of(runner.function_of("heat.moist_air.wet_bulb"), filled) == {
        "air_temp": 10.0,
        "rel_humidity": 0.8,
        "pressure": 101325.0,
    }


def test_empty_cells_get_their_defaults():
    row = user_row.make_row(TYPED | {"source": "two\nlines\x00 of\u2028it"})
    assert (row["unit"], row["kind"], row["tolerance"], row["source"]) == (
        "degC",
        "published",
        "abs 0.05",
        "two lines of it",
    )
    with pytest.raises(CheckError, match="Still to be typed: inputs, value, source"):
        user_row.make_row({"quantity": "wet bulb"})
    with pytest.raises(CheckError, match="not a number"):
        user_row.make_row(TYPED | {"value": "warm"})


def test_the_file_s_content_is_kept_byte_for_byte():
    begun, first = user_row.add_row(None, TYPED)
    assert (
        begun.decode().splitlines()[0] == ",".join(COLUMNS)
        and first.id == "MY-1"
        and first.holds
        and first.place == "my_checks.csv:2"
    )
    # edited by hand: columns in another order, Windows line ends, a byte order mark, a broken line, no last line end
    before = (
        "\ufeffsource,id,quantity,inputs,value,unit,tolerance,kind,colour\r\nspoilt\r\n\r\n"
        "a book,MY-7,heat.moist_air.wet_bulb,air_temp=10 degC; rel_humidity=0.8; pressure=101325 Pa,"
        "8.3,degC,abs 0.1,published,red"
    ).encode()
    after, made = user_row.add_row(before, TYPED | {"source": 'the "red" book, p. 1'})
    assert after.startswith(before + b"\r\n") and made.id == "MY-8" and made.place == "my_checks.csv:5"
    found, faults = runner.run_text(after.decode("utf-8-sig"), "f")
    assert (
        [one.id for one in found] == ["MY-7", "MY-8"] and found[1].source == 'the "red" book, p. 1' and len(faults) == 1
    )


def test_rows_are_added_one_after_the_other():
    content = None
    for value in ("8.3", "8.29", "8.2904"):
        content, made = user_row.add_row(content, TYPED | {"value": value})
    found, faults = runner.run_text(content.decode(), "f")
    assert faults == [] and [(one.id, one.printed_text) for one in found] == [
        ("MY-1", "8.3"),
        ("MY-2", "8.29"),
        ("MY-3", "8.2904"),
    ]
    with pytest.raises(CheckError, match="is in my_checks.csv already, as MY-2"):
        user_row.add_row(content, TYPED | {"value": "8.29"})


@pytest.mark.parametrize("before, said", [(b"\xff\xfe", "UTF-8"), (b"", "empty"), (b"a,b\n1,2\n", "the header lacks")])
def test_a_file_that_is_no_check_file_is_refused(before, said):
    with pytest.raises(CheckError, match=said):
        user_row.add_row(before, TYPED)


def test_a_former_name_is_found_and_noted():
    former, now = "meter.spells.cv_rmse", "meter.savings.period_comparison.cv_rmse"
    assert user_row.find_quantity(f" {former} ") == now
    assert user_row.describe_quantity(former) == f"{former} is now called {now}. {user_row.inputs_needed(now)}"
    assert user_row.describe_quantity(now) == user_row.inputs_needed(now)
    typed = {
        "quantity": former,
        "inputs": "measured=10|12; predicted=11|11; parameters=0",
        "value": "0.1",
        "source": "own",
    }
    assert user_row.add_row(None, typed)[1].quantity == now


@pytest.mark.parametrize("value", ["nan", "inf"])
def test_a_value_that_is_not_finite_is_refused(value):
    with pytest.raises(CheckError, match="not a"):
        user_row.make_row(TYPED | {"value": value})
