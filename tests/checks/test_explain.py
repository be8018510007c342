"""Explanations of check rows: the docstring, arguments in the library's units, and whether rounding explains it."""

import dataclasses
import inspect

import pytest

from pondheat.checks import explain, runner
from pondheat.core import nomenclature
from pondheat.core.places import CHECKS

ROW = {
    "id": "A",
    "quantity": "heat.moist_air.wet_bulb",
    "inputs": "air_temp=50 degF; rel_humidity=80 %; pressure=1013.25 hPa",
    "value": "47",
    "unit": "degF",
    "tolerance": "abs 0.5",
    "source": "a table",
    "kind": "published",
}


def test_arguments_and_result_are_in_the_library_s_units():
    one = runner.evaluate(ROW)
    found = explain.explain_row(one)
    assert found.arguments == {"air temperature": "10 °C", "relative humidity": "0.8", "pressure": "101325 Pa"}
    assert found.value.startswith("8.29") and found.value.endswith(" °C") and one.ours == pytest.approx(46.92, abs=0.01)


def test_lists_and_texts_are_shown_unchanged():
    rows = {one.id: one for one in runner.run([CHECKS])[0]}
    some = next(one for one in rows.values() if "|" in one.inputs)
    assert any(", " in value for value in explain.explain_row(some).arguments.values())
    zone = next(one for one in rows.values() if "timezone" in one.inputs)
    assert "/" in explain.explain_row(zone).arguments["timezone"]


def test_descriptions_keep_the_formula_and_leave_out_errors_and_examples():
    for quantity in nomenclature.RETURNS:
        words, text = explain.description(quantity), " ".join(inspect.getdoc(runner.function_of(quantity)).split())
        assert "Raises" not in words and ">>>" not in words and "`" not in words and words.endswith(".")
        assert words.startswith(text[:40].replace("`", "")) and ("ource" in words) == ("ource" in text.split(">>>")[0])


def test_rounding_notes():
    one = runner.evaluate(ROW)
    assert "from 46.5 to 47.5" in explain.rounding_note(one) and "explains" in explain.rounding_note(one)
    off = dataclasses.replace(one, ours=48.0)
    assert "does not explain" in explain.rounding_note(off)
    assert explain.rounding_note(dataclasses.replace(one, ours=47.0)) == "The two are the same."
