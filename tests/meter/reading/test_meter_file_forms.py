"""The same readings in many formats give the same energy; ambiguous files are refused with the option to give."""

import numpy as np
import pandas as pd
import pytest
from usual_cases import some_of

from pondheat.core.ranges import OutOfRange
from pondheat.core.tables import time_formats, timestamps
from pondheat.core.units import Unreadable
from pondheat.meter.reading.meter_file import ReadingsFault, read

ZONE = "Europe/London"
HOURS = pd.date_range("2025-01-10", periods=240, freq="h", tz=ZONE)
KWH = np.round(np.random.default_rng(5).uniform(0.1, 2.5, 240), 3)
PLAIN = HOURS.strftime("%Y-%m-%d %H:%M")


def table(stamps, *columns, head="time,use [kWh]", sep=",", decimals=3, comma=False):
    """A text table of stamps and columns of numbers."""

    def cell(value):
        text = f"{value:.{decimals}f}"
        return text.replace(".", ",") if comma else text

    rows = [sep.join([stamp, *(cell(value) for value in values)]) for stamp, *values in zip(stamps, *columns)]
    return (head.replace(",", sep) + "\n" + "\n".join(rows) + "\n").encode()


def same(readings, kwh=KWH, starts=HOURS):
    assert readings.totals["kwh"] == pytest.approx(kwh.sum(), rel=1e-9)
    assert np.allclose(readings.use["kwh"], kwh, rtol=1e-9)
    assert (readings.use.index == starts).all()
    assert np.allclose(readings.use["hours"], 1.0)


@pytest.mark.parametrize(
    "form",
    [
        "%Y-%m-%d %H:%M:%S",
        "%Y-%m-%dT%H:%M",
        "%d/%m/%Y %H:%M",
        "%m/%d/%Y %H:%M",
        "%d.%m.%Y %H:%M",
        "%d-%m-%y %H:%M",
        "%d %b %Y %H:%M",
        "%d %B %Y %H:%M",
        "%m/%d/%Y %I:%M %p",
        "%Y/%m/%d %I:%M%p",
        "%b %d, %Y %H:%M",
        "%d/%m/%Y,%H:%M:%S",
        "%Y-%m-%d;%H:%M",
        "%d/%m/%Y %H:%M:%S.%f",
    ],
)
def test_time_formats(form):
    head = "date,clock,use [kWh]" if "," in form.replace("%d, ", "") or ";" in form else "time,use [kWh]"
    sep = ";" if ";" in form or "%d, " in form else ","
    got = read(table(HOURS.strftime(form), KWH, head=head, sep=sep), ZONE)
    same(got)
    assert not got.repairs and any("time is in column 1" in one for one in got.interpretation)


@pytest.mark.parametrize(
    "stamps, said",
    [
        ([f"{int(one.timestamp())}" for one in HOURS], "seconds since 1970"),
        ([f"{int(one.timestamp() * 1000)}" for one in HOURS], "milliseconds since 1970"),
        ([one.isoformat() for one in HOURS], "include their offset"),
        ([one.tz_convert("UTC").strftime("%Y-%m-%dT%H:%M:%SZ") for one in HOURS], "include their offset"),
    ],
)
def test_epochs_and_offsets(stamps, said):
    got = read(table(stamps, KWH), ZONE)
    same(got)
    assert any(said in one for one in got.interpretation)


def test_utc_and_standard_time():
    summer = pd.date_range("2025-06-10", periods=240, freq="h", tz=ZONE)
    universal = summer.tz_convert("UTC").strftime("%Y-%m-%d %H:%M")
    same(read(table(universal, KWH, head="time (UTC),use [kWh]"), ZONE), starts=summer)
    same(read(table(universal, KWH), ZONE, clock="utc"), starts=summer)
    same(read(table(universal, KWH), ZONE, clock="standard"), starts=summer)  # winter time of London is universal time
    berlin = summer.tz_convert("UTC").tz_localize(None) + pd.Timedelta(hours=1)
    got = read(table(berlin.strftime("%Y-%m-%d %H:%M"), KWH), "Europe/Berlin", clock="standard")
    assert (got.use.index == summer).all()


@pytest.mark.parametrize("sep", [",", ";", "\t", "|"])
def test_separators(sep):
    same(read(table(PLAIN, KWH, sep=sep), ZONE, kind="interval"))


@pytest.mark.parametrize(
    "encode",
    [
        lambda text: b"\xef\xbb\xbf" + text,
        lambda text: text.decode().encode("utf-16"),
        lambda text: text.decode().encode("utf-16-be"),
        lambda text: text.replace(b"use", "Zähler".encode("cp1252")),
        lambda text: text.replace(b"\n", b"\r\n"),
        lambda text: text.replace(b"\n", b"\r"),
    ],
)
def test_encodings(encode):
    same(read(encode(table(PLAIN, KWH, sep=";")), ZONE, kind="interval"))


@pytest.mark.parametrize("cell", ["2'51.0", "2 51.0", "22 5 1.0"])
def test_a_mark_that_groups_no_thousands_makes_a_cell_unreadable(cell):
    """“2'51.0” is a damaged 2251.0 rather than 251."""
    text = table(PLAIN, 1000 * KWH, head="time;power [W]", sep=";", decimals=1).decode()
    line = text.splitlines()[9]
    found = read(text.replace(line, f"{line.split(';')[0]};{cell}").encode(), ZONE)
    assert any(cell in str(one) for one in found.repairs) and found.totals["kwh"] < KWH.sum()
    grouped = read(text.replace(line, f"{line.split(';')[0]};1'234.5").encode(), ZONE)
    assert not grouped.repairs and grouped.totals["kwh"] == pytest.approx(KWH.sum() - KWH[8] + 1.2345)


def test_decimal_comma_thousands_and_quotes():
    stamps = HOURS.strftime("%d.%m.%Y %H:%M")
    same(read(table(stamps, KWH, sep=";", comma=True), ZONE))
    same(read(table([f'"{one}"' for one in stamps], KWH), ZONE))
    quoted = (
        b"time,use [kWh]\n"
        + "".join(f'"{one}","{value:.3f}"\n'.replace(".", ",") for one, value in zip(PLAIN, KWH)).encode()
    )
    with pytest.raises(ReadingsFault, match="decimal="):  # 1,234 may be one thousand or one
        read(quoted.replace(b'"0,', b'"1,'), ZONE)
    same(read(quoted, ZONE, decimal="comma"))
    counter = 10_000 + np.append(0, np.cumsum(KWH)[:-1])
    text = "".join(f"{one};{value:,.3f}\n" for one, value in zip(PLAIN, counter))
    got = read(("time;reading kWh\n" + text).encode(), ZONE)
    assert got.totals["kwh"] == pytest.approx(KWH[:-1].sum(), rel=1e-9)
    german = text.replace(",", "x").replace(".", ",").replace("x", ".")
    assert read(("time;reading kWh\n" + german).encode(), ZONE).totals["kwh"] == pytest.approx(KWH[:-1].sum(), rel=1e-9)


def test_many_header_lines():
    head = "Logger of the pond\nSerial;12345\n\nTime;Energy;Water\n;kWh;°F\n"
    body = table(PLAIN, KWH, np.full(240, 50.0), sep=";").decode().split("\n", 1)[1]
    got = read((head + body + "# end of record\n").encode(), ZONE)
    same(got)
    assert np.allclose(got.use["water_temp"], 10.0)  # 50 °F
    assert any("begin in row 6" in one for one in got.interpretation)


@pytest.mark.parametrize(
    "head, scale, options, kind",
    [
        ("time,power [W]", 1000.0, {}, "power"),
        ("time,load (kW)", 1.0, {}, "power"),
        ("time,use [Wh]", 1000.0, {}, "interval"),
        ("time,use [MJ]", 3.6, {}, "interval"),
        ("time,current [A]", 1000 / 230 / 0.8, {"voltage": 230, "power_factor": 0.8}, "current"),
        ("time,flashes", 1000.0, {"flashes_per_kwh": 1000}, "flashes"),
        ("time,gas used [m³]", 3.6 / 39 / 1.02, {"calorific_value": 39, "correction_factor": 1.02}, "gas"),
        ("time,gas used [ft3]", 3.6 / 39 / 0.3048**3, {"calorific_value": 39}, "gas"),
    ],
)
def test_kinds(head, scale, options, kind):
    got = read(table(PLAIN, KWH * scale, head=head, decimals=9), ZONE, **options)
    assert got.kind == kind
    assert np.allclose(got.use["kwh"], KWH, rtol=1e-7)  # nine written places of small numbers


def test_counters_of_energy_flashes_and_gas():
    counter = 500 + np.append(0, np.cumsum(KWH)[:-1])
    for head, scale, options, kind in (
        ("time,reading [kWh]", 1, {}, "counter"),
        ("time,kWh", 1, {}, "counter"),
        ("time,pulses", 800, {"flashes_per_kwh": 800}, "flash counter"),
        ("time,gas index [m3]", 3.6 / 40, {"calorific_value": 40}, "gas counter"),
    ):
        got = read(table(PLAIN, counter * scale, head=head, decimals=9), ZONE, **options)
        assert got.kind == kind
        assert np.allclose(got.use["kwh"], KWH[:-1], rtol=1e-6)
        assert got.totals["kwh"] == pytest.approx(KWH[:-1].sum(), rel=1e-9)


def test_current_with_columns_of_its_own():
    volts, share = np.full(240, 235.0), np.full(240, 0.9)
    amps = 1000 * KWH / volts / share
    got = read(table(PLAIN, amps, volts, share, head="time,current A,voltage V,PF", decimals=9), ZONE)
    assert np.allclose(got.use["kwh"], KWH, rtol=1e-7)


@pytest.mark.parametrize("step", ["1s", "10s", "1min", "30min", "3h", "1D", "MS"])
def test_any_interval_length(step):
    stamps = pd.date_range("2025-01-01", periods=40, freq=step, tz=ZONE)
    kwh = np.random.default_rng(1).uniform(0.0001, 0.0008, 40)
    got = read(table(stamps.strftime("%Y-%m-%d %H:%M:%S"), kwh, decimals=12), ZONE, unit="kWh")  # fractions of a watt
    ends = np.append(stamps[1:].asi8, (stamps[-1:] + pd.tseries.frequencies.to_offset(step)).asi8)
    seconds = (ends - stamps.asi8) / {"s": 1, "ms": 1e3, "us": 1e6, "ns": 1e9}[stamps.unit]
    assert np.allclose(got.use["hours"], seconds / 3600)
    assert got.totals["kwh"] == pytest.approx(kwh.sum(), rel=1e-9)


def test_hand_readings():
    text = "date;time;reading kWh\n1.10.2025;18:30;10432,5\n4.10.2025;8:05;10471\n19.10.2025;19:00;10640,25\n"
    got = read(text.encode(), ZONE)
    assert got.kind == "counter" and list(got.use["kwh"]) == [38.5, 169.25]
    assert got.use["hours"].iloc[0] == pytest.approx(61 + 35 / 60)
    got = read(b"2025-10-01 18:00,10432.5\n2025-10-08 18:00,10471\n", ZONE, kind="counter", unit="kWh")
    assert list(got.use["kwh"]) == [38.5]


def test_stamps_at_the_end():
    ends = (HOURS + pd.Timedelta(hours=1)).strftime("%Y-%m-%d %H:%M")
    same(read(table(ends, KWH), ZONE, stamps="end"))
    got = read(table(ends, KWH, head="hour ending,use [kWh]"), ZONE)
    same(got)
    assert any("“ending”" in one for one in got.interpretation)
    late = [
        f"{one - pd.Timedelta(hours=24):%Y-%m-%d} 24:00" if one.hour == 0 else f"{one:%Y-%m-%d %H:%M}"
        for one in HOURS + pd.Timedelta(hours=1)
    ]
    same(read(table(late, KWH, head="hour ending,use [kWh]"), ZONE))


def test_start_and_end_columns():
    rows = zip(PLAIN, (HOURS + pd.Timedelta(hours=1)).strftime("%Y-%m-%d %H:%M"), KWH)
    text = "from,to,used kWh\n" + "".join(f"{one},{other},{value:.3f}\n" for one, other, value in rows)
    same(read(text.encode(), ZONE))


def test_ambiguous_files_are_refused():
    first_days = pd.date_range("2025-01-01", periods=200, freq="h")
    early = first_days.strftime("%d/%m/%Y %H:%M")
    for text, options, sentence in (
        (table(early, KWH[:200]), {}, 'Row 2: is “01/01/2025 00:00” day/month.*dates="day first"'),
        (table(PLAIN, KWH, head="time,value"), {}, 'has no unit. Give unit="kWh"'),
        (b"time,kWh\n2025-10-01,5\n2025-10-02,6\n2025-10-03,8\n", {}, 'kind="counter" or kind="interval"'),
        (table(PLAIN, KWH, KWH, head="time,pond kWh,house kWh"), {}, 'column="'),
        (table(PLAIN, KWH, head="time,amps"), {}, "voltage=230"),
        (table(PLAIN, KWH, head="time,flashes"), {}, "flashes_per_kwh=1000"),
        (table(PLAIN, KWH, head="time,gas used m3"), {}, "calorific_value=39"),
        (table(PLAIN, KWH, head="time,reading [kWh]"), {}, "A counter only goes up"),
        (table(PLAIN, np.cumsum(KWH), head="time,use [kWh]"), {}, "only rise"),
        (table(PLAIN, KWH, head="time,power [W]"), {"kind": "counter"}, "is in W"),
        (table(PLAIN, KWH), {"dates": "day first"}, "year first"),
        (table(PLAIN, -KWH), {}, "clamp"),
        (b"", {}, "empty"),
        (b"\xef\xbb\xbf", {}, "empty"),
        (b"PK\3\4 workbook", {}, "CSV"),
        (b"hello\n", {}, "Row 1 begins"),
    ):
        with pytest.raises(ReadingsFault, match=sentence):
            read(text, ZONE, **options)
    same(read(table(HOURS.strftime("%d/%m/%Y %H:%M"), KWH), ZONE, dates="day first"))
    first = read(table(early, KWH[:200]), ZONE, dates="day first")
    assert (first.use.index == first_days.tz_localize(ZONE)).all()
    same(read(table(PLAIN, KWH, KWH * 2, head="time,day kWh,night kWh"), ZONE, column="day kWh"))
    same(read(table(PLAIN, KWH, KWH * 2, head="time,day kWh,night kWh"), ZONE, column=2))


def test_a_rare_date_tells_day_from_month():
    days = pd.date_range("2025-03-01", periods=12 * 1440 + 3, freq="min")  # only the last three rows lie on the 13th
    got = read(table(days.strftime("%d/%m/%Y %H:%M"), np.tile(KWH, 73)[: len(days)] / 100, decimals=6), ZONE)
    assert got.use.index[0] == pd.Timestamp("2025-03-01", tz=ZONE)
    assert any("day first" in one for one in got.interpretation)


def test_refuses_invalid_options():
    text = table(PLAIN, KWH)
    with pytest.raises(Unreadable, match="Did you mean “Europe/London”"):
        read(text, "Europe/Londn")
    for options in (
        {"stamps": "middle"},
        {"clock": "mine"},
        {"kind": "meter"},
        {"rating": -5.0},
        {"calorific_value": 0.5},
    ):
        with pytest.raises(OutOfRange):
            read(text, ZONE, **options)
    with pytest.raises(ReadingsFault, match="no such file"):
        read("/nowhere/at/all.csv", ZONE)


def test_paths_and_progress(tmp_path):
    path = tmp_path / "meter.csv"
    path.write_bytes(table(PLAIN, KWH))
    seen = []
    same(read(path, ZONE, progress=seen.append))
    same(read(str(path), ZONE))
    assert seen == sorted(seen) and seen[0] == 0 and seen[-1] == 1 and len(seen) > 4

    class Stop(Exception):
        pass

    def stop(share):
        if share > 0.3:
            raise Stop

    with pytest.raises(Stop):
        read(path, ZONE, progress=stop)


def test_water_temperature():
    water = np.linspace(8, 12, 240)
    for head, written in (
        ("time,use [kWh],water temp °C", water),
        ("time,use [kWh],water temp °F", water * 1.8 + 32),
        ("time,use [kWh],temp", water * 1.8 + 32),
        ("time,use [kWh],temp", water),
    ):
        got = read(table(PLAIN, KWH, written, head=head, decimals=6), ZONE)
        assert np.allclose(got.use["water_temp"], water, atol=1e-5), head
    counter = np.append(0, np.cumsum(KWH)[:-1])
    got = read(table(PLAIN, counter, water, head="time,reading kWh,temp °C", decimals=6), ZONE)
    assert np.allclose(got.use["water_temp"], (water[1:] + water[:-1]) / 2, atol=1e-5)


def test_no_power_is_carried_over_a_long_gap():
    """An irregular log of watts: its value holds to the next row, but not through six silent hours."""
    steps = np.random.default_rng(6).integers(3, 25, 120) * 60
    at = HOURS[0] + pd.to_timedelta(np.cumsum(steps), "s")
    at = at[:60].append(at[60:] + pd.Timedelta("6h"))
    readings = read(table(at.strftime("%Y-%m-%d %H:%M:%S"), np.full(120, 3000.0), head="time,power [W]"), ZONE)
    gap = [one for one in readings.repairs if one.kind == "gap"]
    assert len(gap) == 1 and "no value is carried across" in gap[0].sentence
    usual = np.median(np.diff(at)) / np.timedelta64(1, "s")
    metered = steps[1:].sum() - steps[60] + 2 * usual  # the last row's interval is not known either
    assert readings.totals["hours"] == pytest.approx(metered / 3600, abs=0.01)
    assert readings.totals["kwh"] == pytest.approx(3 * readings.totals["hours"])


@pytest.mark.parametrize(
    "form",
    some_of(
        [
            "%Y-%m-%dT%H:%M:%S",
            "%d/%m/%Y %I:%M %p",
            "%m/%d/%y, %I:%M:%S%p",
            "%d %b %Y %H:%M",
            "%B %d, %Y %H:%M:%S",
            "%Y-%m-%d %H:%M:%S.%f",
            "%d.%m.%Y %H:%M:%S,%f",
            "%Y-%m-%d %H:%M %Z",
            "%d-%b-%y %H:%M%z",
            "%Y/%m/%d",
        ],
        *(1, 6, 8),
    ),
)
def test_dates_and_clock_times_read_apart_make_the_whole_stamp(form):
    zone = pd.date_range("2025-10-12 00:07", periods=3000, freq="11min", tz="UTC").tz_convert("Europe/London")
    cells = np.array(zone.strftime(form), dtype=object)
    cells[5], cells[-3], cells[7] = "12:30", cells[-3] + "x", ""  # a clock time alone, a letter too many, nothing
    found = timestamps.find_time_columns([[one] for one in cells[::7]], [""], None, "the file")
    got = time_formats.parse(cells, found.formats)
    aware = "%z" in form.lower()
    whole = pd.to_datetime(
        pd.Series(zone.strftime(form.replace("%Z", "%z"))), format=form.replace("%Z", "%z"), utc=aware
    )
    expected = (whole.dt.tz_localize(None) if aware else whole).to_numpy().astype("datetime64[us]")
    expected[[5, -3, 7]] = np.datetime64("NaT")
    assert np.array_equal(np.isnat(got), np.isnat(expected)) and (got == expected)[~np.isnat(got)].all()
