"""Suppliers' and gateways' shapes of tables: each read from a generator's truth and from lines written by hand."""

import gzip
import io

import numpy as np
import pandas as pd
import pytest
from usual_cases import some_of

from pondheat.meter.reading import thermometer_file
from pondheat.meter.reading.meter_file import ReadingsFault, read

ZONE = "Europe/London"
SPRING, AUTUMN, WINTER = "2025-03-29", "2025-10-25", "2025-01-10"


def truth(start=WINTER, days=4, minutes=30, zone=ZONE, seed=3) -> pd.Series:
    """Use of each interval of whole local days [kWh], clock changes included."""
    end = pd.Timestamp(start, tz=zone) + pd.DateOffset(days=days)
    index = pd.date_range(pd.Timestamp(start, tz=zone), end, freq=f"{minutes}min", inclusive="left")
    draw = np.random.default_rng(seed)
    kwh = np.where(draw.random(len(index)) < 0.3, 0.0, draw.uniform(0.2, 2.9, len(index))) * minutes / 60
    return pd.Series(np.round(kwh, 3), index)


def same(found, wanted: pd.Series) -> None:
    """The readings are the truth, interval by interval."""
    assert (found.use.index == wanted.index).all() and np.allclose(found.use["kwh"], wanted.to_numpy(), atol=1e-9)
    assert found.totals["kwh"] == pytest.approx(wanted.sum(), rel=1e-9)


def by_day(wanted: pd.Series) -> dict:
    """The values of each local day."""
    index = pd.DatetimeIndex(wanted.index)
    return {day: part.to_numpy() for day, part in wanted.groupby(index.date)}


def csv(head, rows, sep=",") -> bytes:
    return "\n".join([sep.join(map(str, head)), *(sep.join(map(str, row)) for row in rows)]).encode() + b"\n"


# --- a row for each day -------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "labels, minutes",
    some_of(
        [
            *((labels, minutes) for labels in ("clock", "end", "number", "HH01", "range") for minutes in (60, 15)),
            ("clock", 5),
        ],
        *(0, 1, 2, 4, 6, 7, 8),
    ),
)
def test_matrix_of_day_by_period(labels, minutes):
    wanted, count = truth(minutes=minutes), 1440 // minutes
    starts = [f"{at * minutes // 60:02d}:{at * minutes % 60:02d}" for at in range(count + 1)]
    head = {
        "clock": starts[:-1],
        "end": [*starts[1:-1], "00:00"],
        "number": [str(at + 1) for at in range(count)],
        "HH01": [f"HH{at + 1:02d}" for at in range(count)],
        "range": [f"{one} - {two}" for one, two in zip(starts, starts[1:])],
    }[labels]
    found = read(csv(["Date (kWh)", *head], [[day, *row] for day, row in by_day(wanted).items()]), ZONE)
    same(found, wanted)
    assert any(f"{count} values, {minutes} minutes each" in one for one in found.interpretation)


@pytest.mark.parametrize("start", [SPRING, AUTUMN])
def test_matrix_with_days_of_23_and_25_hours(start):
    """Numbered periods count from midnight; cells that the day does not have are empty."""
    wanted = truth(start)
    rows = [[f"{day:%d.%m.%Y}", *row, *[""] * (50 - len(row))] for day, row in by_day(wanted).items()]
    same(read(csv(["Tag", *range(1, 51)], rows, ";"), ZONE, unit="kWh"), wanted)


def test_matrix_by_the_clock_across_spring():
    wanted = truth(SPRING)
    rows = []
    for day, row in by_day(wanted).items():
        cells = list(row) if len(row) == 48 else [*row[:2], "", "", *row[2:]]  # 01:00 and 01:30 do not exist
        rows.append([day, *cells])
    head = ["date [kWh]", *(f"{at // 2:02d}:{at % 2 * 30:02d}" for at in range(48))]
    same(read(csv(head, rows), ZONE), wanted)


def test_matrix_by_hand():
    text = "Daily use kWh\nDate,00:00,06:00,12:00,18:00\n"
    with pytest.raises(ReadingsFault, match="column="):  # four columns are no day's periods known here
        read(text.encode() + b"2025-01-01,1,2,3,4\n2025-01-02,1,2,3,4\n2025-01-03,4,3,2,1\n", ZONE)
    hours = ",".join(f"{hour:02d}:00" for hour in range(24))
    cells = [",".join(str(day) if hour == 7 else "0.5" for hour in range(24)) for day in (1, 2)]
    rows = f"01/02/2025,{cells[0]}\n02/02/2025,{cells[1]}\n"
    with pytest.raises(ReadingsFault, match='day/month or month/day.*dates="day first"'):
        read(f"Hourly use kWh\nDate,{hours}\n{rows}".encode(), ZONE)
    found = read(f"Hourly use kWh\nDate,{hours}\n{rows}".encode(), ZONE, dates="day first", kind="interval")
    assert found.totals["kwh"] == 2 * 23 * 0.5 + 3 and found.use["kwh"].loc["2025-02-02 07:00"] == 2.0
    with pytest.raises(ReadingsFault, match='day of 24 values.*what their unit is. Give unit="kWh"'):
        read(csv(["Date", *hours.split(",")], [["2025-02-01", *[0.5] * 24]] * 2), ZONE, kind="interval")


# --- date and number of a period ----------------------------------------------------------------------------------


@pytest.mark.parametrize("start", [WINTER, SPRING, AUTUMN])
def test_settlement_periods(start):
    wanted = truth(start)
    rows = [[day, at + 1, value] for day, row in by_day(wanted).items() for at, value in enumerate(row)]
    same(read(csv(["Settlement Date", "Settlement Period", "Consumption (kWh)"], rows), ZONE), wanted)
    quarter = truth(start, minutes=15)
    rows = [[f"{day:%d.%m.%Y}", at, value] for day, row in by_day(quarter).items() for at, value in enumerate(row)]
    same(read(csv(["Datum", "interval", "use kWh"], rows, ";"), ZONE), quarter)


def test_a_period_that_the_day_does_not_have():
    text = "date,period,use kWh\n" + "".join(f"2025-01-10,{at},0.5\n" for at in range(1, 49)) + "2025-01-11,49,0.7\n"
    with pytest.raises(ReadingsFault, match="Row 50: that day has no period 49 of 30 minutes in Europe/London"):
        read(text.encode(), ZONE, kind="interval")
    found = read(text.replace(",49,", ",1,").encode(), ZONE, kind="interval")  # the row corrected
    assert found.totals["kwh"] == pytest.approx(24.7)


# --- several devices ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "name, order",
    some_of([(name, order) for order in ("mixed", "blocks") for name in ("meter id", "entity_id", "MPAN")], 0, 2, 4),
)
def test_several_meters_by_a_column(name, order):
    parts = {"pond": truth(seed=1), "house": truth(seed=2), "1900000000123": truth(seed=3)}
    rows = [[one, f"{at:%Y-%m-%d %H:%M}", value] for one, part in parts.items() for at, value in part.items()]
    if order == "mixed":
        rows.sort(key=lambda row: row[1])
    data = csv([name, "time", "use kWh"], rows)
    with pytest.raises(
        ReadingsFault, match='“1900000000123”, “house”, “pond”. Which one should be read. Give device="…"'
    ):
        read(data, ZONE)
    for one, wanted in parts.items():
        same(read(data, ZONE, device=one), wanted)
    with pytest.raises(ReadingsFault, match="names a device “shed”. There are: “1900000000123”, “house”, “pond”"):
        read(data, ZONE, device="shed")


def test_several_meters_by_hand():
    text = "device,date,time,kWh\nA,2025-01-01,00:00,1\nA,2025-01-01,01:00,2\n"
    text += "B,2025-01-01,00:00,10\nB,2025-01-01,01:00,20\n"
    assert read(text.encode(), ZONE, device="B", kind="interval").totals["kwh"] == 30
    one = "device,date,time,kWh\nA,2025-01-01,00:00,1\nA,2025-01-01,01:00,2\nB,2025-01-01,02:00,3\n"
    assert read(one.encode(), ZONE, kind="interval").totals["kwh"] == 6  # a meter exchanged: the times do not coincide


# --- registers of day and night -----------------------------------------------------------------------------------


def test_registers_of_day_and_night_are_added():
    wanted = truth(minutes=60)
    night = pd.DatetimeIndex(wanted.index).hour < 7
    day_use, night_use = np.where(night, 0, wanted), np.where(night, wanted, 0)
    registers = [5000 + np.append(0, np.cumsum(part)) for part in (day_use, night_use)]
    stamps = [*wanted.index, wanted.index[-1] + pd.Timedelta("1h")]
    rows = [[f"{at:%Y-%m-%d %H:%M}", f"{one:.3f}", f"{two:.3f}"] for at, one, two in zip(stamps, *registers)]
    data = csv(["time", "day kWh", "night kWh"], rows)
    with pytest.raises(ReadingsFault, match='or column="A.B" to add two, such as day and night registers'):
        read(data, ZONE)
    for column in ("day kWh+night kWh", "2+3", "day kWh + 3"):
        same(read(data, ZONE, column=column), wanted)
    assert any("Added, row by row" in one for one in read(data, ZONE, column="2+3").interpretation)
    with pytest.raises(ReadingsFault, match="names one column twice"):
        read(data, ZONE, column="2+2")
    mixed = csv(["time", "day kWh", "night Wh"], rows)
    with pytest.raises(ReadingsFault, match="cannot be added"):
        read(mixed, ZONE, column="2+3")


# --- counters of the present day ----------------------------------------------------------------------------------


@pytest.mark.parametrize("start", [WINTER, AUTUMN, SPRING])
@pytest.mark.parametrize("minutes", [60, 15])
def test_a_counter_that_starts_again_at_midnight(start, minutes):
    wanted = truth(start, days=10, minutes=minutes)
    rows = [
        [f"{at.isoformat()}", f"{value:.3f}"]
        for day in by_day(wanted)
        for at, value in zip(
            wanted.index[pd.DatetimeIndex(wanted.index).date == day] + pd.Timedelta(minutes=minutes - 1),
            np.cumsum(by_day(wanted)[day]),
        )
    ]
    found = read(csv(["time", "energy today kWh"], rows), ZONE)
    assert found.totals["kwh"] == pytest.approx(wanted.iloc[1:].sum()) and found.totals["kwh_in_file"] == pytest.approx(
        found.totals["kwh"]
    )
    said = [one for one in found.interpretation if "counts from midnight" in one]
    assert len(said) == 1 and "(9 times)" in said[0] and not found.repairs
    sums = found.use["kwh"].groupby(pd.DatetimeIndex(found.use.index + pd.Timedelta(minutes=minutes)).date).sum()
    lasts = {day: part.sum() for day, part in by_day(wanted).items()}
    assert all(sums[day] == pytest.approx(lasts[day]) for day in list(lasts)[1:])  # the numbers of the file


def test_a_counter_of_the_day_by_hand():
    days = "".join(
        f"2025-01-0{day} 00:00,0.0\n2025-01-0{day} 08:00,1.5\n2025-01-0{day} 16:00,4.0\n2025-01-0{day} 23:55,{day}.25\n"
        for day in (5, 6, 7, 8)
    )
    found = read(("time,today [kWh]\n" + days).encode(), ZONE, kind="counter")
    assert found.totals["kwh"] == 5.25 + 6.25 + 7.25 + 8.25 and found.totals["kwh_in_file"] == found.totals["kwh"]


def test_a_heater_that_pauses_at_midnight_is_no_such_counter():
    """Use of each hour that happens to fall at midnight also falls at other times."""
    wanted = truth(days=10, minutes=60)
    rows = [[f"{at:%Y-%m-%d %H:%M}", 0.0 if at.hour == 0 else value] for at, value in wanted.items()]
    assert not any("counts from midnight" in one for one in read(csv(["time", "kWh"], rows), ZONE).interpretation)


# --- stamps -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("late, form", [("1min", "%Y-%m-%d %H:%M"), ("1s", "%Y-%m-%d %H:%M:%S")])
@pytest.mark.parametrize("minutes", [60, 30, 15])
def test_the_last_minute_of_an_interval_is_its_end(late, form, minutes):
    wanted = truth(minutes=minutes)
    ends = pd.DatetimeIndex(wanted.index) + pd.Timedelta(minutes=minutes) - pd.Timedelta(late)
    found = read(csv(["time", "use kWh"], zip(ends.strftime(form), wanted)), ZONE)
    same(found, wanted)
    starts = pd.DatetimeIndex(wanted.index).strftime("%Y-%m-%d %H:%M")
    same(read(csv(["from", "to", "use kWh"], zip(starts, ends.strftime(form), wanted)), ZONE), wanted)


def test_the_end_of_a_day_as_24_00_and_as_00_00():
    wanted = truth(minutes=60)
    days = [f"{at:%Y-%m-%d}" for at in wanted.index]
    ends = [f"{at.hour + 1:02d}:00" for at in wanted.index]
    same(read(csv(["date", "hour ending", "use kWh"], zip(days, ends, wanted)), ZONE), wanted)
    starts = [f"{at:%H:%M}" for at in wanted.index]
    midnight = [end.replace("24:", "00:") for end in ends]
    for late in (ends, midnight):
        same(read(csv(["date", "from", "to", "use kWh"], zip(days, starts, late, wanted)), ZONE), wanted)
        ranges = [f"{one} - {two}" for one, two in zip(starts, late)]
        same(read(csv(["date", "time", "use kWh"], zip(days, ranges, wanted)), ZONE), wanted)


@pytest.mark.parametrize("zone, names", [(ZONE, ("GMT", "BST")), ("Europe/Berlin", ("MEZ", "MESZ"))])
@pytest.mark.parametrize("start", [WINTER, SPRING, AUTUMN])
def test_names_of_offsets_in_the_stamps(zone, names, start):
    wanted = truth(start, zone=zone)
    stamps = [f"{at:%Y-%m-%d %H:%M} {names[bool(at.dst())]}" for at in wanted.index]
    same(read(csv(["time", "use kWh"], zip(stamps, wanted)), zone), wanted)
    iso = [f"{at.isoformat()}[{zone}]" for at in wanted.index]
    same(read(csv(["time", "use kWh"], zip(iso, wanted)), zone), wanted)


def test_a_name_that_means_several_offsets_is_not_guessed():
    wanted = truth(minutes=60)
    stamps = [f"{at:%Y-%m-%d %H:%M} CST" for at in wanted.index]
    with pytest.raises(ReadingsFault, match="No column of the file has dates that can be read"):
        read(csv(["time", "use kWh"], zip(stamps, wanted)), ZONE)


# --- packed -------------------------------------------------------------------------------------------------------


def workbook(**sheets: pd.DataFrame) -> bytes:
    made = io.BytesIO()
    with pd.ExcelWriter(made, engine="openpyxl") as writer:
        for name, table in sheets.items():
            table.to_excel(writer, sheet_name=name, index=False)
    return made.getvalue()


def test_gzip():
    wanted = truth()
    data = csv(["time", "use kWh"], zip(pd.DatetimeIndex(wanted.index).strftime("%Y-%m-%d %H:%M"), wanted))
    same(read(gzip.compress(data), ZONE), wanted)
    with pytest.raises(ReadingsFault, match="damaged or cut short"):
        read(gzip.compress(data)[:-40], ZONE)


def test_what_unpacks_to_more_than_fits_is_refused(monkeypatch):
    monkeypatch.setattr("pondheat.core.tables.containers.LARGEST", 100_000)
    with pytest.raises(ReadingsFault, match="once unpacked"):
        read(gzip.compress(b"0" * 200_000), ZONE)
    table = pd.DataFrame({"time": pd.date_range(WINTER, periods=3000, freq="h"), "kWh": 1.0})
    with pytest.raises(ReadingsFault, match="once unpacked"):
        read(workbook(log=table), ZONE)


def test_a_workbook():
    wanted = truth()
    table = pd.DataFrame({"time": pd.DatetimeIndex(wanted.index).tz_localize(None), "use kWh": wanted.to_numpy()})
    same(read(workbook(log=table), ZONE), wanted)
    data = workbook(notes=pd.DataFrame({"read me": ["first"]}), log=table)
    with pytest.raises(
        ReadingsFault, match='Which sheet of the file should be read: “notes”, “log”. Give worksheet="…"'
    ):
        read(data, ZONE)
    for chosen in ("log", "LOG", "2"):
        found = read(data, ZONE, worksheet=chosen)
        same(found, wanted)
    assert any("sheet “log”" in one for one in found.interpretation)
    with pytest.raises(ReadingsFault, match="has no sheet “third” with anything in it"):
        read(data, ZONE, worksheet="third")
    with pytest.raises(ReadingsFault, match="is not a workbook. Leave that option out"):
        read(b"time,kWh\n2025-01-01,1\n", ZONE, worksheet="log")


def test_a_workbook_with_date_and_time_apart_and_lines_above_the_head():
    wanted = truth(minutes=60)
    index = pd.DatetimeIndex(wanted.index)
    rows = [["Export of the pond", None, None], [None, None, None], ["Date", "Time", "Use kWh"]]
    rows += [[at.to_pydatetime().replace(tzinfo=None, hour=0), at.time(), value] for at, value in wanted.items()]
    made = io.BytesIO()
    pd.DataFrame(rows).to_excel(made, index=False, header=False, engine="openpyxl")
    found = read(made.getvalue(), ZONE)
    same(found, wanted)
    assert any("the readings begin in row 4" in one for one in found.interpretation) and len(index) == 96


def test_a_workbook_of_a_thermometer_and_damaged_ones():
    water = pd.DataFrame({"time": pd.date_range(WINTER, periods=60, freq="h"), "water °C": 8.0 + np.arange(60) / 50})
    found = thermometer_file.read(workbook(log=water), ZONE)
    assert np.allclose(found.water["water_temp"], water["water °C"])
    data = workbook(log=water)
    for broken in (data[:300], data[:-200], b"PK\3\4" + data[4:2000]):
        with pytest.raises(ReadingsFault, match="CSV"):
            read(broken, ZONE)


# --- hours, blank rows and remarks --------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "head, cells, minutes",
    [
        (("Date", "Heure", "Conso (kWh)"), lambda one: [f"{one:%d/%m/%Y}", f"{one:%Hh%M}"], 30),
        (("Interval", "Use (kWh)"), lambda one: [f"{one:%Y-%m-%dT%H:%MZ}/PT30M"], 30),
        (("Interval", "Use (kWh)"), lambda one: [f"{one:%Y-%m-%dT%H:%M+00:00}/PT30M"], 30),
        (("Date", "Hour", "kWh"), lambda one: [f"{one:%d.%m.%Y}", f"{one.hour + one.minute / 60:.2f}"], 15),
        (("Date", "Hour", "kWh"), lambda one: [f"{one:%d.%m.%Y}", f"{one.hour + one.minute / 60:.1f}"], 30),
        (("Date", "Hour", "kWh"), lambda one: [f"{one:%d.%m.%Y}", f"{one.hour:02d}-{one.hour + 1:02d}"], 60),
        (("stamp", "kWh"), lambda one: [f"{one:%Y%m%d%H%M}"], 30),
    ],
    ids=["00h30", "ISO interval", "with an offset", "quarters of an hour", "halves", "from hour to hour", "digits"],
)
def test_hours_in_other_spellings(head, cells, minutes):
    wanted = truth("2025-01-13", minutes=minutes)
    same(read(csv(head, [[*cells(one), value] for one, value in wanted.items()], ";"), ZONE), wanted)


def test_remarks_above_an_empty_line_name_no_column():
    wanted = truth()
    rows = csv(("Time", "Use (kWh)"), [[f"{one:%Y-%m-%d %H:%M}", value] for one, value in wanted.items()])
    found = read(b"Counter,Meter reading register\nKind,temperature\n\n" + rows, ZONE)
    same(found, wanted)
    assert not any("register" in one for one in found.interpretation)


def test_a_header_of_several_lines_in_quotation_marks():
    wanted = truth()
    rows = csv(
        ('"Date and\ntime"', '"Use\n[kWh]"'), [[f"{one:%Y-%m-%d %H:%M}", value] for one, value in wanted.items()]
    )
    same(read(rows, ZONE), wanted)
    lines = rows.decode().splitlines()
    lines[5], lines[8] = lines[5].replace(",", ',"'), lines[8].replace(",", ',"')  # damaged, and not of the header
    found = read("\n".join(lines).encode(), ZONE)
    assert [row for one in found.repairs for row in one.rows if one.kind == "text"] == [6, 7, 8, 9]


def test_rows_of_separators_alone():
    wanted = truth()
    rows = [line for one, value in wanted.items() for line in ([f"{one:%Y-%m-%d %H:%M}", value, ""], ["", "", ""])]
    same(read(csv(("time", "use [kWh]", ""), rows), ZONE), wanted)
