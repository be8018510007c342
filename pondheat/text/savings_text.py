"""A comparison of two logs as plain text and as JSON: the answer first, then what it rests on."""

from __future__ import annotations

import math
import re

import pandas as pd

from pondheat.analysis.savings_comparison import READING, Amount, Proof, plain, printable
from pondheat.core import units
from pondheat.fish import cautions
from pondheat.meter.reading.meter_file import Readings
from pondheat.meter.savings.night_readings import COVERED, OPEN
from pondheat.season.weather import weather
from pondheat.text.summary import wrapped

_WEATHER_ALONE = "The weather alone"
_NAMED = re.compile(rf"\b({'|'.join(READING)})=\s*|\b({'|'.join(name for name in READING if '_' in name)})\b")


def as_option(sentence: str) -> str:
    """A sentence that names what `meter.reading.meter_file.read` can be told, with the names of the command line.

    >>> as_option('Give dates="day first" or dates="month first".')
    'Give --dates "day first" or --dates "month first".'
    """
    return _NAMED.sub(
        lambda found: "--" + (found[1] or found[2]).replace("_", "-") + (" " if found[1] else ""), sentence
    )


def proof_text(proof: Proof) -> str:
    """What `python -m pondheat compare` prints."""
    found = proof.comparison
    lines = [*wrapped(proof.verdict), *_answer(proof), "", "Six ways to compare, the fair ones first"]
    lines.append(f"  {'way':<42}{'saving':>10}  {100 * found.confidence:.0f} % sure between")
    for one in found.outcomes:
        fair = "fair" if one.method.fair else "misleads"
        lines.append(f"  {one.method.name:<42}{_percent(one.saving):>10}  {_percent(one.low)} and {_percent(one.high)}")
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
    for one, name, which in zip(proof.readings, proof.names, _spells(proof)):
        lines += ["", f"{name} ({which})", *_read(one)]
    lines += ["", "Power and money"]
    for which in (OPEN, COVERED):
        lines += wrapped(f"{which.capitalize()}: {proof.statistics[which].text()}", "  ")
        if proof.costs is not None:
            cost = proof.costs[which]
            rates = "; ".join(
                f"{name} {units.digits(row.kwh, 1)} kWh, {units.money(row.money, proof.sheet.currency)}"
                for name, row in cost.by_rate.iterrows()
                if row.kwh
            )
            lines += wrapped(f"At {rates}.", "  ")
            lines += [line for note in cost.notes for line in wrapped(note, "  ")]
    about_nights = [one for one in found.sentences if not one.startswith(_WEATHER_ALONE)]  # said above
    for heading, sentences in (
        ("Nights", about_nights),
        ("What else to know", proof.notes),
        ("Weather", [weather.summary(proof.weather) + ".", *proof.weather.notes]),
    ):
        if sentences:
            lines += ["", heading, *(line for one in sentences for line in wrapped(as_option(one), "- "))]
    lines += ["", *wrapped(cautions.STANDING)]
    return "\n".join(map(plain, lines))


def _spells(proof: Proof) -> tuple[str, ...]:
    return (OPEN, COVERED) if len(proof.readings) == 2 else ("both kinds of nights",)


def _answer(proof: Proof) -> list[str]:
    """The saving by night, the weather's part, and what makes the figures doubtful."""
    if proof.house is not None:
        return ["", *wrapped(proof.house)]
    saved, money, alone = proof.saved_kwh, proof.saved_money, proof.comparison.weather_alone
    begin = "Each" if proof.shown else "By these figures, which prove nothing, a"
    sentence = f"{begin} covered night saved {_span(saved, lambda kwh: units.significant(kwh, 2))} kWh"
    if money is not None:
        sentence += f", or {_span(money, lambda amount: units.money(amount, proof.sheet.currency))}"
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


def _span(amount: Amount, write) -> str:
    if not (math.isfinite(amount.low) and math.isfinite(amount.high)):
        return f"{write(amount.value)} (how sure is not known)"
    return f"{write(amount.value)} ({write(amount.low)} to {write(amount.high)})"


def _read(one: Readings) -> list[str]:
    lines = []
    for line in one.text().split("\n"):
        heading = line.endswith(":") or not line
        lines += [] if not line else wrapped(as_option(line), "  " if heading else "  - ")
    return lines


def _percent(share: float) -> str:
    if not math.isfinite(share):
        return "–" if math.isnan(share) else "anything"
    return f"{units.digits(100 * share)} %"


# --- JSON -------------------------------------------------------------------------------------------------------------


def as_dict(proof: Proof) -> dict:
    """The comparison as plain values for JSON: shares as fractions, kWh, money in the sheet's currency; null where a
    number is not known or has no bound."""
    found, record, days = proof.comparison, proof.weather, proof.comparison.nights.days
    first = found.outcomes[0]
    return {
        "verdict": proof.verdict,
        "shown": proof.shown,
        "confidence": found.confidence,
        "saving": {
            "share": _number(first.saving),
            "low": _number(first.low),
            "high": _number(first.high),
            "kwh_per_covered_night": _amount(proof.saved_kwh),
            "money_per_covered_night": _amount(proof.saved_money),
            "currency": proof.sheet.currency.code,
        },
        "weather": {
            "place": record.place,
            "kind": record.kind,
            "source": record.source,
            "of_these_days": proof.weather_of_these_days,
            "covered_over_open": _number(found.weather_alone),
        },
        "ways": [
            {
                "way": one.method.name,
                "fair": one.method.fair,
                "why": one.method.why,
                **{
                    name: _number(getattr(one, name))
                    for name in ("saving", "low", "high", "independent", "cv_rmse", "nmbe", "uncertainty")
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
        "files": [_file(one, name, which) for one, name, which in zip(proof.readings, proof.names, _spells(proof))],
        "spells": {which: _spell(proof, which) for which in (OPEN, COVERED)},
        "sheet": {
            "name": proof.sheet.name,
            "timezone": proof.sheet.timezone,
            "heater": proof.sheet.heater.kind,
            "surface_area_m2": proof.sheet.pond.surface_area,
            "volume_m3": proof.sheet.pond.volume,
        },
        "whole_house": proof.house,
        "notes": [as_option(one) for one in (*found.sentences, *proof.notes, *record.notes)],
        "caution": cautions.STANDING,
    }


def _file(one: Readings, name: str, which: str) -> dict:
    last = one.use.index[-1] + pd.Timedelta(hours=float(one.use["hours"].iloc[-1]))
    return {
        "name": printable(name),
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


def _spell(proof: Proof, which: str) -> dict:
    told = proof.statistics[which]
    cost = None
    if proof.costs is not None:
        found = proof.costs[which]
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


def _amount(amount: Amount | None) -> dict | None:
    return None if amount is None else {name: _number(getattr(amount, name)) for name in ("value", "low", "high")}


def _number(value) -> float | None:
    value = float(value)
    return value if math.isfinite(value) else None
