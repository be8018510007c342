"""Tariffs from TOML and price files, and the reporting of all their errors together."""

import tomllib

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pondheat.core import units, value_parsers
from pondheat.core.places import DATA
from pondheat.core.units import CURRENCIES, GBP, Unreadable
from pondheat.money import tariffs

TARIFFS = DATA / "tariffs"


def read(text, currency=GBP, folder=None):
    return tariffs.from_table(tomllib.loads(text), currency, folder)


def test_included_tariff_files():
    flat, faults = tariffs.read(TARIFFS / "invented_flat.toml", GBP)
    assert not faults and flat.rate_names == ("all hours",) and flat.otherwise == 0.25
    night, faults = tariffs.read(TARIFFS / "invented_night_hours.toml", GBP)
    assert not faults and night.rate_names == ("night", "other hours")
    assert (night.windows[0].start, night.windows[0].end, night.standing_charge) == ("00:30", "07:30", 0.5)
    for path in TARIFFS.glob("*.toml"):
        assert "invented" in path.name and "(invented)" in tariffs.read(path, GBP)[0].name


def test_example_in_the_module_docstring_is_readable():
    lines = [line[4:] for line in tariffs.__doc__.splitlines() if line.startswith("    ")]
    made, faults = tariffs.from_table(tomllib.loads("\n".join(lines))["tariff"], GBP)
    assert not faults and made.windows[0].rate == 0.12 and made.tax_rate == 0.05


def test_all_errors_are_reported_together():
    made, faults = read("""
        nmae = "x"
        otherwise = "28 £/kWh"
        standing_charge = "53 £/day"
        tax = 5
        rounding = "penny"
        currency = "EUR"
        [[window]]
        name = "night"
        rate = 12
        strat = "00:30"
        end = "25:00"
        days = "Caturday"
        from = "13-40"
        [[window]]
        rate = "12 p"
        start = "7:30"
        end = "8"
        """)
    assert made is None
    told = dict(faults)
    expected = {
        "nmae": "Did you mean “name”",
        "otherwise": "did you mean 28 p/kWh",
        "standing_charge": "did you mean 53 p/day",
        "tax": "did you mean 5 %",
        "rounding": "Known: none, hundredth",
        "currency": "EUR",
        "window[1].rate": "Did you mean “12 p/kWh”",
        "window[1].strat": "Did you mean “start”",
        "window[1].start": 'write start = "00:30"',
        "window[1].end": "Did you mean “01:00”",
        "window[1].days": "“Caturday” is not a day",
        "window[1].from": "“13-40” is not a date",
        "window[2].rate": "not a price per kWh",
        "window[2].end": "“8” is not a time of day",
    }
    assert {key for key, piece in expected.items() if piece not in told.get(key, "")} == set()
    assert set(told) == set(expected)


@pytest.mark.parametrize(
    "text, key, piece",
    [
        ("", "otherwise", "No rate is given at all"),
        ("rate = '28 p/kWh'\notherwise = '30 p/kWh'", "rate", "the same thing"),
        ("rate = '28 p/kWh'\ntax = '5 %'", "tax_included", "true or false"),
        ("rate = '28 p/kWh'\ntax = '5 %'\ntax_included = 'yes'", "tax_included", "not 'yes'"),
        ("rate = '28 p/kWh'\nwindow = [3]", "window[1]", "[[tariff.window]]"),
        (
            "rate = '28 p/kWh'\n[[window]]\nname='n'\nrate='9 p/kWh'\nstart='01:00'\nend='02:00'\nfrom='10-01'",
            "window[1].from",
            "needs the other one too",
        ),
        (
            "rate = '28 p/kWh'\n[[window]]\nname='gas'\nrate='9 p/kWh'\nstart='01:00'\nend='02:00'",
            "window[1].name",
            "choose another name",
        ),
        ("[[window]]\nrate='9 p/kWh'\nstart='01:00'\nend='02:00'", "otherwise", "from 00:00 to 01:00 every day"),
        (
            "rate = '28 p/kWh'\n[[window]]\nrate='9 p/kWh'\nstart='01:00'\nend='02:00'\n"
            "[[window]]\nrate='8 p/kWh'\nstart='01:30'\nend='03:00'",
            "window[2]",
            "both apply at 01:30",
        ),
        ("prices = 'nowhere.csv'", "prices", "could not be read"),
    ],
)
def test_single_errors(text, key, piece):
    made, faults = read(text)
    assert made is None and [path for path, _ in faults] == [key]
    assert piece in faults[0][1]


def test_an_unknown_key_in_a_window_does_not_hide_an_overlap():
    _, faults = read("""
        rate = "28 p/kWh"
        [[window]]
        rate = "9 p/kWh"
        start = "01:00"
        end = "02:00"
        colour = "blue"
        [[window]]
        rate = "8 p/kWh"
        start = "01:30"
        end = "03:00"
        """)
    assert [path for path, _ in faults] == ["window[1].colour", "window[2]"]


def test_toml_times_and_dates_and_a_single_window_table():
    made, faults = read("""
        rate = "£0.30/kWh"
        standing_charge = "£16 a month"
        [window]
        rate = "12 pence per kWh"
        start = 00:30:00
        end = "7:30"
        days = ["Mon", "tues", "Weds", "Thursday"]
        from = 2025-10-01
        """)
    assert not faults
    window = made.windows[0]
    assert (window.name, window.rate, window.start, window.end) == ("window 1", 0.12, "00:30", "07:30")
    assert sorted(value_parsers.weekdays(window.days)) == [0, 1, 2, 3] and window.date_from == "2025-10-01"
    assert made.standing_charge == pytest.approx(16 / 30.4375, abs=1e-9)  # a month is a twelfth of 365.25 days


@pytest.mark.parametrize("code, written_rate", [("GBP", "28 p/kWh"), ("EUR", "28 c/kWh"), ("USD", "28 ¢/kWh")])
def test_other_currencies(code, written_rate):
    made, faults = tariffs.from_table({"rate": written_rate}, CURRENCIES[code])
    assert not faults and made.otherwise == 0.28 and made.currency.code == code
    _, faults = tariffs.from_table({"rate": "0.28 €/kWh"}, GBP)
    assert "another currency" in faults[0][1]


def test_unreadable_files(tmp_path):
    made, faults = tariffs.read(tmp_path / "none.toml", GBP)
    assert made is None and faults[0][1].endswith("could not be read: no such file.")
    broken = tmp_path / "broken.toml"
    broken.write_text("rate = = 3", encoding="utf-8")
    made, faults = tariffs.read(broken, GBP)
    assert made is None and "line 1" in faults[0][1]
    bare = tmp_path / "bare.toml"
    bare.write_text("rate = '28 p/kWh'", encoding="utf-8")
    assert tariffs.read(bare, GBP)[0].otherwise == 0.28


@given(
    st.dictionaries(
        st.sampled_from(tariffs.KEYS + ("wat",)),
        st.one_of(
            st.none(),
            st.booleans(),
            st.floats(),
            st.text(max_size=12),
            st.dates(),
            st.times(),
            st.lists(
                st.dictionaries(
                    st.sampled_from(("name", "rate", "start", "end", "days", "from", "to", "x")),
                    st.one_of(
                        st.booleans(),
                        st.floats(),
                        st.text(max_size=8),
                        st.dates(),
                        st.lists(st.integers(), max_size=2),
                        st.just("01:00"),
                        st.just("9 p/kWh"),
                    ),
                ),
                max_size=2,
            ),
        ),
        max_size=5,
    )
)
@settings(max_examples=40, deadline=None)
def test_any_table_gives_a_tariff_or_sentences(table):
    made, faults = tariffs.from_table(table, GBP)
    assert (made is None) == bool(faults)
    assert all(isinstance(path, str) and sentence.strip() for path, sentence in faults)


def test_clock_times_round_trip():
    for minutes in range(1441):
        assert value_parsers.clock_minutes(f"{minutes // 60:02d}:{minutes % 60:02d}") == minutes


def price_file(folder, text):
    path = folder / "prices.csv"
    path.write_text(text, encoding="utf-8")
    return read("prices = 'prices.csv'", folder=folder)


def test_price_file_with_time_zones_and_unit(tmp_path):
    # Summer time ends on 26 October 2025 at 01:00 UTC; the same moments written in two zones.
    made, faults = price_file(
        tmp_path,
        "time,price [p/kWh],note\n2025-10-26T01:30+01:00,10,a\n2025-10-26 01:00+00:00,20,b\n\n2025-10-26T01:30Z,-3,c\n",
    )
    assert not faults
    assert made.price_series.step == 1800 and made.price_series.prices == pytest.approx([0.10, 0.20, -0.03])


@pytest.mark.parametrize(
    "text, piece",
    [
        ("when,heat\n2025-01-01T00:00Z,0.1\n", "no column is called a price"),
        ("2025-01-01T00:00Z,0.1\n2025-01-01T00:30Z,0.1\n", "Name one in the line above the first row"),
        ("", "is empty"),
        ("time,price\n2025-01-01T00:00,0.1\n2025-01-01T00:30,0.1\n", "row 2: “2025-01-01T00:00” carries no zone"),
        ("time,price\n2025-01-01T00:00Z,0.1\nyesterday,0.1\n", "row 3: “yesterday” is not a time"),
        ("time,price\n2025-01-01T00:00Z,0.1\n2025-01-01T00:30Z\n", "row 3: a time and a price"),
        ("time,price\n2025-01-01T00:00Z,0.1\n2025-01-01T00:30Z,dear\n", "row 3: “dear” is not a price"),
        ("time,price\n2025-01-01T00:00Z,nan\n2025-01-01T00:30Z,0.1\n", "row 2: “nan” is not a price"),
        (
            "time,price\n2025-01-01T00:00Z,0.1\n2025-01-01T00:30Z,0.1\n2025-01-01T02:00Z,0.1\n",
            "no price for 2025-01-01 01:00 UTC, 2025-01-01 01:30 UTC.",
        ),
        ("time,price\n2025-01-01T00:00Z,0.1\n2025-01-01T00:00Z,0.2\n", "two prices are given for 2025-01-01 00:00 UTC"),
        ("time,price\n2025-01-01T00:00Z,0.1\n2025-01-01T02:00Z,0.2\n", "every 120 minutes"),
        ("time,price\n2025-01-01T00:00Z,0.1\n2025-01-01T00:30Z,0.2\n2025-01-01T01:10Z,0.2\n", "between two steps"),
        ("time,price\n2025-01-01T00:00Z,21\n2025-01-01T00:30Z,22\n", "name the column “price [p/kWh]”"),
        ("time,price [p/kW]\n2025-01-01T00:00Z,21\n2025-01-01T00:30Z,22\n", "28 p/kWh"),
        ("time,price\n2025-01-01T00:00Z,0.1\n", "at least two prices"),
    ],
)
def test_invalid_price_files(tmp_path, text, piece):
    made, faults = price_file(tmp_path, text)
    assert made is None and len(faults) == 1 and faults[0][0] == "prices"
    assert piece in faults[0][1]


def test_price_file_and_rate_exclude_each_other(tmp_path):
    (tmp_path / "p.csv").write_text("time,price\n2025-01-01T00:00Z,0.1\n2025-01-01T00:30Z,0.1\n", encoding="utf-8")
    _, faults = read("prices = 'p.csv'\nrate = '28 p/kWh'", folder=tmp_path)
    assert faults == [("prices", "Give a price file or one rate for the hours outside the windows, not both.")]


def test_a_clock_time_with_seconds_is_rejected():
    _, faults = read("rate = '28 p/kWh'\n[[window]]\nrate='9 p/kWh'\nstart=01:00:30\nend=02:00:00")
    assert [path for path, _ in faults] == ["window[1].start"]


def test_rate_from_text():
    assert value_parsers.rate("28p a kWh", GBP) == 0.28
    with pytest.raises(Unreadable):
        value_parsers.rate(True, units.GBP)
