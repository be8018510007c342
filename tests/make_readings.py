"""Write the invented logs of data/readings/, the same bytes each time, and a table of their true values.

    python tests/make_readings.py            # writes; prints the truth
    python tests/make_readings.py FOLDER     # the same somewhere else

Every log is of a pond that differs from its sheet as real ones do (`synthetic_logs.perturbed_pond`), in weather that
differs from the record a little each day (`perturbed_weather`). The keeper has the sheet, the weather of the
built-in record, and the list of nights on which the cover was to lie; one of these was forgotten in the logs whose name
says covered.
"""

from __future__ import annotations

import datetime as dt
import sys
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pandas as pd

from pondheat.core.places import DATA
from pondheat.meter.savings import planning, synthetic_logs
from pondheat.season import simulate
from pondheat.season.schedule import covered_share
from pondheat.season.weather import weather
from pondheat.sheet import pond_sheet

FOLDER = DATA / "readings"
SPIN_UP = 48  # hours, so that the log does not begin with a pond just at its set point
STEP = {"garden_pond": 0.1, "growing_on_tank": 0.01}  # kWh of the register
DIGITS = {"garden_pond": 4, "growing_on_tank": 3}  # of the counter before the point
# kWh to the counter's highest reading, so that it rolls over
BEFORE_TOP = {"garden_pond": 300.0, "growing_on_tank": 60.0}


@dataclass(frozen=True)
class Log:
    """One log to be written: its pond, first night, number of nights and special features."""

    pond: str
    kind: str
    first: dt.date
    nights: int
    seed: int

    @property
    def name(self) -> str:
        return f"{self.pond}_{self.kind}.csv"


LOGS = tuple(
    Log(pond, kind, dt.date.fromisoformat(first), nights, seed)
    for kind, first, nights in (
        ("open", "2026-01-05", 14),
        ("covered_one_forgotten", "2026-01-19", 14),
        ("clock_change", "2025-10-12", 28),
        ("counter", "2026-02-09", 16),
    )
    for pond, seed in (("garden_pond", 11), ("growing_on_tank", 12))
)


def made(log: Log) -> tuple[str, dict[str, object]]:
    """The file's text, and the row of truth that belongs to it."""
    keeper = pond_sheet.read(DATA / "ponds" / f"{log.pond}.toml")
    record = weather.read(keeper.weather, timezone=keeper.timezone, year=2025)
    last = log.first + dt.timedelta(days=log.nights)
    hours = weather.season_hours(record, log.first - dt.timedelta(days=SPIN_UP // 24), last, 0)
    hours = hours.iloc[12:-12]  # a night's reading goes from noon to noon
    index = hours.index
    dates = [log.first + dt.timedelta(days=k) for k in range(log.nights)]
    order = {"open": ["open"] * log.nights, "covered_one_forgotten": ["covered"] * log.nights}.get(
        log.kind, planning.order_of("blocks of two", log.nights, log.seed)
    )
    told = [date for date, label in zip(dates, order) if label == "covered"]
    forgotten = [told[len(told) // 2 + 1]] if "forgotten" in log.kind else []
    plan = keeper.cover_plan

    def laid(nights) -> np.ndarray:
        every = pd.date_range(index[0].date() - dt.timedelta(days=1), last).date
        return covered_share(index, plan.on, plan.off, exceptions=[date for date in every if date not in nights])

    base_load = 40.0 if log.kind == "clock_change" and log.pond == "garden_pond" else 0.0
    air = synthetic_logs.perturbed_weather(simulate.air_of(hours, record.wind_height), log.seed + 100)
    made = synthetic_logs.synthetic_log(
        synthetic_logs.perturbed_pond(keeper.pond, log.seed),
        index,
        air,
        laid([night for night in told if night not in forgotten]),
        schedule=covered_share(index, plan.on, plan.off),
        set_point=keeper.set_point[0][1],
        heater=keeper.heater,
        pump_heat=keeper.pump_heat,
        base_load=base_load,
        thermostat_band=0.4,
        noise=0.04,
        gaps=log.kind == "clock_change",
        counter_step=STEP[log.pond],
        seed=log.seed,
        spin_up=SPIN_UP,
    )
    use = made.use
    really = [night for night in told if night not in forgotten]
    local = index[SPIN_UP:].tz_localize(None)
    in_covered = np.isin((local - pd.Timedelta("12h")).date, really)
    truth = {
        "file": log.name,
        "base_load_w": f"{base_load:.0f}",
        "open_kwh": f"{made.truth['open_kwh'].sum():.1f}",
        "always_covered_kwh": f"{made.truth['covered_kwh'].sum():.1f}",
        "saving_in_covered_nights": f"{made.saving(in_covered):.3f}" if really else "",
        "covered_nights": " ".join(map(str, told)),
        "forgotten_nights": " ".join(map(str, forgotten)),
    }
    return _text(log, use, keeper.name), truth


def _text(log: Log, use: pd.DataFrame, name: str) -> str:
    places = len(f"{STEP[log.pond]:g}".split(".")[1])
    if log.kind == "counter":
        top = 10.0 ** DIGITS[log.pond]
        value = (np.cumsum(use["kwh"].to_numpy()) + top - BEFORE_TOP[log.pond]) % top
        stamps, column = use.index + pd.Timedelta("1h"), f"counter kWh ({DIGITS[log.pond]} digits)"
    else:
        value, stamps, column = use["kwh"].to_numpy(), use.index, "kWh"
    kept = "counter read at the time given" if log.kind == "counter" else "kWh of the hour that begins then"
    lines = [
        f"# Invented log. {name}: meter of the heater; {kept}, local clock time (Europe/London)",
        f"time,{column},water temp °C",
    ]
    lines += [
        f"{time:%Y-%m-%d %H:%M},{kwh:.{places}f},{temp:.1f}"
        for time, kwh, temp in zip(stamps, value, use["water_temp"])
    ]
    return "\n".join(lines) + "\n"


def write(folder: Path = FOLDER) -> list[dict[str, object]]:
    """Write all logs and truth.csv; give the rows of truth."""
    folder.mkdir(parents=True, exist_ok=True)
    rows = []
    for log in LOGS:
        text, truth = made(log)
        (folder / log.name).write_text(text, encoding="utf-8", newline="\n")
        rows.append(truth)
    lines = [
        "# Invented: what is true of the invented logs; energy of the heater over the whole log had the cover "
        "never, or every night, been laid",
        ",".join(rows[0]),
    ]
    lines += [",".join(str(value) for value in row.values()) for row in rows]
    (folder / "truth.csv").write_text("\n".join(lines) + "\n", encoding="utf-8", newline="\n")
    return rows


if __name__ == "__main__":
    for row in write(Path(sys.argv[1]) if len(sys.argv) > 1 else FOLDER):
        print("; ".join(f"{name} {value}" for name, value in row.items() if value))
