"""Repairs of a meter file: each fault is corrected, reported with its rows, and its energy accounted for."""

import numpy as np
import pandas as pd
import pytest
from usual_cases import some_of

from pondheat.meter.reading.meter_file import ReadingsFault, read

ZONE = "Europe/London"
STAMPS = pd.date_range("2025-01-10", periods=200, freq="h").strftime("%Y-%m-%d %H:%M")
KWH = np.round(np.random.default_rng(7).uniform(0.2, 2.8, 200), 3)


def interval(edit=None, head="time,use [kWh]", values=KWH):
    """An hourly file of uses; `edit` changes its lines, of which the header is row 1."""
    lines = [head] + [f"{stamp},{value:.3f}" for stamp, value in zip(STAMPS, values)]
    if edit:
        edit(lines)
    return ("\n".join(lines) + "\n").encode()


def counter(edit=None, start=10_000.0, kwh=KWH):
    """An hourly file of 200 counter readings of five digits."""
    return interval(edit, "time,reading [kWh]", start + np.append(0, np.cumsum(kwh[:-1])))


def repair_of(readings, kind):
    """The one repair of a kind; checks that the repairs add up to the change of the total."""
    difference = readings.totals["kwh"] - readings.totals["kwh_in_file"]
    named = sum(one.kwh for one in readings.repairs)
    assert difference == pytest.approx(named, abs=1e-9 * abs(readings.totals["kwh"]) + 1e-12)
    found = [one for one in readings.repairs if one.kind == kind]
    assert len(found) == 1, [one.sentence for one in readings.repairs]
    assert found[0].sentence in readings.text()
    return found[0]


def put(row, value):
    """Replace the value of one row of the file."""

    def edit(lines):
        lines[row - 1] = lines[row - 1].split(",")[0] + "," + value

    return edit


def test_a_clean_file_needs_no_repair():
    for made in (interval(), counter()):
        got = read(made, ZONE)
        assert not got.repairs and "Nothing needed repair" in got.text()
        assert got.totals["kwh"] == got.totals["kwh_in_file"]


def test_duplicates():
    got = read(interval(lambda lines: lines.insert(11, lines[10])), ZONE)
    one = repair_of(got, "double")
    assert one.rows == (12,) and one.kwh == pytest.approx(-KWH[9])
    assert got.totals["kwh"] == pytest.approx(KWH.sum(), rel=1e-12)
    got = read(interval(lambda lines: lines.insert(11, lines[10].split(",")[0] + ",9.000")), ZONE)
    assert repair_of(got, "double").kwh == pytest.approx(-9.0) and got.totals["kwh"] == pytest.approx(KWH.sum())
    got = read(counter(lambda lines: lines.insert(11, lines[10])), ZONE)
    assert repair_of(got, "double").kwh == 0 and got.totals["kwh"] == pytest.approx(KWH[:-1].sum(), rel=1e-12)


def test_two_meters_in_one_file_are_refused():
    def twice(lines):
        lines[1:] = [one for line in lines[1:] for one in (line, line + "1")]

    with pytest.raises(ReadingsFault, match="Does the file hold two meters"):
        read(
            interval(
                lambda lines: (
                    twice(lines),
                    lines.__setitem__(
                        slice(1, None),
                        [line if at % 2 else line.split(",")[0] + ",0.100" for at, line in enumerate(lines[1:])],
                    ),
                )
            ),
            ZONE,
        )


def test_order():
    def exchange(lines):
        lines[20], lines[21] = lines[21], lines[20]

    got = read(interval(exchange), ZONE)
    assert repair_of(got, "order").rows == (22,)
    assert np.allclose(got.use["kwh"], KWH)
    got = read(interval(lambda lines: lines.__setitem__(slice(1, None), lines[:0:-1])), ZONE)
    assert "newest to oldest" in repair_of(got, "order").sentence and np.allclose(got.use["kwh"], KWH)


def test_gaps():
    got = read(interval(lambda lines: lines.__delitem__(slice(50, 60))), ZONE)
    one = repair_of(got, "gap")
    assert "10 rows are missing" in one.sentence and "after row 50" in one.sentence
    assert got.totals["kwh"] == pytest.approx(KWH.sum() - KWH[49:59].sum()) and got.totals["hours"] == 190
    got = read(counter(lambda lines: lines.__delitem__(slice(50, 60))), ZONE)
    assert "kept as one long interval" in repair_of(got, "gap").sentence
    assert got.totals["kwh"] == pytest.approx(KWH[:-1].sum()) and got.use["hours"].max() == 11


@pytest.mark.parametrize("word", ["NaN", "n/a", "-", "---", "error", "", "NULL", "#N/A", "Err"])
def test_words_for_missing_values(word):
    for edit in (put(40, word), lambda lines: [put(row, word)(lines) for row in (40, 41, 42)]):
        got = read(interval(edit), ZONE)
        assert 40 in repair_of(got, "missing").rows
        assert got.totals["kwh"] == pytest.approx(KWH.sum() - KWH[38 : 38 + len(repair_of(got, "missing").rows)].sum())
    got = read(counter(put(40, word)), ZONE)
    assert repair_of(got, "missing").rows == (40,) and got.totals["kwh"] == pytest.approx(KWH[:-1].sum())


def test_cells_that_are_not_numbers():
    for word in ("1x2", "0x1f", "inf", "1_000", "12.5.3", "2025-01-01"):
        got = read(interval(put(40, word)), ZONE)
        assert repair_of(got, "unreadable").rows == (40,) and got.totals["kwh"] == pytest.approx(KWH.sum() - KWH[38]), (
            word
        )


def test_a_number_that_lost_its_decimals_is_told_unless_whole_numbers_are_written_so():
    got = read(interval(lambda lines: [put(row, "3." if row == 40 else "1.5")(lines) for row in range(30, 60)]), ZONE)
    assert repair_of(got, "cut").rows == (40,)
    assert got.totals["kwh"] == pytest.approx(KWH.sum() - KWH[28:58].sum() + 29 * 1.5 + 3)
    got = read(interval(lambda lines: [put(row, ".7" if row == 40 else "1.5")(lines) for row in range(30, 60)]), ZONE)
    assert repair_of(got, "cut").rows == (40,)
    got = read(interval(lambda lines: [put(row, f"{1 + row % 3}.")(lines) for row in range(30, 60)]), ZONE)
    assert "cut" not in [one.kind for one in got.repairs]


def test_negative():
    got = read(interval(put(40, "-3.000")), ZONE)
    one = repair_of(got, "negative")
    assert one.rows == (40,) and one.kwh == pytest.approx(3.0)
    assert repair_of(read(counter(put(40, "-3.000")), ZONE), "negative").rows == (40,)


def test_a_spike_by_the_rating_and_without_one():
    got = read(interval(put(40, "50.000")), ZONE, rating=3000.0)
    one = repair_of(got, "spike")
    assert one.rows == (40,) and one.kwh == pytest.approx(-50.0)
    got = read(interval(put(40, "50.000")), ZONE)
    assert repair_of(got, "outlier").kwh == 0 and got.totals["kwh"] == pytest.approx(KWH.sum() - KWH[38] + 50)
    got = read(interval(put(40, "5000000.000")), ZONE)  # 5 GW: beyond any pond, rating or not
    assert repair_of(got, "spike").rows == (40,)
    with pytest.raises(ReadingsFault, match="Is the rating, the unit or the kind wrong"):
        read(interval(), ZONE, rating=100.0)


def test_stuck():
    values = KWH.copy()
    values[100:130] = 0.777
    got = read(interval(values=values), ZONE)
    assert repair_of(got, "stuck").rows == tuple(range(102, 132)) and got.totals["kwh"] == pytest.approx(values.sum())
    still = KWH.copy()
    still[100:129], still[129] = 0.0, KWH[100:130].sum()  # the counter rests for 29 hours, then shows all at once
    got = read(counter(kwh=still), ZONE, rating=3000.0)
    assert repair_of(got, "stuck").rows[-1] == 132
    assert got.totals["kwh"] == pytest.approx(KWH[:-1].sum(), rel=1e-9) and got.use["hours"].max() == 30


def test_roll_over():
    counted = (99_900.0 + np.append(0, np.cumsum(KWH[:-1]))) % 100_000
    got = read(interval(None, "time,reading [kWh]", counted), ZONE)
    one = repair_of(got, "roll-over")
    assert one.kwh == pytest.approx(100_000) and "100000 kWh were added" in one.sentence
    assert got.totals["kwh"] == pytest.approx(KWH[:-1].sum(), rel=1e-9)
    early = (800.0 + np.append(0, np.cumsum(KWH[:-1]) * 2)) % 1000
    got = read(interval(None, "time,reading [kWh]", early), ZONE, digits=3)
    assert repair_of(got, "roll-over").kwh == pytest.approx(1000)
    with pytest.raises(ReadingsFault, match="more than the 3 digits"):
        read(interval(None, "time,reading [kWh]", counted), ZONE, digits=3)


@pytest.mark.parametrize("start, after", [(10_000.0, 0.0), (5_300.0, 3_000.0), (99_500.0, 61_000.0)])
def test_a_reset_is_not_a_roll_over(start, after):
    counted = start + np.append(0, np.cumsum(KWH[:-1]))
    counted[120:] += after - counted[120]
    got = read(interval(None, "time,reading [kWh]", counted), ZONE)
    one = repair_of(got, "reset")
    assert one.rows == (122,) and "not a roll-over" in one.sentence
    assert got.totals["kwh"] == pytest.approx(KWH[:-1].sum() - KWH[119], rel=1e-9)  # that hour is not known
    assert ("own numbers" in got.text()) == (got.totals["kwh_in_file"] >= 0)  # less than nothing says nothing


def test_a_meter_exchanged_near_its_nines_is_no_roll_over():
    """From 99437 to 12 in a day would be 575 kWh where a day takes 55: a new meter, whose first day is unknown."""
    days = pd.date_range("2026-01-05 12:00", periods=30, freq="D")
    values = np.where(np.arange(30) < 14, 98_722.3, 12.0 - 14 * 55.0) + 55.0 * np.arange(30)
    text = "date,reading [kWh]\n" + "".join(f"{day:%Y-%m-%d %H:%M},{one:.1f}\n" for day, one in zip(days, values))
    got = read(text.encode(), ZONE)
    assert "not a roll-over" in repair_of(got, "reset").sentence
    assert got.use["kwh"].sum() == pytest.approx(28 * 55)
    assert repair_of(read(text.encode(), ZONE, digits=5), "roll-over").kwh == pytest.approx(1e5)


@pytest.mark.parametrize("top", [100_000, 1_000_000])
@pytest.mark.parametrize("rolls_on", [250, 265, 279])
def test_a_roll_over_in_a_cold_spell(rolls_on, top):
    """A heater that only keeps frost out: 2 kWh a day in a mild year, 55 in its 30 cold days, when the counter turns.

    A meter exchanged in the same spell, 563 short of its nines, is still a new meter.
    """
    daily = np.full(365, 2.0)
    daily[250:280] = 55.0
    days = pd.date_range("2025-05-01 12:00", periods=366, freq="D")
    sums = np.append(0.0, np.cumsum(daily))

    def log(values):
        text = "".join(f"{day:%Y-%m-%d %H:%M},{one:.1f}\n" for day, one in zip(days, values))
        return read(f"date,reading [kWh]\n{text}".encode(), ZONE)

    got = log((sums + top - sums[rolls_on] - 0.4 * daily[rolls_on]) % top)
    assert repair_of(got, "roll-over").kwh == pytest.approx(top)
    assert got.use["kwh"].sum() == pytest.approx(daily.sum())
    first = np.where(np.arange(366) <= rolls_on, top - 563 - sums[rolls_on], 12 - sums[rolls_on + 1])
    got = log(sums + first)
    assert "not a roll-over" in repair_of(got, "reset").sentence
    assert got.use["kwh"].sum() == pytest.approx(daily.sum() - daily[rolls_on])


@pytest.mark.parametrize("wrong", ["3.000", "98765.000"])
def test_a_misread_reading(wrong):
    got = read(counter(put(40, wrong)), ZONE)
    assert repair_of(got, "misread").rows == (40,)
    assert got.totals["kwh"] == pytest.approx(KWH[:-1].sum(), rel=1e-12)
    got = read(counter(lambda lines: [put(row, wrong)(lines) for row in (40, 41)]), ZONE)
    assert repair_of(got, "misread").rows == (40, 41)
    assert got.totals["kwh"] == pytest.approx(KWH[:-1].sum(), rel=1e-12)


def test_malformed_lines():
    def cut(lines):
        lines[30] = lines[30][:12]  # within the date
        lines[40] = lines[40][:-2]  # within the number: 1 place for the 3 of all others
        lines[50] = lines[50].replace(",", ";")
        lines[60] = "\x00\x01" + lines[60][2:]

    got = read(interval(cut), ZONE)
    rows = sorted(row for one in got.repairs if one.kind in ("text", "time") for row in one.rows)
    assert rows == [31, 41, 51, 61]
    assert got.totals["kwh"] == pytest.approx(KWH.sum() - KWH[[29, 39, 49, 59]].sum())
    spaced = interval(lambda lines: lines.__setitem__(slice(1, 140), [one.replace(",", " ") for one in lines[1:140]]))
    assert repair_of(read(spaced, ZONE), "text").rows == tuple(range(2, 141))
    spaced = interval(lambda lines: lines.__setitem__(slice(60, 199), [one.replace(",", " ") for one in lines[60:199]]))
    with pytest.raises(ReadingsFault, match="139 of 200 rows of the file do not have 2 fields, such as row 61"):
        read(spaced, ZONE)


def test_impossible_water_temperatures():
    lines = [f"{stamp},{value:.3f},{10 + 0.01 * at:.2f}" for at, (stamp, value) in enumerate(zip(STAMPS, KWH))]
    lines[30] = lines[30].rsplit(",", 1)[0] + ",85.00"
    lines[60] = lines[60].rsplit(",", 1)[0] + ",31.00"
    got = read(("time,use [kWh],water °C\n" + "\n".join(lines) + "\n").encode(), ZONE)
    kinds = [one.rows for one in got.repairs if one.kind == "temperature"]
    assert (32,) in kinds and any(62 in rows for rows in kinds)
    assert got.use["water_temp"].isna().sum() == 1 and got.totals["kwh"] == pytest.approx(KWH.sum())


def clock_file(start, periods, step, zone, kwh):
    """Rows in local time across a clock change."""
    index = pd.date_range(start, periods=periods, freq=step, tz=zone)
    lines = [f"{stamp},{value:.3f}" for stamp, value in zip(index.strftime("%Y-%m-%d %H:%M"), kwh)]
    return index, "time,use [kWh]\n" + "\n".join(lines) + "\n"


@pytest.mark.parametrize(
    "zone, spring, autumn",
    [
        ("Europe/London", "2025-03-29", "2025-10-25"),
        ("America/New_York", "2025-03-08", "2025-11-01"),
        ("Australia/Lord_Howe", "2025-10-04", "2025-04-05"),
        ("Europe/Berlin", "2025-03-29", "2025-10-25"),
        ("Pacific/Auckland", "2025-09-27", "2025-04-05"),
    ],
)
@pytest.mark.parametrize("step", some_of(["30min", "5min"], 0))
def test_skipped_and_repeated_hours(zone, spring, autumn, step):
    for day in (spring, autumn):
        kwh = np.round(np.random.default_rng(2).uniform(0.01, 0.4, 900), 3)
        index, text = clock_file(day, 900 if step == "5min" else 150, step, zone, kwh)
        kwh = kwh[: len(index)]
        got = read(text.encode(), zone)
        assert (got.use.index == index).all() and np.allclose(got.use["kwh"], kwh)
        sentence = repair_of(got, "clock").sentence
        assert ("show an hour twice" in sentence) == (day == autumn) and ("go forward" in sentence) == (day == spring)
        back = text.splitlines()
        turned = "\n".join([back[0], *back[:0:-1]]) + "\n"
        assert np.allclose(read(turned.encode(), zone).use["kwh"], kwh)


def test_a_repeated_hour_given_once_and_hours_that_do_not_exist():
    index, text = clock_file("2025-10-25", 96, "30min", ZONE, KWH[:96])
    lines = text.splitlines()
    second = [at for at, line in enumerate(lines) if line.startswith("2025-10-26 01:")][2:]
    once = ("\n".join(line for at, line in enumerate(lines) if at not in second) + "\n").encode()
    with pytest.raises(ReadingsFault, match='Row 52: on 2025-10-26 .* twice.*clock="utc".*clock="local"'):
        read(once, ZONE)
    assert read(once, ZONE, clock="utc").totals["hours"] == 47.0 and not read(once, ZONE, clock="utc").repairs
    got = read(once, ZONE, clock="local")
    assert any("once, taken as the first" in one.sentence for one in got.repairs)
    assert any("2 rows are missing" in one.sentence for one in got.repairs)
    plain = pd.date_range("2025-03-29", periods=96, freq="30min").strftime("%Y-%m-%d %H:%M")
    winter = "time,use [kWh]\n" + "\n".join(f"{one},{value:.3f}" for one, value in zip(plain, KWH[:96])) + "\n"
    with pytest.raises(ReadingsFault, match='does not exist in Europe/London.*clock="standard"'):
        read(winter.encode(), ZONE)
    assert read(winter.encode(), ZONE, clock="standard").totals["rows"] == 96


def test_ends_of_intervals_across_the_clock_changes():
    for day in ("2025-03-29", "2025-10-25"):
        starts = pd.date_range(day, periods=96, freq="30min", tz=ZONE)
        values = KWH[:96]
        ends = (starts + pd.Timedelta(minutes=30)).strftime("%Y-%m-%d %H:%M")
        text = "hour ending,use [kWh]\n" + "\n".join(f"{one},{value:.3f}" for one, value in zip(ends, values)) + "\n"
        got = read(text.encode(), ZONE)
        assert (got.use.index == starts).all() and np.allclose(got.use["kwh"], values, atol=6e-4)


@pytest.mark.parametrize("made", [interval, counter])
def test_a_time_that_does_not_follow_like_the_others_is_named(made):
    def misread(lines):
        lines[49] = lines[49].replace(":00,", ":03,")  # row 50 of the file

    assert not read(made(), ZONE).repairs
    found = read(made(misread), ZONE)
    assert repair_of(found, "step").sentence.startswith("Rows 49 to 50: the next row doesn't follow after 60 min like")


def test_a_day_of_25_hours_is_no_step_that_does_not_follow():
    days = pd.date_range("2025-10-01", periods=60, freq="D").strftime("%Y-%m-%d 08:00")
    daily = "time,reading [kWh]\n" + "".join(f"{day},{1000 + 21.5 * at}\n" for at, day in enumerate(days))
    assert not read(daily.encode(), ZONE).repairs


def test_lengths_of_local_days_and_months():
    days = pd.date_range("2025-03-20", periods=40, freq="D").strftime("%d.%m.%Y")
    rows = "".join(f"{one};{20 + at % 7},0\n" for at, one in enumerate(days))
    got = read(("date;use kWh\n" + rows).encode(), ZONE)
    assert sorted(set(got.use["hours"])) == [23.0, 24.0]
    months = pd.date_range("2025-01-01", periods=12, freq="MS").strftime("%Y-%m-%d")
    rows = "".join(f"{one},{300 - 20 * (at % 5)}\n" for at, one in enumerate(months))
    got = read(("month,use kWh\n" + rows).encode(), ZONE)
    assert list(got.use["hours"][:4]) == [744.0, 672.0, 743.0, 720.0] and got.totals["hours"] == 8760


def test_cells_with_their_own_unit():
    """A cell that names another unit than its column is converted; one that measures something else is missing."""
    table = "time,use [kWh]\n2026-01-05 00:00,1.2\n2026-01-05 01:00,850 Wh\n2026-01-05 02:00,1.1 kWh\n"
    got = read(table.encode(), ZONE)
    assert got.use["kwh"].tolist() == pytest.approx([1.2, 0.85, 1.1])
    power = "time,power\n2026-01-05 00:00,900 W\n2026-01-05 01:00,1.2 kW\n2026-01-05 02:00,1 kW\n"
    for given in ({}, {"unit": "W"}, {"unit": "kW"}):
        assert read(power.encode(), ZONE, **given).use["kwh"].tolist() == pytest.approx([0.9, 1.2, 1.0])
    mixed = read((table + "2026-01-05 03:00,700 W\n2026-01-05 04:00,1.3\n").encode(), ZONE)
    assert mixed.use["kwh"].tolist() == pytest.approx([1.2, 0.85, 1.1, 1.3])
    assert any("700 W" in one.sentence for one in mixed.repairs)


def test_a_time_of_day_that_cannot_be_read_is_no_midnight():
    rows = "".join(f"{day:02d}/01/2026,{{}},{100 + 20 * day}\n" for day in range(13, 20))
    with pytest.raises(ReadingsFault, match="Column 2 .“Time”.*“12.00”.*18:30"):
        read(("Date,Time,Reading kWh\n" + rows.format(*["12.00"] * 7)).encode(), ZONE)
    with pytest.raises(ReadingsFault, match="only 2 of 7 rows"):
        read(("Date,Time,Reading kWh\n" + rows.format("12:00", "12:00", *[""] * 5)).encode(), ZONE)
    got = read(("Date,Time,Reading kWh\n" + rows.format(*[""] * 7)).encode(), ZONE)
    assert any("counts as taken at midnight" in one for one in got.interpretation)
    timed = read(("Date,Time,Reading kWh\n" + rows.format(*["12:00"] * 7)).encode(), ZONE)
    assert timed.use.index[0].hour == 12 and not any("midnight" in one for one in timed.interpretation)


def test_a_title_above_the_columns_names_none_of_them():
    rows = "".join(f"{day:02d}.10.2025,12:00,{100 + 20 * day}\n" for day in range(13, 20))
    got = read(("Readings winter 2025/26,,\nDate,Time,Reading kWh\n" + rows).encode(), ZONE)
    assert got.use.index[0].hour == 12  # no “winter time” in a title
