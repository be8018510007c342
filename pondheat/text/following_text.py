"""A thermometer's log beside the model, as plain text and as plain data: the verdict first, then its reasons."""

from __future__ import annotations

import math

import pandas as pd

from pondheat.analysis.following import Following, Learned, LearnedValue
from pondheat.analysis.following_checks import CARE, GOOD, LIMITS, NOT_YET
from pondheat.analysis.printable import without_controls
from pondheat.analysis.water_comparison import DAY_MEANS, MEANS, SETTLING, Score
from pondheat.core import units
from pondheat.fish import cautions
from pondheat.season.weather import weather
from pondheat.text.layout import day_text, wrapped
from pondheat.text.savings_text import as_option

_MEANING = {
    GOOD: "Good: the model follows your water well enough to trust a heated forecast within its likely range.",
    CARE: "Usable with care: take a heated forecast for this pond as a rough figure, and read its whole likely range.",
    NOT_YET: "Not yet: don't rely on a heated forecast for this pond before the points below are settled.",
}
LABELS = {
    "wind": "wind at the water (wind_shelter)",
    "sky": "open sky above it (sky_view)",
    "sun": "sun kept off (shade)",
    "volume": "water that takes part, m³ (volume)",
    "surface": "surface's heat loss, over the formula's",
    "cover": "cover's heat flow, over the sheet's",
    "walls": "walls and ground, over the sheet's",
    "streams": "filter, air and new water, over the sheet's",
}
_ROWS = {MEANS: "hours", DAY_MEANS: "days"}
CRITERIA = (
    "What counts as good: {0} days to score, on average within [Δ{1:g} °C], typically within [Δ{2:g} °C]; with care: "
    "{3} days, [Δ{4:g} °C], [Δ{5:g} °C]; a single month may be off by twice the average. These limits are our "
    "judgement. The heat a pond needs grows with how much warmer you keep it than it would be by itself: where that "
    "is [Δ10 °C], an average error of [Δ{1:g} °C] is about 5 % of the heat."
).format(*LIMITS[GOOD], *LIMITS[CARE])
UNTESTED = (
    "An unheated pond stays near the temperature at which its gains and losses balance, so this tests the two "
    "together. It doesn't test how much more a warm pond loses, the heater, or a cover that wasn't on: only a meter "
    "does."
)


def following_text(found: Following) -> str:
    """The text that `python -m pondheat follow` prints."""
    lines = [*wrapped(verdict_text(found))]
    lines += [line for one in found.verdict.reasons for line in wrapped(as_option(one), "- ")]
    lines += ["", "How well the computed water follows the measured", *wrapped(score_text(found), "  "), ""]
    lines += [f"  {'':<24}{'on average':>14}{'typical error':>16}{'R²':>8}{_rows_name(found):>10}"]
    lines += [f"  {name:<24}" + "".join(cells) for name, cells in _score_rows(found)]
    lines += ["", "What the log shows"]
    if found.learned is None:
        lines += wrapped(found.not_learned or "", "  ")
    else:
        lines += _learned_lines(found, found.learned)
    lines += ["", "What to know", *wrapped(CRITERIA, "- "), *wrapped(UNTESTED, "- ")]
    lines += [line for one in found.notes for line in wrapped(as_option(one), "- ")]
    for heading, sentences in (
        ("How the log was read", found.log.interpretation),
        ("What was repaired", [one.sentence for one in found.log.repairs]),
        ("Weather", [weather.summary(found.weather) + ".", *found.weather.notes]),
    ):
        if sentences:
            lines += ["", heading, *(line for one in sentences for line in wrapped(as_option(one), "- "))]
    lines += ["", *wrapped(cautions.STANDING)]
    return "\n".join(map(without_controls, lines))


def verdict_text(found: Following) -> str:
    """The verdict in a sentence or two."""
    said = _MEANING[found.verdict.level]
    if found.verdict.with_learned:
        said += " That holds once the values learned below are in your sheet; as it is now, the match is poorer."
    return said


def score_text(found: Following) -> str:
    """How far computed water is from measured on average and typically, in words; differences are marked."""
    whole = found.whole
    bias = "On average the computed water is as warm as the measured"
    if (rounded := round(abs(whole.bias), 1)) > 0:
        bias = f"On average the computed water is [Δ{rounded:.1f} °C] too {'warm' if whole.bias > 0 else 'cold'}"
    share = _share(whole.r_squared)
    up_and_down = "" if share is None else f" It accounts for {share} of the ups and downs."
    return (
        f"{bias}; typically it is within [Δ{whole.rmse:.1f} °C] of it (root mean square error of "
        f"{units.digits(whole.count)} {_rows_name(found)}).{up_and_down} The first {SETTLING} hours are left out, "
        "because the computed water starts at the log's own first value."
    )


def learned_text(learned: Learned) -> str:
    """What the days held back say of the learned values, in a sentence or two; differences are marked."""
    said = (
        f"Tested on days held back: the model was fitted to the days before {day_text(learned.held_from)} only, and on "
        f"the {units.digits(learned.before.count)} hours from then on its typical error "
    )
    before, after = f"{learned.before.rmse:.2f}", f"{learned.after.rmse:.2f}"
    if learned.better:
        said += f"fell from [Δ{before} °C] to [Δ{after} °C]. The values below use all the days."
    else:
        said += f"went from [Δ{before} °C] to [Δ{after} °C]. That is not enough to go by: leave your sheet as it is."
    return said


def to_write(found: Following) -> list[str]:
    """Lines for the pond sheet with the learned values; empty if there are none worth writing."""
    if found.learned is None:
        return []
    lines: list[str] = []
    for one in found.learned.values:
        if one.key is None or one.write is None:
            continue
        table, _, key = one.key.partition(".")
        if f"[{table}]" not in lines:
            lines.append(f"[{table}]")
        lines.append(f'{key} = "{one.write:g} m³"' if key == "volume" else f"{key} = {one.write:g}")
    return lines


def advice(found: Following) -> list[str]:
    """Sentences that belong to the lines to write."""
    assert found.learned is not None
    written = {one.name for one in found.learned.values if one.write is not None}
    said = ["These values were chosen together, with the formulas as the sheet has them: write all of them or none."]
    if "volume" in written:
        said.append(
            "Before you write the volume, measure length, width and depth again: the log only says that the water "
            "warms and cools as this much water would. Where the sheet has a depth, the volume takes its place."
        )
    if "sun" in written:
        said.append("Shade is learned for the log's season only: trees and the sun's height change it.")
    return said


def value_cells(one: LearnedValue) -> tuple[str, str, str, str]:
    """A learned value as cells: what it is, the sheet's value, the likeliest with its range, whether it was learned."""

    def shown(value: float) -> str:
        return units.significant(value, 3) if one.name == "volume" else f"{value:.2f}"

    return (
        LABELS[one.name],
        shown(one.sheet),
        f"{shown(one.middle)} ({shown(one.low)} to {shown(one.high)})",
        "learned" if one.learned else "hardly learned",
    )


def _rows_name(found: Following) -> str:
    return _ROWS.get(found.shape, "readings")


def _share(r_squared: float) -> str | None:
    """The coefficient of determination in per cent, or in a word; None where it is not known."""
    if math.isnan(r_squared):
        return None
    return f"{100 * r_squared:.0f} %" if r_squared >= 0.005 else "none"


def _r_squared(score: Score) -> str:
    if math.isnan(score.r_squared):
        return "–"
    return f"{score.r_squared:.2f}" if score.r_squared >= 0 else "below 0"


def _score_rows(found: Following) -> list[tuple[str, list[str]]]:
    """The table of scores: all, day and night, by month."""
    rows: list[tuple[str, Score | None]] = [("all", found.whole), ("by day", found.day), ("by night", found.night)]
    rows += [(f"{pd.Timestamp(month):%B %Y}", score) for month, score in found.by_month.items()]
    return [
        (
            name,
            [
                f"{round(score.bias, 1) + 0.0:+.1f} °C".replace("-", "−").replace("+0.0", "0.0").rjust(14),
                f"{score.rmse:.1f} °C".rjust(16),
                _r_squared(score).rjust(8),
                units.digits(score.count).rjust(10),
            ],
        )
        for name, score in rows
        if score is not None
    ]


def _learned_lines(found: Following, learned: Learned) -> list[str]:
    """The learned values, their test, and what to write."""
    lines = wrapped(
        f"{learned.days} days (noon to noon) count as {learned.independent:.0f} independent ones. Ranges hold the true "
        "value in nine cases of ten, as far as the model's form is right.",
        "  ",
    )
    lines += wrapped(learned_text(learned), "  ")
    lines += [line for one in learned.notes for line in wrapped(one, "  ")]
    lines += ["", f"  {'':<46}{'sheet':>8}   {'likeliest (likely range)':<26}"]
    for one in learned.values:
        name, sheet, value, how = value_cells(one)
        lines.append(f"  {name:<46}{sheet:>8}   {value:<26} {how}")
    if keys := to_write(found):
        lines += [
            "",
            "  To use what was learned, put these values into your sheet in place of those there:",
            "",
            *(f"    {line}" for line in keys),
            "",
        ]
        lines += [line for one in advice(found) for line in wrapped(one, "  ")]
    return lines


# --- JSON -------------------------------------------------------------------------------------------------------------


def as_dict(found: Following) -> dict:
    """The comparison as plain data for JSON: °C and K; null where a number is not known."""
    record, learned = found.weather, found.learned
    return {
        "verdict": {
            "level": found.verdict.level,
            "with_learned_values": found.verdict.with_learned,
            "text": verdict_text(found),
            "reasons": [as_option(one) for one in found.verdict.reasons],
            "criteria": CRITERIA,
        },
        "suspicions": [{"kind": one.kind, "sentence": as_option(one.sentence)} for one in found.suspicions],
        "compared": found.shape,
        "score": _score(found.whole),
        "by_day": _score(found.day),
        "by_night": _score(found.night),
        "by_month": {month: _score(score) for month, score in found.by_month.items()},
        "not_learned": found.not_learned,
        "learned": None
        if learned is None
        else {
            "days": learned.days,
            "independent_days": learned.independent,
            "held_back_from": learned.held_from.isoformat(),
            "before": _score(learned.before),
            "after": _score(learned.after),
            "better": learned.better,
            "values": [
                {
                    "name": one.name,
                    "key": one.key,
                    "sheet": one.sheet,
                    "likeliest": one.middle,
                    "low": one.low,
                    "high": one.high,
                    "learned": one.learned,
                    "write": one.write,
                }
                for one in learned.values
            ],
            "notes": list(learned.notes),
        },
        "log": {
            "rows": found.log.rows,
            "first": found.log.water.index[0].isoformat(),
            "last": found.log.water.index[-1].isoformat(),
            "took": [as_option(one) for one in found.log.interpretation],
            "repairs": [as_option(one.sentence) for one in found.log.repairs],
        },
        "weather": {"place": record.place, "kind": record.kind, "source": record.source},
        "notes": [as_option(one) for one in (*found.notes, *record.notes, UNTESTED)],
        "caution": cautions.STANDING,
    }


def _score(score: Score | None) -> dict | None:
    if score is None:
        return None
    r_squared = None if math.isnan(score.r_squared) else score.r_squared
    return {"bias": score.bias, "rmse": score.rmse, "r_squared": r_squared, "count": score.count}
