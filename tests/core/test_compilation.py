"""One source in three forms: the cache follows every edit, and without numba everything still works."""

import os
import shutil
import subprocess
import sys
import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import numpy as np
import pytest

from pondheat.core import compilation, files
from pondheat.heat import sky, surface
from pondheat.heat.balance import Pond, Wall
from pondheat.heat.covers import Cover
from pondheat.heat.moist_air import saturation_curve
from pondheat.heat.routes import Coefficients, Moment
from pondheat.season import ensemble, hour_step
from pondheat.season.simulate import air_of, integrate
from pondheat.season.simulate import simulate as run_season

needs_numba = pytest.mark.skipif(not compilation.available(), reason="no numba here")
POND = Pond(
    10.0, 12.0, (Wall(15.6, 0.5), Wall(10.0, 0.4, "ground")), 0.002, 0.5, cover=Cover(gap_air_flow=0.002), sky_view=0.8
)


def states(count: int, seed: int = 1) -> dict[str, np.ndarray]:
    """Hours of every kind: frozen, cooling, held, pushed by the sun, with a heater too small."""
    rng = np.random.default_rng(seed)
    ice = np.where(rng.random(count) < 0.25, rng.uniform(0, 60, count), 0.0)
    set_point = rng.choice([-1e9, 0.5, 5.0, 18.0], count)
    temp = np.where(rng.random(count) < 0.3, np.maximum(set_point, 0.0), rng.uniform(0, 25, count))
    return {
        "temp": np.where(ice > 0, 0.0, temp),
        "ice": ice,
        "loss": rng.uniform(-3000, 6000, count),
        "slope": rng.uniform(20, 400, count),
        "gain": rng.uniform(0, 5000, count),
        "set_point": set_point,
        "limit": rng.choice([0.0, 500.0, 3000.0, 20_000.0], count),
        "capacity": rng.uniform(1e6, 8e7, count),
    }


@pytest.mark.parametrize("form", [compilation.on_floats, compilation.compiled])
def test_an_hour_is_the_same_in_every_form(form):
    given = states(3000)
    as_arrays = hour_step.hour_step(**given)
    step = form(hour_step.hour_step)
    if step is None:
        pytest.skip("no numba here")
    one_by_one = np.array([step(*map(float, hour)) for hour in zip(*given.values())]).T
    for whole, alone in zip(as_arrays, one_by_one):
        assert np.allclose(whole, alone, rtol=1e-9, atol=1e-9)


@pytest.mark.parametrize("function, error", [(np.cbrt, 1e-14), (compilation.rough_cbrt, 3e-5)])
def test_machine_code_takes_cube_roots(function, error):
    values = np.concatenate([10 ** np.random.default_rng(3).uniform(-12, 6, 500), [1.0, 8.0, 1e-190, 1e190]])
    root = compilation._IN_NUMBA[function]
    for sign in (1.0, -1.0):
        assert np.allclose([root(sign * value) for value in values], function(sign * values), rtol=error, atol=0.0)
    assert root(0.0) == root(1e-210) == 0.0
    with np.errstate(over="ignore"):
        assert np.isnan(root(np.float64("nan")))


def test_an_hour_keeps_its_energy():
    """Heat given and gained is lost or stored, whatever happens within the hour."""
    given = states(5000, 2)
    end, mean, ice, heat, kept = hour_step.hour_step(**given)
    stored = given["capacity"] * (end - given["temp"]) - hour_step._FUSION * (ice - given["ice"])
    lost = given["loss"] + given["slope"] * (mean - given["temp"]) - kept
    assert np.allclose((heat + given["gain"] - lost) * hour_step.HOUR, stored, rtol=1e-9, atol=1.0)
    assert np.all((heat >= -1e-9) & (heat <= given["limit"] + 1e-6) & (ice >= 0) & (end >= 0) & (kept >= 0))


def test_every_field_is_taken_from_its_own_column():
    count = 3
    columns = [np.arange(count) + 10.0 * place for place in range(max(len(Moment._fields), len(Coefficients._fields)))]
    weather = Moment(*columns[: len(Moment._fields)])
    here = hour_step.moment_at(weather, 2)
    assert here == tuple(values[2] for values in weather)
    by_kelvin = Moment(*(1000.0 * (place + 1) for place in range(len(here))))
    unchanged = ("wind", "pressure", "solar", "covered")
    for name, value in hour_step.warmer_moment(here, by_kelvin, 2.0, 0.25)._asdict().items():
        change = 0.0 if name in unchanged else 2.0 * getattr(by_kelvin, name)
        assert value == getattr(here, name) + change + (0.25 if name == "sky" else 0.0)
    ponds = Coefficients(*columns[: len(Coefficients._fields)])
    assert hour_step.pond_at(ponds, 1) == tuple(values[1] for values in ponds)


@needs_numba
def test_without_numba_seasons_and_ensembles_are_the_same(year, monkeypatch):
    hours = year.iloc[24 * 142 : 24 * 184]  # six weeks from January on
    air, covered = air_of(hours, 10.0), ((hours.index.hour >= 19) | (hours.index.hour < 8)).astype(float)
    rng, count = np.random.default_rng(5), 12
    samples = {
        "evaporation": np.resize(list(surface.EVAPORATION), count),
        "wind_shelter": rng.uniform(0.2, 1, count),
        "u_value": rng.uniform(1, 6, count),
        "gap_air_flow": rng.uniform(0, 0.01, count),
        "year_warmth": rng.normal(0, 1, count),
        "cover_used": np.resize([1.0, 0.0], count),
    }
    fixed = {"set_point": 18.0, "limit": 3000.0, "covered": covered, "weights": np.ones((len(hours), 2))}

    def results():
        season = run_season(POND, hours, air, set_point=18.0, covered=covered)
        return season, ensemble.run_ensemble(POND, air, samples, **fixed)

    season, many = results()
    monkeypatch.setenv("PONDHEAT_COMPILE", "0")
    assert compilation.compiled(hour_step.run_hours) is None
    plain_season, side_by_side = results()
    assert np.allclose(season, plain_season, rtol=1e-7, atol=1e-4)
    assert np.allclose(many.heat_kwh, side_by_side.heat_kwh, rtol=1e-6)
    assert np.allclose(many.weighted_kwh, side_by_side.weighted_kwh, rtol=1e-6)
    assert np.allclose(many.lowest_temp, side_by_side.lowest_temp, atol=1e-4)


def test_two_threads_at_once_and_dropped_work(year):
    air = air_of(year.iloc[: 24 * 30], 10.0)
    samples = {"wind_shelter": np.linspace(0.2, 1, 24)}

    def run(_=None):
        return ensemble.run_ensemble(POND, air, samples, set_point=18.0, limit=3000.0).heat_kwh

    alone = run()
    with ThreadPoolExecutor(2) as both:
        for heat in both.map(run, range(4)):
            assert np.array_equal(heat, alone)
    with pytest.raises(ensemble.Dropped):
        ensemble.run_ensemble(POND, air, samples, set_point=18.0, limit=3000.0, dropped=lambda: True)


def test_a_page_goes_on_with_floats_until_the_machine_code_is_there(year, monkeypatch):
    monkeypatch.setattr(compilation, "_state", {"pauses": True, "ready": False, "when_needed": None})
    asked: list[int] = []
    compilation.avoid_pauses(lambda: asked.append(1))
    for _ in range(3):
        assert compilation.fastest(hour_step.run_hours) == (compilation.on_floats(hour_step.run_hours), False)
    assert asked == [1]  # to compile in the background, once
    ensemble.warm_up()
    assert compilation.fastest(hour_step.run_hours)[1] == compilation.available()


@needs_numba
def test_a_page_has_the_model_compiled_by_another_process_once(tmp_path, monkeypatch):
    monkeypatch.setenv("PONDHEAT_CACHE", str(tmp_path))
    monkeypatch.setattr(compilation, "_state", {"pauses": False, "ready": False, "when_needed": None})
    done: list[str] = []

    def another_process(command, cwd, **_):
        assert command[0] == sys.executable and cwd == compilation.PACKAGE.parent
        compile(command[-1], "code", "exec")
        done.append("there")
        compilation.mark_filled(compilation.cache_folder())

    monkeypatch.setattr(ensemble.subprocess, "run", another_process)
    monkeypatch.setattr(ensemble, "warm_up", lambda: done.append("here"))
    ensemble.warm_up_aside()
    assert done == ["there", "here"]
    ensemble.warm_up_aside()
    assert done == ["there", "here", "here"]  # the cache is filled: this process takes the code from it

    monkeypatch.setenv("PONDHEAT_CACHE", str(tmp_path / "empty"))
    for wrong in (OSError("no more processes"), subprocess.TimeoutExpired("python", 1)):

        def no_process(*_, wrong=wrong, **__):
            raise wrong

        monkeypatch.setattr(ensemble.subprocess, "run", no_process)
        done.clear()
        ensemble.warm_up_aside()
        assert done == ["here"]


def test_a_cache_is_filled_by_one_process_at_a_time_and_a_dead_ones_claim_runs_out(tmp_path):
    order: list[str] = []

    def fill(name):
        with compilation.one_at_a_time(tmp_path, 60.0) as ours:
            if ours:
                time.sleep(0.5)
            order.append(f"{name} {ours}")

    with ThreadPoolExecutor(2) as both:
        both.submit(fill, "first")
        time.sleep(0.2)
        both.submit(fill, "second")
    assert order == ["first True", "second False"]
    (claim := tmp_path / "being-filled").touch()
    os.utime(claim, (0.0, 0.0))
    fill("third")
    assert order[-1] == "third True" and list(tmp_path.iterdir()) == []


def test_what_was_compiled_long_ago_is_removed(tmp_path):
    now, lately, long_ago = (tmp_path / f"compiled-{name}" for name in ("now", "lately", "long-ago"))
    for folder in (now, lately, long_ago, tmp_path / "units"):
        folder.mkdir()
    for folder in (long_ago, tmp_path / "units"):
        os.utime(folder, (0.0, 0.0))
    compilation.mark_filled(now)
    assert compilation.is_filled(now) and sorted(tmp_path.iterdir()) == [lately, now, tmp_path / "units"]


@needs_numba
def test_compiled_code_that_a_power_cut_damaged_is_compiled_anew(tmp_path, monkeypatch, request):
    import numba

    monkeypatch.setenv("PONDHEAT_CACHE", str(tmp_path))
    monkeypatch.setattr(numba.config, "CACHE_DIR", numba.config.CACHE_DIR)  # to have it as it was afterwards
    request.addfinalizer(compilation._prepare_cache.cache_clear)

    def start() -> None:
        """Use compiled code as a process does that has just begun."""
        for done in ("_inner_done", "_compiled_done"):
            monkeypatch.setattr(compilation, done, {})
        compilation._prepare_cache.cache_clear()
        assert compilation.compiled(sky.black_body)(0.0) > 300
        assert compilation.compiled(saturation_curve)(20.0)[0] > 2300

    start()
    for name, damage in (("black_body", b""), ("saturation_curve", bytes(100))):
        kept = [*tmp_path.rglob(f"*{name}*.nbi"), *tmp_path.rglob(f"*{name}*.nbc")]
        assert len(kept) >= 2
        for path in kept:
            path.write_bytes(damage)
    start()
    assert all(path.read_bytes().startswith(b"\x80") for path in tmp_path.rglob("*.nb[ic]"))


def test_the_cache_goes_where_it_can_be_written(tmp_path, monkeypatch):
    if not compilation.available():
        pytest.skip("no numba here")
    monkeypatch.setenv("PONDHEAT_CACHE", str(tmp_path / "own"))
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "user"))
    asked: list[Path] = []
    last = {"allowed": 0}

    def can_be_written(folder):
        asked.append(folder)
        return len(asked) > last["allowed"]

    monkeypatch.setattr(files, "_can_be_written", can_be_written)
    assert compilation.cache_folder() == tmp_path / "own" / f"compiled-{compilation.sources_hash()}"
    for refused in (1, 2, 3):
        asked.clear()
        last["allowed"] = refused
        assert compilation.cache_folder() == asked[refused]
    asked.clear()
    last["allowed"] = 9
    assert compilation.cache_folder() is None
    assert asked[1].parent == compilation.PACKAGE / "__pycache__"
    if sys.platform.startswith("linux"):
        assert asked[2].is_relative_to(tmp_path / "user")


SEASON = """
import numpy as np
from pondheat.core import compilation
from pondheat.heat.balance import Air, Pond, prepare
from pondheat.season.simulate import integrate
prepared = prepare(Pond(10.0, 12.0), Air(np.linspace(-5, 12, 48), 0.8, 3.0), 0.0)
def result():
    return integrate(prepared, 18.0, 20_000.0, 0.0, 18.0).heater.sum()
"""
FORMULA = """
from pondheat.core import compilation
from pondheat.heat.evaporation import _shah_quiet
def result():
    run = compilation.compiled(_shah_quiet) or compilation.on_floats(_shah_quiet)
    return 1e6 * run(29.0, 25.0, 4008.0, 1584.0, 101_325.0)
"""
BOTH_FORMS = """
import os
for wanted in "01":
    os.environ["PONDHEAT_COMPILE"] = wanted
    print(result(), compilation.available())
"""
CONSTANT = ("core/sources.py", "Constant(5.670374419e-8", "Constant(5.7e-8")
CASES = {  # what is run, and edits of a constant and of a formula, each in another file than what is compiled
    "a formula": (
        FORMULA,
        [
            ("core/sources.py", "Constant(287.042", "Constant(288.0"),
            ("heat/moist_air.py", "return pressure / (_DRY", "return 1.1 * pressure / (_DRY"),
        ],
    ),
    "a season": (
        SEASON,
        [CONSTANT],
        [("heat/evaporation.py", "(3.59 * root + 4.26 * wind)", "(4.0 * root + 4.26 * wind)")],
    ),
}


@needs_numba
@pytest.mark.parametrize("case", ["a formula", pytest.param("a season", marks=pytest.mark.long)])
def test_an_edit_anywhere_reaches_what_is_compiled(case, tmp_path):
    """numba's own cache would keep the old code where only a function called from another file has changed.

    A whole season takes ten seconds to compile, each time; a formula that calls two other files takes one.
    """
    script, *edits = CASES[case]
    clone = tmp_path / "clone"
    for room in ("core", "heat", "season"):
        source = compilation.PACKAGE / room
        shutil.copytree(source, clone / "pondheat" / room, ignore=shutil.ignore_patterns("__pycache__", "weather"))
    (clone / "pondheat" / "__init__.py").write_text("")
    environment = os.environ | {"PYTHONPATH": str(clone), "PONDHEAT_CACHE": str(tmp_path / "cache")}

    def run() -> list[float]:
        done = subprocess.run(
            [sys.executable, "-c", script + BOTH_FORMS], env=environment, capture_output=True, text=True, cwd=clone
        )
        assert done.returncode == 0, done.stderr
        plain, compiled = (line.split() for line in done.stdout.splitlines())
        assert (plain[1], compiled[1]) == ("False", "True")
        return [float(plain[0]), float(compiled[0])]

    found = [run()]
    for together in edits:
        unedited = {}
        for at, was, edited in together:
            path = clone / "pondheat" / at
            unedited[path] = text = path.read_text(encoding="utf-8")
            assert text.count(was) == 1
            path.write_text(text.replace(was, edited), encoding="utf-8")
        found.append(run())
        for path, text in unedited.items():
            path.write_text(text, encoding="utf-8")
    assert [compiled for _, compiled in found] == pytest.approx([plain for plain, _ in found], rel=1e-9)
    assert len({round(compiled, 3) for _, compiled in found}) == 1 + len(edits)


def test_integrate_takes_scalars_and_arrays(year):
    from pondheat.heat.balance import prepare

    prepared = prepare(POND, air_of(year.iloc[:48], 10.0), 0.0)
    one, many = (integrate(prepared, value, 3000.0, 0.0, 18.0) for value in (18.0, np.full(48, 18.0)))
    assert np.array_equal(one.heater, many.heater)
