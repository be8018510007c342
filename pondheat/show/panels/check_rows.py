"""Check rows as an HTML table, each row with an explanation of its value."""

from __future__ import annotations

import html
import math

from pondheat.checks import explain
from pondheat.checks.runner import CheckResult
from pondheat.core import units
from pondheat.show.controls import fold
from pondheat.show.pages import KINDS, plainly

HEADS = ("row, and what it checks", "ours", "theirs", "difference", "tolerance used")


def table(rows: list[CheckResult], caption: str) -> str:
    """The rows in the order given, with a caption, as HTML; empty if there are none."""
    if not rows:
        return ""
    heads = "".join(f'<th scope="col">{head}</th>' for head in HEADS)
    return (
        f'<table class="ph-steps ph-bench"><caption>{html.escape(caption)}</caption><thead><tr>{heads}</tr></thead>'
        f"{''.join(map(_row, rows))}</table>"
    )


def used(outcome: CheckResult) -> str:
    """The share of its tolerance a row uses, as text: “88 %”."""
    share = outcome.share_of_tolerance
    if not math.isfinite(share):
        return "fails"
    shown = units.significant(100 * share, 2) if 0 < share < 0.1 else units.digits(100 * share)
    return f"{shown} %{'' if outcome.holds else ': fails'}"


def off(outcome: CheckResult) -> str:
    """Our value less the printed one: in per cent, or in the row's unit where 0 is printed."""
    if not outcome.difference:
        return "0"
    if not math.isfinite(outcome.relative):
        return _number(outcome.difference, outcome)
    if outcome.relative < 5e-5:
        return "under 0.01 %"
    return f"{'+' if outcome.difference > 0 else '−'}{units.digits(100 * outcome.relative, 2)} %"


def _number(value: float, outcome: CheckResult, figures: int = 5) -> str:
    shown = "no number" if math.isnan(value) else "infinite" if math.isinf(value) else units.significant(value, figures)
    return units.with_unit(shown, units.pretty(outcome.unit))


def theirs(outcome: CheckResult) -> str:
    """The printed value with all its printed digits."""
    return units.with_unit(outcome.printed_text.replace("-", "−"), units.pretty(outcome.unit))


def _row(one: CheckResult) -> str:
    """The numbers in one table row; inputs, source and explanation below, over the whole width."""
    cells = "".join(
        f"<td>{html.escape(text)}</td>" for text in (_number(one.ours, one), theirs(one), off(one), used(one))
    )
    what = f"<span class='ph-what'>{html.escape(explain.quantity_label(one.quantity))}</span>"
    source = f"<p class='ph-small'>{html.escape(KINDS[one.kind])}: {html.escape(one.source)}</p>"
    return (
        f"<tbody><tr class='ph-first'><th scope='row' class='ph-text'>{html.escape(one.id)} {what}</th>{cells}</tr>"
        f"<tr><td class='ph-text' colspan='{len(HEADS)}'>{html.escape(plainly(one.inputs))}{source}"
        f"{fold(f'How we got {one.id}', opened(one))}</td></tr></tbody>"
    )


def opened(one: CheckResult) -> str:
    """The explanation of a row as HTML.

    It has the function's docstring, its arguments in the library's units, the value before rounding, and whether
    rounding of the printed value explains the difference.
    """
    found = explain.explain_row(one)
    taken = "".join(f"<li>{html.escape(name)}: {html.escape(value)}</li>" for name, value in found.arguments.items())
    all_digits = explain.all_digits
    compared = (
        f"Before rounding ours is {found.value}; in the row's unit {all_digits(one.ours)}. The source has "
        f"{theirs(one)}, so we are {all_digits(abs(one.difference))} off. The tolerance, {one.tolerance}, allows "
        f"{all_digits(one.allowed)}; used: {used(one)}."
    )
    note = f"<p>Note: {html.escape(one.note)}</p>" if one.note else ""
    note += f"<p>{html.escape(found.rename_note)}</p>" if found.rename_note else ""
    words = f"<code>pondheat.{html.escape(one.quantity)}</code> describes itself: {html.escape(found.description)}"
    return (
        f"<div class='ph-opened'><p>{words}</p><p>It was given:</p><ul>{taken}</ul><p>{html.escape(compared)}</p>"
        f"<p>{html.escape(explain.rounding_note(one))}</p>{note}</div>"
    )
