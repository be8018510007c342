"""Speeds, printed and never asserted: a slow machine must not fail a test. Run with  pytest tests/bench -s

Each is a ratio to a plain alternative in the same run, beside the time itself. What is asserted is only that both
alternatives give the same answer.
"""

import resource
import sys
import time

import numpy as np
import pandas as pd
import pytest
from scipy.integrate import solve_ivp

from pondheat.core.compilation import on_floats
from pondheat.heat import balance
from pondheat.heat.balance import Pond, Wall
from pondheat.heat.covers import Cover
from pondheat.heat.routes import Moment, route_losses
from pondheat.season.ensemble import run_ensemble
from pondheat.season.heaters import Heater
from pondheat.season.schedule import covered_share
from pondheat.season.simulate import air_of, simulate
from pondheat.season.weather import weather

LID = Cover("sheet", u_value=1.4, light=0.7, gap_air_flow=0.0005)
CASES = {
    "1 m³ tank, bare": (Pond(1.0, 1.0, (Wall(5, 0.5),)), 22.0, 3000.0),
    "1 m³ tank, covered at night": (Pond(1.0, 1.0, (Wall(5, 0.5),), cover=LID), 22.0, 3000.0),
    "1 m³ tank, 0.4 m shallow": (Pond(2.5, 1.0, (Wall(3, 0.5),)), 22.0, 6000.0),
    "1 m³ tank, heater too small": (Pond(1.0, 1.0, (Wall(5, 0.5),), cover=LID), 22.0, 300.0),
    "20 m³ pond, covered at night": (Pond(15.0, 20.0, (Wall(24, 0.6, "ground"),), cover=LID), 18.0, 12000.0),
    "20 m³ pond, heater too small": (Pond(15.0, 20.0, (Wall(24, 0.6, "ground"),), cover=LID), 18.0, 2500.0),
    "10 m² pond without heat": (Pond(10.0, 12.0, (Wall(16, 0.5),)), np.nan, 0.0),
}


def best_of(count, work):
    """Shortest time of several runs [s], and the last result."""
    times = []
    for _ in range(count):
        start = time.perf_counter()
        result = work()
        times.append(time.perf_counter() - start)
    return min(times), result


def solved(pond, air, covered, set_point, power, hours, start):
    """A plain alternative: scipy's solver hour by hour at rtol 1e-8, with the thermostat as a steep linear gain."""
    prepared = balance.prepare(pond, air, covered)
    losses, gains = on_floats(route_losses), prepared.solar_gain
    temp, energy = start, 0.0
    for hour, gain in enumerate(gains[:hours].tolist()):
        moment = Moment(*(float(values[hour]) for values in prepared.moment))

        def slope(t, y, moment=moment, gain=gain):
            need = sum(losses(y[0], moment, prepared.coefficients)[0]) - gain
            heat = min(max(need + 2e5 * (set_point - y[0]), 0.0), power) if power else 0.0
            return [(heat - need) / pond.heat_capacity, heat]

        result = solve_ivp(slope, (0.0, 3600.0), [temp, 0.0], method="LSODA", rtol=1e-8, atol=1e-6)
        temp, energy = result.y[0, -1], energy + result.y[1, -1]
    return energy / 3.6e6


@pytest.mark.parametrize("case", CASES)
def test_a_year_of_one_pond(case, year, capsys):
    pond, set_point, power = CASES[case]
    air, covered = air_of(year, 10.0), covered_share(year.index, 20 * 60, 8 * 60)
    start = 12.0 if np.isnan(set_point) else set_point
    took, frame = best_of(
        9,
        lambda: simulate(
            pond, year, air, set_point=set_point, heater=Heater(power=power), covered=covered, start_temp=start
        ),
    )
    hours = 240
    other, energy = best_of(1, lambda: solved(pond, air, covered, set_point, power, hours, start))
    assert frame.heater.iloc[:hours].sum() / 1000 == pytest.approx(energy, rel=2e-3, abs=0.05)
    with capsys.disabled():
        print(
            f"\n  {case:<30} {1000 * took:6.1f} ms a year of {len(year)} h; "
            f"solve_ivp {other / took * len(year) / hours:6.0f} times as long"
        )


def test_a_thousand_scenario_years(year, capsys):
    rng = np.random.default_rng(0)
    # all that `analysis.samples.samples_of` draws; a cover's own make no difference to the open pond's
    samples = {
        "evaporation": rng.choice(["ryan_harleman", "penman_1956", "rafferty_boyd", "ashrae_quiet"], 1000),
        "wind_shelter": rng.uniform(0.2, 0.8, 1000),
        "sky_view": rng.uniform(0.6, 1.0, 1000),
        "wall_factor": rng.uniform(0.8, 1.2, 1000),
        "u_value": rng.uniform(1.2, 1.6, 1000),
        "gap_air_flow": rng.uniform(2e-4, 1.5e-3, 1000),
        "year_warmth": rng.normal(0.0, 0.9, 1000),
    }
    pond = CASES["20 m³ pond, covered at night"][0]
    air = air_of(year, 10.0)
    for name, covered in (("open", 0.0), ("covered at night", covered_share(year.index, 20 * 60, 8 * 60))):
        took, runs = best_of(
            3, lambda: run_ensemble(pond, air, samples, set_point=18.0, limit=12e3, covered=covered, start_temp=18.0)
        )
        single, _ = best_of(
            3,
            lambda: simulate(
                pond, year, air, set_point=18.0, heater=Heater(power=12e3), covered=covered, start_temp=18.0
            ),
        )
        assert np.isfinite(runs.heat_kwh).all()
        with capsys.disabled():
            print(
                f"\n  1000 scenario-years, {name:<18} {took:5.2f} s; one by one {1000 * single / took:5.1f} times that"
            )
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / (1 << 20 if sys.platform == "darwin" else 1 << 10)
    with capsys.disabled():
        print(f"  most memory so far {peak:.0f} MB")


def test_reading_weather(capsys, tmp_path):
    """The year that comes with the library, and ten-minute rows of a leap year as a CSV, beside pandas alone."""

    def default():
        weather.built_in_record.cache_clear()
        return weather.read("potsdam", timezone="Europe/Berlin", year=2025)

    index = pd.date_range("2024-01-01", periods=52_704, freq="10min")
    table = pd.DataFrame(
        {"air_temp [°C]": 10.0, "rel_humidity [%]": 80.0, "wind_speed [m/s at 10 m]": 2.0, "solar [W/m²]": 0.0},
        index=index.rename("time"),
    )
    path = tmp_path / "minutes.csv"
    path.write_text("# latitude: 52\n# longitude: 13\n# altitude: 80 m\n" + table.to_csv(), encoding="utf-8")
    plain, rows = best_of(3, lambda: pd.read_csv(path, comment="#", index_col=0, parse_dates=True))
    took, found = best_of(3, lambda: weather.read(str(path), timezone="UTC", year=2024))
    assert len(rows) == 6 * len(found.hours)
    year_took, year = best_of(3, default)
    assert len(year.hours) == 8760
    with capsys.disabled():
        print(
            f"\n  the library's year {1000 * year_took:.0f} ms; ten-minute rows of a year {took:.2f} s, "
            f"{took / plain:.0f} times pandas alone"
        )
