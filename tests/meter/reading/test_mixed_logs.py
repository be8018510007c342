"""Logs drawn at random from everything that suppliers and loggers vary, each read as its generator's truth.

Spelling of times, separator, decimal mark, order, clock changes, counter, use or power, marks of estimates and a column
of units are drawn independently: what is read must be the truth, and nothing may be refused that the file settles.
"""

import os
import random

import numpy as np
import pandas as pd
import pytest
from usual_cases import some_of

from pondheat.meter.reading import meter_file

ZONE = "Europe/London"
STARTS = ("2025-01-10", "2025-03-28", "2025-10-24", "2025-06-12")
FORMS = (
    "%Y-%m-%d %H:%M", "%d.%m.%Y %H:%M", "%d/%m/%Y %H:%M", "%m/%d/%Y %I:%M %p", "%Y%m%d%H%M", "%d %b %Y %H:%M",
    "%a %d.%m.%Y %H:%M", "%d.%m.%Y %H.%M", "%d/%m/%y %H:%M", "%y-%m-%d %H:%M", "%d.%m.%Y %H:%M Uhr", "days", "epoch",
    "offset", "apart",
)  # fmt: skip
NAMES = {"interval": ("use", "Verbrauch"), "counter": ("reading", "index"), "power": ("power",)}
MARKS = (
    ("E", "A", "read type"),
    ("estimated", "actual", ""),
    ("geschätzt", "abgelesen", "status"),
    ("1", "0", "estimated"),
)


def time_columns(rng: random.Random, stamps: pd.DatetimeIndex) -> tuple[str, dict[str, list[str]]]:
    """A spelling, and the columns of times in it."""
    form, local = rng.choice(FORMS), stamps.tz_localize(None)
    if form == "days":
        return form, {"time": [f"{day:.7f}" for day in (local - pd.Timestamp("1899-12-30")) / pd.Timedelta("1D")]}
    if form == "epoch":
        return form, {"time": [str(int(at.timestamp())) for at in stamps]}
    if form == "offset":
        return form, {"time": [at.isoformat() for at in stamps]}
    if form == "apart":
        return form, {"Datum": local.strftime("%Y%m%d").tolist(), "Uhrzeit": local.strftime("%H%M").tolist()}
    return form, {"time": local.strftime(form).tolist()}


def drawn(seed: int) -> tuple[str, pd.Series, dict[str, str]]:
    """A log's text, its truth (energy [kWh] by start) and the options that it leaves open."""
    rng, draw = random.Random(seed), np.random.default_rng(seed)
    minutes, kind = rng.choice((60, 30, 15)), rng.choice(tuple(NAMES))
    begin = pd.Timestamp(rng.choice(STARTS), tz=ZONE)
    index = pd.date_range(begin, begin + pd.DateOffset(days=rng.choice((3, 12))), freq=f"{minutes}min")
    kwh = (
        np.round(np.where(draw.random(len(index) - 1) < 0.3, 0, draw.uniform(0.1, 2.9, len(index) - 1)), 3)
        * minutes
        / 60
    )
    values = (
        np.append(0, np.cumsum(kwh)) + 5321.4
        if kind == "counter"
        else kwh * (60_000 / minutes if kind == "power" else 1)
    )
    stamps = index if kind == "counter" else index[:-1]
    guessed = np.zeros(len(values), bool)
    marks = rng.choice((None, *MARKS))
    for first in draw.integers(2, len(values) - 4, 3 if marks else 0):
        guessed[first : first + 2] = True
    truth = pd.Series(kwh, index[:-1])[~guessed[: len(kwh)]]
    if kind == "counter":
        truth = pd.Series(np.diff(values[~guessed]), index[~guessed][:-1])
    form, columns = time_columns(rng, stamps)
    separator, unit, name = rng.choice((",", ";", "\t")), "W" if kind == "power" else "kWh", rng.choice(NAMES[kind])
    apart = rng.random() < 0.3
    numbers = [f"{one:.3f}" for one in np.where(guessed, values + 3, values)]
    comma = separator != "," and rng.random() < 0.5
    columns[name if apart else f"{name} [{unit}]"] = [one.replace(".", ",") if comma else one for one in numbers]
    columns |= {"unit": [unit] * len(values)} if apart else {}
    columns |= {marks[2]: [marks[0] if one else marks[1] for one in guessed]} if marks else {}
    rows = list(zip(*columns.values()))[:: rng.choice((1, 1, 1, -1))]
    above = rng.choice(("", "", "Export\nMeter: 7\n\n"))
    given = {} if kind == "power" else {"kind": kind}
    if form in ("%d/%m/%Y %H:%M", "%d/%m/%y %H:%M", "%m/%d/%Y %I:%M %p"):
        given["dates"] = "month first" if form.startswith("%m") else "day first"
    return above + "\n".join(map(separator.join, [tuple(columns), *rows])) + "\n", truth, given


def require_truth(seed: int) -> None:
    text, truth, given = drawn(seed)
    found = meter_file.read(text.encode(), ZONE, **given)
    assert found.use.index.equals(truth.index.rename("start")), (seed, text[:300], found.text())
    assert np.allclose(found.use["kwh"], truth, atol=2e-3), (seed, text[:300], found.text())


@pytest.mark.parametrize("seed", some_of(range(40), *range(16)))
def test_a_log_of_any_make(seed):
    require_truth(seed)


@pytest.mark.long
def test_many_logs_of_any_make():
    first = int(os.environ.get("PONDHEAT_SEED") or random.randrange(10**6))
    print(f"seeds from {first}")
    for seed in range(first, first + 1000):
        require_truth(seed)
