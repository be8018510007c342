"""Table values as people write them: prices, clock times, days and dates; every fault gathered, none escaping."""

import datetime as dt
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pondheat.core import value_parsers
from pondheat.core.units import CURRENCIES, GBP, Currency, Unreadable

EUR = CURRENCIES["EUR"]


@pytest.mark.parametrize(
    "value, pounds",
    [
        ("28 p/kWh", 0.28),
        ("28p a kWh", 0.28),
        ("£0.28 per kWh", 0.28),
        ("28p/unit", 0.28),
        ("0 p/kWh", 0.0),
        ("-5 p/kWh", -0.05),
        ("£280/MWh", 0.28),
    ],
)
def test_rates(value, pounds):
    assert value_parsers.rate(value, GBP) == pytest.approx(pounds, abs=1e-12)


@pytest.mark.parametrize(
    "value, pounds",
    [
        ("53 p/day", 0.53),
        ("53p a day", 0.53),
        ("£16 a month", 16 * 12 / 365.25),
        ("£16 per month", 16 * 12 / 365.25),
        ("£192/year", 192 / 365.25),
    ],
)
def test_standing_charges(value, pounds):
    assert value_parsers.daily_charge(value, GBP) == pytest.approx(pounds)


@pytest.mark.parametrize(
    "value, sentence",
    [
        (28, "Did you mean “28 p/kWh”"),
        (0.28, "Did you mean “£0.28/kWh”"),
        ("28", "Did you mean “28 p/kWh”"),
        ("28 £/kWh", "did you mean 28 p/kWh"),
        ("28 euro/kWh", "Prices here are in £ and p"),
        ("28 p/kW", "is not a price per kWh"),
        ("28 p/day", "is not a price per kWh"),
        ("cheap", "No number"),
        ("28,5 p/kWh", "28.5"),
        (True, "28 p/kWh"),
        (10**400, "finite"),
        (math.nan, "finite"),
        ([28], "No number"),
        (None, "28 p/kWh"),
        ("£90/kWh", "did you mean 90 p/kWh"),
        ("£900/kWh", "it should be between"),
    ],
)
def test_rates_refused_with_a_hint(value, sentence):
    with pytest.raises(Unreadable, match=sentence):
        value_parsers.rate(value, GBP)


def test_rates_in_another_currency():
    assert value_parsers.rate("28 c/kWh", EUR) == 0.28
    with pytest.raises(Unreadable, match="did you mean 28 c/kWh"):
        value_parsers.rate("28 €/kWh", EUR)
    with pytest.raises(Unreadable, match="Prices here are in € and c"):
        value_parsers.rate("28 p/kWh", EUR)


def test_prices_in_a_currency_of_the_reader_s_own():
    """Nobody here knows what a rupee or a yen buys: 12 of them for a kWh are not taken for a slip."""
    rupee = Currency("NPR", "Rs", "paisa")
    assert value_parsers.rate("Rs 12/kWh", rupee) == 12.0 and value_parsers.daily_charge("Rs 50/day", rupee) == 50.0
    with pytest.raises(Unreadable, match="between -100 and 100"):
        value_parsers.rate("Rs 900/kWh", rupee)


def test_shares():
    assert (
        value_parsers.fraction("5 %") == 0.05
        and value_parsers.fraction(0.05) == 0.05
        and value_parsers.fraction(1) == 1.0
    )
    with pytest.raises(Unreadable, match="^5 can't be right: it should be between 0 and 1; did you mean 5 %"):
        value_parsers.fraction(5)
    with pytest.raises(Unreadable, match="^“250%” can't be right: .* between 0 and 100 %; did you mean 2.5 % or 25 %"):
        value_parsers.fraction("250%")
    with pytest.raises(Unreadable, match="^“101 %” can't be right: it should be between 0 and 100 %.$"):
        value_parsers.fraction("101 %")
    for wrong in (True, "5 p", -0.1, "many"):
        with pytest.raises(Unreadable):
            value_parsers.fraction(wrong)


@pytest.mark.parametrize(
    "value, minutes",
    [
        ("00:30", 30),
        ("7:30", 450),
        ("07.30", 450),
        ("24:00", 1440),
        ("0:00", 0),
        (dt.time(19, 5), 1145),
        (" 23:59 ", 1439),
        ("7pm", 1140),
        ("12 am", 0),
        ("12:30 p.m.", 750),
        ("8 AM", 480),
    ],
)
def test_clock_times(value, minutes):
    assert value_parsers.clock_minutes(value) == minutes
    assert value_parsers.clock_minutes(value_parsers.clock(value)) == minutes


@pytest.mark.parametrize(
    "value, hint",
    [
        ("25:00", "01:00"),
        ("24:30", "00:30"),
        ("7:65", ""),
        ("730", ""),
        ("8", ""),
        (8, ""),
        ("", ""),
        ("19pm", ""),
        ("0 am", ""),
        ("48:00", ""),
        (dt.time(1, 0, 30), ""),
        (True, ""),
    ],
)
def test_clock_times_refused_with_a_hint(value, hint):
    with pytest.raises(Unreadable, match=f"Did you mean “{hint}”" if hint else "is not a time of day"):
        value_parsers.clock_minutes(value)


@pytest.mark.parametrize(
    "value, day",
    [
        ("1 Oct", (10, 1)),
        ("1st October", (10, 1)),
        ("October 1", (10, 1)),
        ("Oct 1st, 2025", (10, 1)),
        ("1. oct. 2025", (10, 1)),
        ("10-01", (10, 1)),
        ("2025-10-01", (10, 1)),
        (dt.date(2025, 10, 1), (10, 1)),
        ("29 Feb", (2, 29)),
        ("2 Sept", (9, 2)),
        ("31 dec", (12, 31)),
        ("4 may", (5, 4)),
    ],
)
def test_days_of_the_year(value, day):
    assert value_parsers.day_of_year(value) == day


@pytest.mark.parametrize(
    "value",
    [
        "31 Feb",
        "30 Feb",
        "0 Oct",
        "1 Octopus",
        "1 Marmalade",
        "1/10",
        "13-01",
        "Oct",
        "1",
        "",
        None,
        "1 Okt",
        5,
        "2025-10",
    ],
)
def test_days_of_the_year_refused_with_a_hint(value):
    with pytest.raises(Unreadable, match="write it as “1 Oct” or “10-01”"):
        value_parsers.day_of_year(value)


def test_dates():
    assert value_parsers.calendar_date("2-29") == "02-29" and value_parsers.calendar_date("2024-02-29") == "2024-02-29"
    assert value_parsers.calendar_date(dt.date(2025, 1, 9)) == "2025-01-09"
    for wrong in ("2025-02-29", "31-12", "10/01", "", dt.datetime(2025, 1, 1), None, "0000-01-01"):
        with pytest.raises(Unreadable, match="is not a date"):
            value_parsers.calendar_date(wrong)


def test_weekdays():
    assert value_parsers.weekdays("all") == frozenset(range(7)) and value_parsers.weekdays("Weekend") == {5, 6}
    assert value_parsers.weekdays(["Mo", "tues", "WEDNESDAYS"]) == {0, 1, 2}
    assert value_parsers.weekdays(("weekdays", "Sun")) == {0, 1, 2, 3, 4, 6}
    for wrong in ("S", "T", "", [], ["Caturday"], 5, [None], True, "Mon-Fri"):
        with pytest.raises(Unreadable, match="day"):
            value_parsers.weekdays(wrong)
    assert value_parsers.days(" Weekdays ") == "weekdays" and value_parsers.days(["Sat", "Sun"]) == ("Sat", "Sun")


def test_text_and_booleans():
    assert value_parsers.text(" a ") == "a" and value_parsers.yes_or_no(False) is False
    for read, wrong in (
        (value_parsers.text, ""),
        (value_parsers.text, 3),
        (value_parsers.yes_or_no, "true"),
        (value_parsers.yes_or_no, 1),
    ):
        with pytest.raises(Unreadable):
            read(wrong)


def test_time_zones():
    assert str(value_parsers.time_zone("Europe/London")) == "Europe/London"
    with pytest.raises(Unreadable, match="Did you mean “Europe/London”"):
        value_parsers.time_zone("Europe/Londn")
    for wrong in ("", "Europe", "../etc/passwd", "/etc/passwd", "\x00", "x" * 5000, 7, None, "Mars/Olympus"):
        with pytest.raises(Unreadable, match="is not a known time zone"):
            value_parsers.time_zone(wrong)


def test_all_faults_of_a_table_are_collected():
    values = {"rate": "28 £/kWh", "tax": 5, "nmae": "x"}
    table = value_parsers.TableReader(values, ("rate", "tax", "name", "start"), "tariff")
    assert table.take("rate", lambda value: value_parsers.rate(value, GBP)) is None
    assert table.take("tax", value_parsers.fraction) is None
    assert table.take("start", value_parsers.clock, absent="00:00") == "00:00"
    assert table.take("name", value_parsers.text, example='"Night"') is None
    told = dict(table.faults)
    assert set(told) == {"tariff.nmae", "tariff.rate", "tariff.tax", "tariff.name"}
    assert "Did you mean “name”" in told["tariff.nmae"]
    assert told["tariff.name"] == '“name” is missing: write name = "Night".'


ANYTHING = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(),
    st.floats(),
    st.text(max_size=30),
    st.dates(),
    st.times(),
    st.datetimes(),
    st.lists(st.text(max_size=8), max_size=3),
    st.dictionaries(st.text(max_size=3), st.integers()),
)


@settings(max_examples=40, deadline=None)  # the first time zone asked for reads the whole database
@given(ANYTHING)
def test_any_input_gives_a_value_or_a_message(value):
    for read in (
        value_parsers.text,
        value_parsers.yes_or_no,
        value_parsers.fraction,
        value_parsers.clock,
        value_parsers.day_of_year,
        value_parsers.weekdays,
        value_parsers.days,
        value_parsers.calendar_date,
        value_parsers.time_zone,
        lambda v: value_parsers.rate(v, GBP),
        lambda v: value_parsers.daily_charge(v, EUR),
    ):
        try:
            read(value)
        except Unreadable as sentence:
            assert len(str(sentence)) > 10


@given(st.dates(dt.date(1900, 1, 1), dt.date(2100, 12, 31)), st.times())
def test_round_trip_of_dates_and_times(day, clock):
    assert value_parsers.calendar_date(value_parsers.calendar_date(day)) == day.isoformat()
    for form in ("%d %b", "%B %d", "%m-%d", "%Y-%m-%d", "%d %B %Y"):
        assert value_parsers.day_of_year(day.strftime(form)) == (day.month, day.day)
    assert value_parsers.clock(f"{clock:%H:%M}") == f"{clock:%H:%M}"
