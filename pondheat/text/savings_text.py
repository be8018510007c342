"""A comparison of two logs as plain text and as plain data: the answer first, then what it is based on."""

from __future__ import annotations

import math
import re
from collections.abc import Callable

import pandas as pd

from pondheat.analysis.comparison_files import READING
from pondheat.analysis.printable import printable_name, without_controls
from pondheat.analysis.savings_comparison import Interval, SavingsComparison
from pondheat.core import units
from pondheat.core.likely import MEANING
from pondheat.fish import cautions
from pondheat.meter.reading.meter_file import Readings
from pondheat.meter.savings.night_readings import COVERED, OPEN
from pondheat.season.weather import weather
from pondheat.text.layout import wrapped

_WEATHER_ALONE = "The weather alone"
# A saving that is shown leads to work on the cover, and a log to work at the heater's plug.
_CAUTIONS = ("electricity", "children", "gas_exchange", "structure_and_wind")
_NAMED = re.compile(rf"\b({'|'.join(READING)})=\s*|\b({'|'.join(name for name in READING if '_' in name)})\b")


def as_option(sentence: str) -> str:
    """A sentence with the options of `meter.reading.meter_file.read` named as those of the command line.

    >>> as_option('Give dates="day first" or dates="month first".')
    'Give --dates "day first" or --dates "month first".'
    """
    return _NAMED.sub(
        lambda found: "--" + (found[1] or found[2]).replace("_", "-") + (" " if found[1] else ""), sentence
    )


def comparison_text(result: SavingsComparison) -> str:
    """The text that `python -m pondheat compare` prints."""
    found = result.comparison
    lines = [*wrapped(result.verdict), *_answer(result), "", "Six ways to compare, the fair ones first"]
    lines.append(f"  {'way':<42}{'saving':>10}  likely ({MEANING})")
    for one in found.outcomes:
        fair = "fair" if one.method.fair else "misleads"
        lines.append(f"  {one.method.name:<42}{_percent(one.saving):>10}  {_percent(one.low)} to {_percent(one.high)}")
        lines += wrapped(f"{fair}: {one.method.why}", "      ")
    kept = found.nights.days[~found.nights.days["forgotten"]]
    lines += ["", f"  {'each night':<42}{'open':>12}{'covered':>12}"]
    for column, words, over in (
        ("kwh", "read on the meter, kWh", None),
        ("used", "heat used, stored heat allowed for, kWh", None),
        ("open_need", "the open pond would have needed, kWh", None),
        ("degree_hours", "water warmer than the air, K", "hours"),
    ):
        spells = [kept[kept["label"] == which] for which in (OPEN, COVERED)]
        means = [part[column].sum() / (part[over].sum() if over else len(part)) for part in spells]
        lines.append(f"  {words:<42}" + "".join(f"{units.digits(mean, 1):>12}" for mean in means))
    for readings, name, which in zip(result.readings, result.names, _spells(result)):
        lines += ["", f"{name} ({which})", *_reading_lines(readings)]
    lines += ["", "Power and money"]
    for which in (OPEN, COVERED):
        lines += wrapped(f"{which.capitalize()}: {result.statistics[which].text()}", "  ")
        if result.costs is not None:
            cost = result.costs[which]
            rates = "; ".join(
                f"{name} {units.digits(row.kwh, 1)} kWh, {units.money(row.money, result.sheet.currency)}"
                for name, row in cost.by_rate.iterrows()
                if row.kwh
            )
            lines += wrapped(f"At {rates}.", "  ")
            lines += [line for note in cost.notes for line in wrapped(note, "  ")]
    about_nights = [one for one in found.sentences if not one.startswith(_WEATHER_ALONE)]  # that one is printed above
    for heading, sentences in (
        ("Nights", about_nights),
        ("What else to know", result.notes),
        ("Weather", [weather.summary(result.weather) + ".", *result.weather.notes]),
    ):
        if sentences:
            lines += ["", heading, *(line for one in sentences for line in wrapped(as_option(one), "- "))]
    lines += ["", *wrapped(cautions.STANDING)]
    for key in _CAUTIONS:
        caution = cautions.CAUTIONS[key]
        lines += wrapped(f"{caution.title}. {caution.text}")
    return "\n".join(map(without_controls, lines))


def _spells(result: SavingsComparison) -> tuple[str, ...]:
    """What each file holds: open nights, covered nights, or both."""
    return (OPEN, COVERED) if len(result.readings) == 2 else ("both kinds of nights",)


def _answer(result: SavingsComparison) -> list[str]:
    """The saving per night and the weather's part, or why there is none to give."""
    if result.house is not None:
        return ["", *wrapped(result.house)]
    saved, money, alone = result.saved_kwh, result.saved_money, result.comparison.weather_alone
    begin = "Each" if result.shown else "By these figures, which prove nothing, a"
    sentence = f"{begin} covered night saved {_span(saved, lambda kwh: units.significant(kwh, 2))} kWh"
    if money is not None:
        sentence += f", or {_span(money, lambda amount: units.money(amount, result.sheet.currency))}"
    milder = "milder" if alone < 1 else "harsher"
    return [
        "",
        *wrapped(
            f"{sentence}. "
            + (
                f"Without any cover the {milder} weather of the covered nights would have made them use "
                f"{_percent(abs(alone - 1))} {'less' if alone < 1 else 'more'} than the open ones."
                if round(abs(alone - 1), 2)
                else "The weather of both kinds of nights would have cost an open pond the same."
            )
        ),
    ]


def _span(amount: Interval, write: Callable[[float], str]) -> str:
    """A value with its interval; write: turns a number into text."""
    if not (math.isfinite(amount.low) and math.isfinite(amount.high)):
        return f"{write(amount.value)} (how sure is not known)"
    return f"{write(amount.value)} ({write(amount.low)} to {write(amount.high)})"


def _reading_lines(one: Readings) -> list[str]:
    """What was read from one file, and how."""
    lines = []
    for line in one.text().split("\n"):
        heading = line.endswith(":") or not line
        lines += [] if not line else wrapped(as_option(line), "  " if heading else "  - ")
    return lines


def _percent(share: float) -> str:
    """A share in per cent; “anything” where there is no bound, a dash where it is not known."""
    if not math.isfinite(share):
        return "–" if math.isnan(share) else "anything"
    return f"{units.digits(100 * share)} %"


# --- JSON -------------------------------------------------------------------------------------------------------------


def as_dict(result: SavingsComparison) -> dict:
    """The comparison as plain data for JSON: shares as fractions, kWh, money in the sheet's currency.

    null where a number is not known or has no bound.
    """
    found, record, days = result.comparison, result.weather, result.comparison.nights.days
    first = found.outcomes[0]
    return {
        "verdict": result.verdict,
        "shown": result.shown,
        "confidence": found.confidence,
        "saving": {
            "share": _number(first.saving),
            "low": _number(first.low),
            "high": _number(first.high),
            "kwh_per_covered_night": _amount(result.saved_kwh),
            "money_per_covered_night": _amount(result.saved_money),
            "currency": result.sheet.currency.code,
        },
        "weather": {
            "place": record.place,
            "kind": record.kind,
            "source": record.source,
            "of_these_days": result.weather_of_these_days,
            "covered_over_open": _number(found.weather_alone),
        },
        "ways": [
            {
                "way": one.method.name,
                "fair": one.method.fair,
                "why": one.method.why,
                **{
                    name: _number(getattr(one, name))
                    for name in ("saving", "low", "high", "proof_low", "independent", "cv_rmse", "nmbe", "uncertainty")
                },
            }
            for one in found.outcomes
        ],
        "nights": [
            {
                "date": f"{date:%Y-%m-%d}",
                "spell": row["label"],
                "forgotten": bool(row["forgotten"]),
                **{
                    f"{name}_kwh" if name not in ("hours", "degree_hours", "kwh") else name: _number(row[name])
                    for name in ("kwh", "heat", "stored", "used", "open_need", "degree_hours", "hours")
                },
            }
            for date, row in days.iterrows()
        ],
        "files": [_file(one, name, which) for one, name, which in zip(result.readings, result.names, _spells(result))],
        "spells": {which: _spell(result, which) for which in (OPEN, COVERED)},
        "sheet": {
            "name": result.sheet.name,
            "timezone": result.sheet.timezone,
            "heater": result.sheet.heater.kind,
            "surface_area_m2": result.sheet.pond.surface_area,
            "volume_m3": result.sheet.pond.volume,
        },
        "whole_house": result.house,
        "notes": [as_option(one) for one in (*found.sentences, *result.notes, *record.notes)],
        "caution": cautions.STANDING,
    }


def _file(one: Readings, name: str, which: str) -> dict:
    last = one.use.index[-1] + pd.Timedelta(hours=float(one.use["hours"].iloc[-1]))
    return {
        "name": printable_name(name),
        "spell": which,
        "kind": one.kind,
        "first": one.use.index[0].isoformat(),
        "end": last.isoformat(),
        **{key: _number(value) for key, value in one.totals.items()},
        "took": [as_option(line) for line in one.interpretation],
        "repairs": [
            {"kind": mend.kind, "sentence": as_option(mend.sentence), "rows": list(mend.rows), "kwh": _number(mend.kwh)}
            for mend in one.repairs
        ],
    }


def _spell(result: SavingsComparison, which: str) -> dict:
    told = result.statistics[which]
    cost = None
    if result.costs is not None:
        found = result.costs[which]
        cost = {
            "energy_money": _number(found.energy_money),
            "notes": list(found.notes),
            "by_rate": [
                {"rate": str(rate), "kwh": _number(row.kwh), "money": _number(row.money)}
                for rate, row in found.by_rate.iterrows()
            ],
        }
    return {
        "kwh": _number(told.kwh),
        "hours": _number(told.hours),
        **{f"{name}_w": _number(getattr(told, name)) for name in ("mean", "median", "highest", "lowest")},
        "cost": cost,
    }


def _amount(amount: Interval | None) -> dict | None:
    return None if amount is None else {name: _number(getattr(amount, name)) for name in ("value", "low", "high")}


def _number(value) -> float | None:
    value = float(value)
    return value if math.isfinite(value) else None
