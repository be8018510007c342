"""`python -m pondheat compare`: every invented log against what is true of it, the sentences and the JSON."""

import csv
import datetime as dt
import functools
import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from usual_cases import some_of

from pondheat import cli as front
from pondheat.analysis import comparison_files, savings_comparison
from pondheat.analysis.comparison_files import READING, Incomparable
from pondheat.cli import options
from pondheat.core.places import CLONE
from pondheat.meter.reading import meter_file
from pondheat.money.tariffs import Tariff
from pondheat.season.heaters import Heater
from pondheat.season.weather import weather
from pondheat.sheet import pond_sheet
from pondheat.text import savings_text
from pondheat.text.layout import WIDTH

ROOT = CLONE
LOGS, PONDS = ROOT / "data" / "readings", ROOT / "data" / "ponds"
OPEN, COVERED = LOGS / "garden_pond_open.csv", LOGS / "garden_pond_covered_one_forgotten.csv"
GARDEN = PONDS / "garden_pond.toml"
TRUTH = {row["file"]: row for row in csv.DictReader((LOGS / "truth.csv").read_text(encoding="utf-8").splitlines()[1:])}


@pytest.fixture(scope="session")
def days_weather(tmp_path_factory) -> Path:
    """The weather the invented logs were made in, as a station's file of those days."""
    path = tmp_path_factory.mktemp("weather") / "station.csv"
    record = weather.read("potsdam", timezone="Europe/London", year=2025)
    hours = weather.season_hours(record, dt.date(2025, 10, 12), dt.date(2026, 2, 26), 0)
    pd.DataFrame(
        {
            "time": [stamp.isoformat() for stamp in hours.index],
            "air_temp [°C]": hours["air_temp"].round(2),
            "rel_humidity [%]": (100 * hours["rel_humidity"]).round(2),
            f"wind_speed [m/s at {record.wind_height:g} m]": hours["wind_speed"].round(3),
            "solar [W/m²]": hours["solar"].round(2),
            "cloud_cover [%]": (100 * hours["cloud_cover"]).round(2),
            "sky_long_wave [W/m²]": hours["sky_long_wave"].round(2),
        }
    ).to_csv(path, index=False)
    return path


@functools.cache
def read_once(source: str, **place) -> weather.Weather:
    """The weather of a file."""
    return READ(source, **place)


READ = weather.read


@pytest.fixture(scope="module", autouse=True)
def stations_file_read_once(days_weather):
    """The commands get the station's file of the logs' days as it was read before, for the same place."""

    def read(source, **place):
        return read_once(str(source), **place) if str(source) == str(days_weather) else READ(source, **place)

    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(weather, "read", read)
        yield


def compare(open_file, covered_file, sheet, **options) -> savings_comparison.SavingsComparison:
    """`compare_files`, with the station's file of the logs' days read once for all tests."""
    if sheet.weather not in weather.names():
        place = {
            name: getattr(sheet, name) for name in ("latitude", "longitude", "altitude", "wind_height", "timezone")
        }
        options["weather"] = read_once(sheet.weather, year=2026, **place)
    return savings_comparison.compare_files(open_file, covered_file, sheet, **options)


@pytest.fixture(scope="session")
def garden(days_weather):
    return pond_sheet.read(GARDEN, str(days_weather))


@pytest.fixture(scope="session")
def shown(garden):
    return compare(OPEN, COVERED, garden)


def table_of(path: Path) -> pd.DataFrame:
    """An hourly log as time, kWh and water."""
    table = pd.read_csv(path, comment="#")
    table.columns = ["time", "kWh", "water"]
    return table


def bytes_of(table: pd.DataFrame, headers=("time", "kWh", "water temp °C"), **written) -> bytes:
    return table.set_axis(list(headers)[: table.shape[1]], axis=1).to_csv(index=False, **written).encode()


def run(capsys, *arguments, code: int = 0) -> tuple[str, str]:
    """The command in this process: what it prints, and what it says."""
    assert front.main(["compare", *map(str, arguments)]) == code
    told = capsys.readouterr()
    assert "Traceback" not in told.err + told.out
    if code == 2:
        assert told.err.strip() and not told.out, "a refusal says why, and nothing else"
    return told.out, told.err


def strict(text: str) -> dict:
    def refuse(constant):
        raise AssertionError(f"{constant} is no JSON")

    return json.loads(text, parse_constant=refuse)


def same_saving(one, other, within=1e-9) -> None:
    assert [o.saving for o in one.comparison.outcomes] == pytest.approx(
        [o.saving for o in other.comparison.outcomes], abs=within
    )


# --- every invented log against its truth -------------------------------------------------------------------------


@pytest.fixture(scope="module")
def held() -> list[bool]:
    """Whether the likely range of each log held the truth."""
    return []


@pytest.mark.parametrize("pond", ["garden_pond", "growing_on_tank"])
@pytest.mark.parametrize("kind", ["covered_one_forgotten", "clock_change", "counter"])
def test_the_true_saving_is_shown(pond, kind, days_weather, held):
    row = TRUTH[f"{pond}_{kind}.csv"]
    keeper = pond_sheet.read(PONDS / f"{pond}.toml", str(days_weather))
    covered = [dt.date.fromisoformat(day) for day in row["covered_nights"].split()]
    if kind == "covered_one_forgotten":
        proof = compare(LOGS / f"{pond}_open.csv", LOGS / row["file"], keeper)
    else:
        proof = compare(LOGS / row["file"], None, keeper, covered_nights=covered, base_load=float(row["base_load_w"]))
    first, saving = proof.comparison.outcomes[0], float(row["saving_in_covered_nights"])
    assert proof.shown and proof.verdict.startswith("Shown") and proof.house is None
    half = (first.high - first.low) / 2
    assert abs(first.saving - saving) < 2 * half  # a likely range is 1.28 standard errors wide: 99 of 100 are inside
    held.append(first.low < saving < first.high)
    assert len(held) < 6 or sum(held) >= 3  # of six ranges that each hold 8 of 10, fewer than three hold in 2 %
    days = proof.comparison.nights.days
    assert [f"{day:%Y-%m-%d}" for day in days.index[days["forgotten"]]] == row["forgotten_nights"].split()
    text = savings_text.comparison_text(proof)
    assert text.splitlines()[0].startswith("Shown") and "Each covered night saved" in text


def test_a_typical_year_proves_nothing(capsys):
    """The sheet's own weather is no weather of those days: only a trial, whatever the figures."""
    text, _ = run(capsys, OPEN, COVERED, "--sheet", GARDEN)
    words = " ".join(text.split())
    assert words.startswith("Not shown, only a trial: the weather is a typical year (Potsdam), not that of these")
    assert "the verdict would be: “Shown: over 14 open and 13 covered nights the cover saved 4" in words
    assert "By these figures, which prove nothing" in words
    normals = strict(run(capsys, OPEN, COVERED, "--sheet", GARDEN, "--weather", "sollerwick", "--json")[0])
    assert not normals["shown"] and "made from monthly normals" in normals["verdict"]
    assert normals["weather"]["of_these_days"] is False


def test_the_text_has_the_answer_first(shown):
    text = savings_text.comparison_text(shown)
    assert "Mains electricity and pond water can kill" in text and "a tight lid stops the exchange" in text
    order = [
        text.index(words)
        for words in (
            "Shown: over 14 open",
            "Each covered night saved",
            "Six ways to compare",
            "against the modelled open loss",
            "regression with weather",
            "totals",
            "garden_pond_open.csv (open)",
            "garden_pond_covered_one_forgotten.csv (covered)",
            "was the cover forgotten",
            "This is an estimate for learning",
        )
    ]
    assert order == sorted(order)
    assert text.count("misleads: ") == 4 and text.count("fair: ") == 2
    assert max(map(len, text.splitlines())) <= WIDTH
    assert '--stamps "end"' in text and "stamps=" not in text


def test_money_by_hand(shown, garden):
    """Had the covered nights been open they would have cost so much at the open spell's mean price."""
    price = {which: cost.energy_money / cost.kwh for which, cost in shown.costs.items()}
    days = shown.comparison.nights.days[~shown.comparison.nights.days["forgotten"]]
    laid = days[days["label"] == "covered"]
    ratio = 1 - shown.comparison.outcomes[0].saving
    used = laid["used"].mean()
    assert shown.saved_kwh.value == pytest.approx(used / ratio - used)
    assert shown.saved_money.value == pytest.approx(used / ratio * price["open"] - used * price["covered"])
    assert shown.saved_money.low < shown.saved_money.value < shown.saved_money.high
    assert sum(cost.kwh for cost in shown.costs.values()) == pytest.approx(sum(r.totals["kwh"] for r in shown.readings))
    untaxed = Tariff("t", otherwise=0.2, tax_rate=0.1, tax_included=False)
    taxed = compare(OPEN, COVERED, garden, tariff=untaxed)
    assert taxed.saved_money.value == pytest.approx(1.1 * 0.2 * taxed.saved_kwh.value)
    bare = compare(OPEN, COVERED, replace(garden, tariff=None))
    assert bare.saved_money is None and bare.costs is None and any("no money" in note for note in bare.notes)
    assert "£" not in savings_text.comparison_text(bare)


def test_json(capsys, days_weather):
    told = strict(run(capsys, OPEN, COVERED, "--sheet", GARDEN, "--weather", days_weather, "--json")[0])
    assert set(told) == {
        "verdict",
        "shown",
        "confidence",
        "saving",
        "weather",
        "ways",
        "nights",
        "files",
        "spells",
        "sheet",
        "whole_house",
        "notes",
        "caution",
    }
    assert told["shown"] is True and told["whole_house"] is None and told["saving"]["currency"] == "GBP"
    assert [way["fair"] for way in told["ways"]] == [True, True, False, False, False, False]
    assert told["ways"][0]["saving"] == told["saving"]["share"] and told["ways"][2]["uncertainty"] is None
    assert [night["date"] for night in told["nights"] if night["forgotten"]] == ["2026-01-27"]
    assert len(told["nights"]) == 28 and [file["spell"] for file in told["files"]] == ["open", "covered"]
    assert set(told["saving"]["money_per_covered_night"]) == {"value", "low", "high"}
    assert told["spells"]["open"]["cost"]["by_rate"][0]["rate"] == "night"
    assert told["files"][0]["first"] == "2026-01-05T12:00:00+00:00"


def test_missing_bounds_are_null_in_json(garden):
    """One night of each kind: nothing bounds the saving, and JSON has no infinity."""
    part = [bytes_of(table_of(path).iloc[:24]) for path in (OPEN, COVERED)]
    proof = compare(*part, garden)
    told = strict(json.dumps(savings_text.as_dict(proof), allow_nan=False))
    assert not told["shown"] and told["saving"]["low"] is None and told["ways"][1]["saving"] is None
    assert "how sure is not known" in savings_text.comparison_text(proof)


# --- the same log in other clothes --------------------------------------------------------------------------------


@pytest.fixture(scope="session")
def tables():
    return [table_of(path) for path in (OPEN, COVERED)]


@pytest.mark.long
def test_semicolons_and_decimal_commas(garden, shown, tables):
    told = [bytes_of(table, sep=";", decimal=",") for table in tables]
    same_saving(compare(*told, garden), shown)


def test_another_time_zone(garden, shown, tables):
    """Written by a clock in New York, or with an offset: the same moments."""
    moved = []
    for table in tables:
        at = pd.to_datetime(table["time"]).dt.tz_localize("Europe/London")
        moved.append(
            [
                table.assign(time=at.dt.tz_convert("America/New_York").dt.strftime("%Y-%m-%d %H:%M")),
                table.assign(time=[stamp.isoformat() for stamp in at.dt.tz_convert("Asia/Tokyo")]),
            ]
        )
    same_saving(
        compare(*(bytes_of(one) for one, _ in moved), garden, timezone="America/New_York"),
        shown,
    )
    same_saving(compare(*(bytes_of(one) for _, one in moved), garden), shown)
    wrong = compare(*(bytes_of(one) for one, _ in moved), garden)
    assert wrong.comparison.outcomes[0].saving != pytest.approx(shown.comparison.outcomes[0].saving, abs=1e-4)


def test_one_file_with_both_kinds_of_nights(capsys, garden, shown, tables, tmp_path, days_weather):
    path = tmp_path / "log.csv"
    path.write_bytes(bytes_of(pd.concat(tables)))
    nights = "2026-01-19..2026-01-24, 2026-01-25, 2026-01-26..2026-02-01"
    told = strict(
        run(capsys, path, "--covered-nights", nights, "--sheet", GARDEN, "--weather", days_weather, "--json")[0]
    )
    assert told["saving"]["share"] == pytest.approx(shown.comparison.outcomes[0].saving, abs=1e-9)
    assert told["saving"]["money_per_covered_night"]["value"] == pytest.approx(shown.saved_money.value, rel=1e-6)
    assert told["files"][0]["spell"] == "both kinds of nights"
    swapped = compare(path, None, garden, covered_nights=comparison_files.dates_of("2026-01-05..2026-01-18"))
    assert "Are the dates given those of the covered nights?" in swapped.verdict


@pytest.mark.long
def test_nights_that_take_turns_in_two_files(garden):
    """Blocks of two, each kind in a file of its own, with the other kind's nights missing."""
    row = TRUTH["garden_pond_counter.csv"]
    use = meter_file.read(LOGS / row["file"], "Europe/London").use
    night = (use.index.tz_localize(None) - pd.Timedelta("12h")).date.astype(str)
    laid = np.isin(night, row["covered_nights"].split())
    table = pd.DataFrame(
        {"time": use.index.strftime("%Y-%m-%d %H:%M"), "kWh": use["kwh"].round(3), "water": use["water_temp"]}
    )
    one = compare(bytes_of(table[~laid]), bytes_of(table[laid]), garden)
    whole = compare(
        bytes_of(table),
        None,
        garden,
        covered_nights=[dt.date.fromisoformat(day) for day in row["covered_nights"].split()],
    )
    same_saving(one, whole, within=0.01)
    assert one.shown


def test_without_water_temperature(garden, shown, tables):
    """The set point stands for it; where only one file lacks it, in both."""
    none = compare(*(bytes_of(table[["time", "kWh"]]) for table in tables), garden)
    half = compare(bytes_of(tables[0]), bytes_of(tables[1][["time", "kWh"]]), garden)
    assert [o.saving for o in none.comparison.outcomes] == [o.saving for o in half.comparison.outcomes]
    assert none.shown and none.comparison.outcomes[0].saving == pytest.approx(
        shown.comparison.outcomes[0].saving, abs=0.03
    )
    assert any("has no water temperature" in note for note in half.notes)
    with pytest.raises(ValueError, match="give its set point"):
        compare(*(bytes_of(table[["time", "kWh"]]) for table in tables), replace(garden, set_point=()))


def test_readings_by_hand(garden, shown, tables):
    """A counter read every day shows the same; one read twice a week tells no night from the next, and is refused."""

    def by_hand(step):
        told = []
        for table in tables:
            counter = pd.DataFrame(
                {
                    "time": pd.to_datetime(table["time"]) + pd.Timedelta("1h"),
                    "reading kWh": 4000 + table["kWh"].cumsum().round(1),
                }
            )
            first = pd.DataFrame({"time": [pd.Timestamp(table["time"][0])], "reading kWh": [4000.0]})
            told.append(pd.concat([first, counter[step - 1 :: step]]).to_csv(index=False).encode())
        return told

    daily = compare(*by_hand(24), garden)
    assert daily.shown and len(daily.comparison.nights.days) == 28
    assert daily.comparison.outcomes[0].saving == pytest.approx(shown.comparison.outcomes[0].saving, abs=0.03)
    assert not any("parts of two nights" in note for note in daily.notes)
    with pytest.raises(Incomparable, match="readings of 84 hours and more.*at least once a day"):
        compare(*by_hand(84), garden)


@pytest.fixture(scope="module")
def turns():
    """Sixteen nights in blocks of two, hour by hour, and the dates of the covered ones."""
    use = meter_file.read(LOGS / "garden_pond_counter.csv", "Europe/London").use
    return use, [dt.date.fromisoformat(day) for day in TRUTH["garden_pond_counter.csv"]["covered_nights"].split()]


def of_days(use: pd.DataFrame, hour: int) -> bytes:
    """An hourly use as kWh of whole days that begin at an hour of the clock, each row its day's start."""
    first = int(np.flatnonzero(use.index.hour == hour)[0])
    days = (len(use) - first) // 24
    sums = use["kwh"].to_numpy()[first : first + 24 * days].reshape(days, 24).sum(axis=1)
    starts = use.index[first : first + 24 * days : 24].strftime("%Y-%m-%d %H:%M")
    return bytes_of(pd.DataFrame({"time": starts, "kWh": sums.round(2)}))


@pytest.mark.long
def test_days_that_begin_at_any_hour_say_the_same(garden, turns):
    """Read at noon, at eight in the morning or by calendar days: one meter, one saving, within the ranges."""
    use, covered = turns
    true = float(TRUTH["garden_pond_counter.csv"]["saving_in_covered_nights"])
    found = {hour: compare(of_days(use, hour), None, garden, covered_nights=covered) for hour in (12, 8, 0)}
    for hour, proof in found.items():
        first = proof.comparison.outcomes[0]
        assert proof.shown and abs(first.saving - true) < 2 * (first.high - first.low) / 2, hour
        assert any("parts of two nights" in note for note in proof.notes) is (hour != 12)


def test_a_counter_knows_what_went_through_a_gap(garden, turns):
    """Three days unread are one sum of their nights; of an hourly log of use they are lost, and told."""
    use, covered = turns
    whole = compare(hourly_of(use), None, garden, covered_nights=covered)
    gap = slice(24 * 6 + 3, 24 * 9)
    lost = hourly_of(use.drop(use.index[gap]))
    unread = compare(lost, None, garden, covered_nights=covered)
    counter = pd.DataFrame(
        {
            "time": use.index.strftime("%Y-%m-%d %H:%M"),
            "reading kWh": 4000 + np.append(0, use["kwh"].cumsum().round(3)[:-1]),
        }
    )
    kept = compare(counter.drop(counter.index[gap]).to_csv(index=False).encode(), None, garden, covered_nights=covered)
    assert any("hours are missing in the meter" in note for note in unread.comparison.sentences)
    assert len(unread.comparison.nights.days) <= len(whole.comparison.nights.days) - 3
    assert any("taken as one sum of all nights in it" in note for note in kept.notes)
    assert len(kept.comparison.nights.days) == len(whole.comparison.nights.days)
    for proof in (unread, kept):
        assert proof.comparison.outcomes[0].saving == pytest.approx(whole.comparison.outcomes[0].saving, abs=0.04)


def hourly_of(use: pd.DataFrame) -> bytes:
    """An hourly use as a table."""
    return bytes_of(pd.DataFrame({"time": use.index.strftime("%Y-%m-%d %H:%M"), "kWh": use["kwh"].round(3)}))


@pytest.mark.long
def test_a_spike_is_set_aside_and_told(garden, turns):
    use, covered = turns
    whole = compare(hourly_of(use), None, garden, covered_nights=covered)
    spiked = use.copy()
    spiked.iloc[100, spiked.columns.get_loc("kwh")] = 90.0
    proof = compare(hourly_of(spiked), None, garden, covered_nights=covered)
    assert any("1 reading above the 6.00 kW" in note and "set aside with 90.0 kWh" in note for note in proof.notes)
    assert proof.comparison.outcomes[0].saving == pytest.approx(whole.comparison.outcomes[0].saving, abs=0.02)


@pytest.mark.long
def test_readings_at_half_past_the_hour(garden, shown, tables):
    """Lord Howe keeps half an hour of summer time: weather hours begin at half past by its clock in January."""
    there = replace(garden, timezone="Australia/Lord_Howe", weather="potsdam", latitude=52.4)
    nights = [
        len(compare(*(bytes_of(table[list(columns)]) for table in tables), there).comparison.nights.days)
        for columns in (("time", "kWh", "water"), ("time", "kWh"))
    ]
    assert nights[0] == nights[1] >= 27  # the night in which the spells meet within an hour may be lost


def test_days_without_a_set_point(garden, tables):
    """Where no temperature is logged and nothing is held, nobody knows how warm the water was."""
    dry = [bytes_of(table[["time", "kWh"]]) for table in tables]
    proof = compare(*dry, replace(garden, set_point=(((1, 1), 18.0), ((1, 28), None))))
    assert any("without a set point" in note for note in proof.notes)
    assert proof.comparison.nights.days.index[-1] < pd.Timestamp("2026-01-28")
    with pytest.raises(ValueError, match="give its set point"):
        compare(*dry, replace(garden, set_point=(((3, 1), 18.0), ((3, 2), None))))


def test_exchanged_files(garden):
    proof = compare(COVERED, OPEN, garden)
    assert not proof.shown and "the covered ones used more" in proof.verdict
    assert "Were the two files swapped? The one for the open nights comes first." in proof.verdict
    assert proof.saved_money.value < 0


# --- heaters, pumps and houses ------------------------------------------------------------------------------------


def test_base_load_and_pump_on_the_meter(garden, shown, tables):
    """What was put on the meter beside the heater is taken off again."""
    more = [bytes_of(table.assign(kWh=table["kWh"] + 0.25)) for table in tables]
    assert garden.pump_power == 100.0
    proof = compare(*more, garden, base_load=150.0, pump_on_meter=True)
    fair = [o.saving for o in proof.comparison.outcomes[:2]]
    assert fair == pytest.approx([o.saving for o in shown.comparison.outcomes[:2]], abs=1e-9)
    kept = compare(*more, garden).comparison.outcomes[0]
    assert not any("more than the sheet's heater takes" in note for note in shown.notes)
    small = compare(*more, replace(garden, heater=replace(garden.heater, power=3000.0)))
    assert any("more than the sheet's heater takes (3 kW)" in note for note in small.notes)
    assert kept.saving < shown.comparison.outcomes[0].saving - 0.01


@pytest.mark.parametrize(
    "heater, factor", some_of([(Heater("gas", 8000.0, efficiency=0.8), 0.8), (Heater("none"), 1.0)], 0)
)
def test_heat_of_a_kilowatt_hour(garden, shown, heater, factor):
    proof = compare(OPEN, COVERED, replace(garden, heater=heater, gas_rate=0.1))
    assert proof.aligned.hours["heat"].sum() == pytest.approx(factor * proof.aligned.hours["kwh"].sum())
    if heater.kind == "gas":
        assert len(proof.costs["open"].by_rate) == 1  # the sheet's cheap night hours are of its electricity
        assert proof.costs["open"].energy_money == pytest.approx(0.1 * proof.costs["open"].kwh)


def test_a_heat_pump_hour_by_hour(garden):
    pump = Heater("heat pump", 12_000.0)
    proof = compare(OPEN, COVERED, replace(garden, heater=pump))
    hours = proof.aligned.hours[proof.aligned.hours["kwh"] > 0]
    cop = hours["heat"] / hours["kwh"]
    warm, cold = cop[hours["air_temp"] > 8].mean(), cop[hours["air_temp"] < -2].mean()
    assert 2 < cold < warm < 6
    # by the library's own heater: the electricity that the heat of one hour takes at 18 °C
    taken = pump.taken(hours["heat"].to_numpy()[:50] * 1000, 18.0, hours["air_temp"].to_numpy()[:50])[0] / 1000
    small = hours["heat"].to_numpy()[:50] * 1000 < pump.heat_pump_limit(hours["air_temp"].to_numpy()[:50])
    assert small.any() and taken[small] == pytest.approx(hours["kwh"].to_numpy()[:50][small])
    assert any("modelled COP" in note for note in proof.notes)


def test_a_meter_of_the_whole_house(garden, tables):
    """A few kilowatts beside the heater: no claim, and how large the heater's share would have to be."""
    rng = np.random.default_rng(3)
    house = [
        bytes_of(table.assign(kWh=(table["kWh"] + np.repeat(rng.normal(9, 3, 14), 24)).clip(lower=0)))
        for table in tables
    ]
    proof = compare(*house, garden)
    assert not proof.shown and proof.verdict == "Not shown: the meter counts much more than this pond can take."
    assert "the whole house" in proof.house and "the heater must be" in proof.house and "% of the meter" in proof.house
    assert savings_text.as_dict(proof)["whole_house"] == proof.house
    assert "a covered night saved" not in savings_text.comparison_text(proof)


# --- what is asked back, and what is refused ----------------------------------------------------------------------


def test_estimated_readings_are_left_out_on_both_sides(garden, tables):
    """Two days that the file marks as estimated count as if they were not in it, however wrong they are."""
    days = pd.to_datetime(tables[0]["time"]).dt.normalize()
    guessed = days.isin(sorted(days.unique())[3:5])
    marked = tables[0].assign(type=np.where(guessed, "E", "A"), kWh=tables[0]["kWh"].where(~guessed, 0.9))
    heads = ("time", "kWh", "water temp °C", "type")
    opened, covered = bytes_of(marked, heads), bytes_of(tables[1])
    found = compare(opened, covered, garden)
    assert found.saved_kwh == compare(bytes_of(tables[0][~guessed]), covered, garden).saved_kwh
    said = " ".join(savings_text.comparison_text(found).split())
    assert f"{guessed.sum()} readings are marked as estimated" in said and "--estimates" in said
    used = compare(opened, covered, garden, reading=({"estimates": "use"},))
    assert used.saved_kwh != found.saved_kwh


def test_every_option_of_the_reader_is_on_the_command_line(capsys):
    """All that `read` can be told, and the sentences of the reader in the command line's words."""
    assert sorted(name.replace("-", "_") for name, _, _ in options.READING_OPTIONS) == sorted(READING)
    assert savings_text.as_option("give voltage=230 (or 120), and power_factor for pumps") == (
        "give --voltage 230 (or 120), and --power-factor for pumps"
    )
    assert savings_text.as_option("the voltage of its own column") == "the voltage of its own column"


@pytest.mark.parametrize(
    "headers, change, asked, options",
    some_of(
        [
            (
                ("time", "kWh", "water temp °C"),
                lambda t: t.assign(time=pd.to_datetime(t["time"]).dt.strftime("%d/%m/%Y %H:%M")).iloc[:150],
                '--dates "day first"',
                ("--dates", "day first"),
            ),
            (("time", "value", "water temp °C"), lambda t: t, '--unit "kWh"', ("--unit", "kWh", "--kind", "interval")),
            (
                ("time", "flashes", "water temp °C"),
                lambda t: t.assign(kWh=(t["kWh"] * 1000).round()),
                "--flashes-per-kwh 1000",
                ("--flashes-per-kwh", "1000"),
            ),
            (
                ("time", "current [A]", "water temp °C"),
                lambda t: t.assign(kWh=t["kWh"] * 1000 / 230),
                "--voltage 230",
                ("--voltage", "230"),
            ),
        ],
        1,
    ),
)
def test_what_the_file_does_not_say(capsys, tmp_path, days_weather, tables, headers, change, asked, options):
    paths = []
    for table, name in zip(tables, ("open.csv", "covered.csv")):
        if asked.startswith("--dates"):  # only days up to the twelfth leave the order open
            table = table.assign(
                time=(
                    pd.to_datetime(table["time"]).iloc[0].replace(day=2)
                    + pd.to_timedelta(np.arange(len(table)), "h")
                    + pd.Timedelta(days=31 * (name == "covered.csv"))
                )
            )
        paths.append(tmp_path / name)
        paths[-1].write_bytes(bytes_of(change(table), headers))
    common = (*paths, "--sheet", GARDEN, "--weather", days_weather)
    said = run(capsys, *common, code=2)[1]
    assert "open.csv" in said and asked in " ".join(said.split())
    told = strict(run(capsys, *common, *options, "--json")[0])
    assert told["saving"]["share"] > 0.3


def test_an_option_for_each_file(capsys, tmp_path, days_weather, tables):
    """One file of flashes at 800, one at 1000 for each kilowatt-hour."""
    paths = []
    for table, name, each in zip(tables, ("open.csv", "covered.csv"), (800, 1000)):
        paths.append(tmp_path / name)
        paths[-1].write_bytes(bytes_of(table.assign(kWh=table["kWh"] * each), ("time", "flashes", "water temp °C")))
    common = (*paths, "--sheet", GARDEN, "--weather", days_weather, "--json")
    told = strict(run(capsys, *common, "--flashes-per-kwh", "800", "--flashes-per-kwh", "1000")[0])
    assert [file["kwh"] for file in told["files"]] == pytest.approx([table["kWh"].sum() for table in tables])
    assert "3 times" in run(capsys, *common, *["--digits", "4"] * 3, code=2)[1]


def test_gas_needs_a_gas_heater(garden, tables):
    gas = bytes_of(tables[0], ("time", "gas m³", "water temp °C"))
    with pytest.raises(Incomparable, match="counts gas, but the sheet's heater is of kind resistance"):
        compare(gas, gas, garden, reading=({"calorific_value": 39.0, "kind": "gas"},))


@pytest.mark.parametrize(
    "arguments, sentence",
    [
        ((OPEN, COVERED), "--sheet MY_POND.toml"),
        ((OPEN, "--sheet", GARDEN), "--covered-nights"),
        ((OPEN, COVERED, "--sheet", GARDEN, "--covered-nights", "2026-01-20"), "Give two files"),
        ((OPEN, OPEN, "--sheet", GARDEN), "was one file given twice?"),
        (
            (OPEN, "--covered-nights", "2025-01-20", "--sheet", GARDEN),
            "None of the covered nights is in garden_pond_open.csv",
        ),
        ((OPEN, "--covered-nights", "20 Jan", "--sheet", GARDEN), "“20” is not a date"),
        ((OPEN, "--covered-nights", "2026-01-20..2026-01-10", "--sheet", GARDEN), "ends before it begins"),
        ((OPEN, "--covered-nights", " , ", "--sheet", GARDEN), "No covered night is named"),
        ((OPEN, "--covered-nights", "2026-01-05..2026-01-30", "--sheet", GARDEN), "No whole day is open"),
        ((OPEN, "nowhere.csv", "--sheet", GARDEN), "nowhere.csv: no such file"),
        ((ROOT, COVERED, "--sheet", GARDEN), "is a folder; name one file in it"),
        ((OPEN, COVERED, "--sheet", "nowhere.toml"), "no such file"),
        ((OPEN, COVERED, "--sheet", OPEN), "is not TOML"),
        ((GARDEN, COVERED, "--sheet", GARDEN), "garden_pond.toml"),
        ((OPEN, COVERED, "--sheet", GARDEN, "--tariff", "nowhere.toml"), "could not be read"),
        ((OPEN, COVERED, "--sheet", GARDEN, "--tariff", PONDS), "could not be read"),
        ((OPEN, COVERED, "--sheet", GARDEN, "--weather", "potsdm"), "Did you mean “potsdam”"),
        ((OPEN, COVERED, "--sheet", GARDEN, "--base-load", "much"), "much"),
        ((OPEN, COVERED, "--sheet", GARDEN, "--base-load", "-5"), "base_load"),
        ((OPEN, COVERED, "--sheet", GARDEN, "--base-load", "9 kW"), "base load too high"),
        ((OPEN, COVERED, "--sheet", GARDEN, "--rating", "3 kW"), "--rating: “3 kW” is not a number. Write a number"),
        ((OPEN, COVERED, "--sheet", GARDEN, "--kind", "dial"), "dial"),
        ((OPEN, COVERED, "--sheet", GARDEN, "--timezone", "London"), "not a known time zone"),
        ((OPEN, COVERED, "--sheet", GARDEN, "--column", "gallons"), "has no column of numbers"),
    ],
    ids=lambda one: " ".join(map(str, one))[-50:] if isinstance(one, tuple) else "",
)
def test_what_is_refused(capsys, arguments, sentence):
    assert sentence in " ".join(run(capsys, *arguments, code=2)[1].split())


def test_another_tariff_on_the_command_line(capsys, tmp_path):
    (tmp_path / "flat.toml").write_text('[tariff]\nrate = "60 p/kWh"\n', encoding="utf-8")
    told = [
        strict(run(capsys, OPEN, COVERED, "--sheet", GARDEN, "--json", *more)[0])["saving"]
        for more in ((), ("--tariff", tmp_path / "flat.toml"))
    ]
    assert told[0]["share"] == told[1]["share"]
    night = told[1]["kwh_per_covered_night"]["value"]
    assert told[1]["money_per_covered_night"]["value"] == pytest.approx(0.60 * night, rel=0.01)


def test_weather_of_other_days(capsys, tmp_path, days_weather, tables):
    lines = days_weather.read_text(encoding="utf-8").splitlines()
    (tmp_path / "autumn.csv").write_text("\n".join(lines[:700]), encoding="utf-8")
    said = run(capsys, OPEN, COVERED, "--sheet", GARDEN, "--weather", tmp_path / "autumn.csv", code=2)[1]
    assert "weather of those very days, from a station nearby" in said and "2026-01-05 to 2026-02-02" in said
    # some days are missing: they are cut, told, and the rest is compared
    at = next(k for k, line in enumerate(lines) if line.startswith("2026-01-08"))
    (tmp_path / "late.csv").write_text("\n".join([lines[0], *lines[at:]]), encoding="utf-8")
    told = strict(run(capsys, OPEN, COVERED, "--sheet", GARDEN, "--weather", tmp_path / "late.csv", "--json")[0])
    assert any("outside the hours of the weather" in note for note in told["notes"])
    assert sum(night["spell"] == "open" for night in told["nights"]) == 11 and told["shown"]
    (tmp_path / "end.csv").write_text("\n".join([lines[0], *lines[at + 24 * 40 :]]), encoding="utf-8")
    assert "very days" in run(capsys, OPEN, COVERED, "--sheet", GARDEN, "--weather", tmp_path / "end.csv", code=2)[1]


def test_a_room_needs_no_weather(garden):
    text = GARDEN.read_text(encoding="utf-8").replace(
        "[place]", '[place]\nsurroundings = "pond house"\nroom_temp = "4 °C"\nroom_humidity = "80 %"'
    )
    proof = compare(OPEN, COVERED, pond_sheet.from_text(text, GARDEN.parent))
    assert proof.weather_of_these_days and any(
        "The room is assumed to stay at the sheet's [4 °C]" in note for note in proof.notes
    )


HOSTILE = [
    "spaces and 'quotes'.csv",
    "semi;colon & $(touch x) `y`.csv",
    "new\nline.csv",
    "red\x1b[31m.csv",
    "rtl\u202egnp.csv",
    "ümläut 水.csv",
    "x" * 200 + ".csv",
    "%s{name}.csv",
]
WORST = "new\nline.csv"  # the others in the long command


@pytest.mark.parametrize(
    "name", [pytest.param(name, marks=() if name == WORST else pytest.mark.long) for name in HOSTILE], ids=ascii
)
def test_hostile_file_names(capsys, tmp_path, name, days_weather):
    path = tmp_path / name
    path.write_bytes(OPEN.read_bytes())
    text, _ = run(capsys, path, COVERED, "--sheet", GARDEN, "--weather", days_weather)
    assert "\x1b" not in text and "\u202e" not in text and text.startswith("Shown")
    assert max(map(len, text.splitlines())) <= WIDTH
    path.write_bytes(b"time,kWh\n")
    said = run(capsys, path, COVERED, "--sheet", GARDEN, code=2)[1]
    assert "\x1b" not in said and "\u202e" not in said and len(said.strip().splitlines()) == 1


@pytest.mark.long
def test_hostile_cells(capsys, tmp_path, days_weather, tables):
    path = tmp_path / "open.csv"
    path.write_bytes(bytes_of(tables[0], ("time", "kWh \x1b[31m", "water temp °C")))
    text, _ = run(capsys, path, COVERED, "--sheet", GARDEN, "--weather", days_weather)
    assert "\x1b" not in text


def test_progress_rises_to_one_and_can_stop(garden):
    told: list[float] = []
    compare(OPEN, COVERED, garden, progress=told.append)
    assert told == sorted(told) and told[-1] == 1.0 and len(told) > 6

    def stop(share):
        if share > 0.5:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        compare(OPEN, COVERED, garden, progress=stop)


# --- on the command line ------------------------------------------------------------------------------------------


def test_the_printed_example_runs_as_printed(capsys, monkeypatch):
    monkeypatch.chdir(ROOT)
    text = (ROOT / "workbook" / "command_line.md").read_text(encoding="utf-8")
    section = text.split("## Prove a saving")[1].split("\n## ")[0]
    commands = [
        line.removeprefix(".venv/bin/python -m pondheat ").split()
        for line in section.splitlines()
        if line.startswith(".venv/bin/python -m pondheat compare data/")
    ]
    assert len(commands) == 2
    printed = []
    for command in commands:
        assert front.main(command) == 0
        out, err = capsys.readouterr()
        printed.append(" ".join(out.split()))
        assert err == "" and printed[-1].startswith("Not shown, only a trial")
    quoted = " ".join(section.split("```text")[1].split("```")[0].split())
    assert quoted in printed[0]


def test_paths_are_seen_from_where_the_command_is_given(capsys, monkeypatch, tmp_path, days_weather):
    for source, name in ((OPEN, "a.csv"), (COVERED, "b.csv"), (days_weather, "station.csv")):
        (tmp_path / name).write_bytes(source.read_bytes())
    monkeypatch.chdir(tmp_path)
    assert front.main(["compare", "a.csv", "b.csv", "--sheet", str(GARDEN), "--weather", "station.csv"]) == 0
    out, err = capsys.readouterr()
    assert out.startswith("Shown") and err == ""
    assert sorted(path.name for path in tmp_path.iterdir()) == ["a.csv", "b.csv", "station.csv"]
