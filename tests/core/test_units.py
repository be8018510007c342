"""What keepers type, and what they are asked back; nothing typed may end in anything but a value or a sentence."""

import math

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from usual_cases import all_in_one, some_of

from pondheat.core import unit_conversion, units
from pondheat.core.units import CURRENCIES, GBP, Unreadable, WrongDimension, convert, parse

EUR, USD = CURRENCIES["EUR"], CURRENCIES["USD"]

READ = [
    # lengths, areas, volumes; an international foot is 0.3048 m, an inch 0.0254 m (exact)
    ("4 m", "m", 4.0),
    ("4m", "m", 4.0),
    (" 4  M ", "m", 4.0),
    ("400 cm", "m", 4.0),
    ("13 ft", "m", 3.9624),
    ("13 ft 6 in", "m", 4.1148),
    ("13' 6\"", "m", 4.1148),
    ("13′6″", "m", 4.1148),
    ("6 ft 6", "m", 1.9812),
    ("1 inch", "m", 0.0254),
    ("½ m", "m", 0.5),
    ("2½ m", "m", 2.5),
    ("2 ½ m", "m", 2.5),
    ("1/2 in", "m", 0.0127),
    ("4 1/2 ft", "m", 1.3716),
    ("13 ft 6 1/2 in", "m", 4.1275),
    ("1/6 hp", "W", 745.6998715822702 / 6),  # a horsepower is 550 ft·lbf/s (exact)
    ("1,200.50 m", "m", 1200.5),
    ("12 000 mm", "m", 12.0),
    ("12\u202f000 mm", "m", 12.0),
    ("10 m²", "m**2", 10.0),
    ("10 m2", "m**2", 10.0),
    ("10 sq m", "m**2", 10.0),
    ("108 sq ft", "m**2", 10.03352832),
    ("108 sq. ft", "m**2", 10.03352832),
    ("108 ft²", "m**2", 10.03352832),
    ("12 m³", "m**3", 12.0),
    ("12 cubic metres", "m**3", 12.0),
    ("3 cu m", "m**3", 3.0),
    ("12,000 L", "m**3", 12.0),
    ("12000litres", "m**3", 12.0),
    # an imperial gallon is 4.54609 L, a US one 3.785411784 L (exact)
    ("1500 UK gallons", "m**3", 6.819135),
    ("1500 imperial gallons", "m**3", 6.819135),
    ("1500 UK gal", "m**3", 6.819135),
    ("1500 US gallons", "m**3", 5.678117676),
    ("1500 US gal", "m**3", 5.678117676),
    # flows, speeds, pressures
    ("2000 L/h", "m**3/s", 2 / 3600),
    ("2000 lph", "m**3/s", 2 / 3600),
    ("8 m3/h", "m**3/s", 8 / 3600),
    ("500 UK gallons per hour", "m**3/s", 500 * 4.54609e-3 / 3600),
    ("500 US gph", "m**3/s", 500 * 3.785411784e-3 / 3600),
    ("2 L/s", "m**3/s", 0.002),
    ("30 L/min", "m**3/s", 0.0005),
    ("7 mph", "m/s", 3.12928),
    ("10 km/h", "m/s", 10 / 3.6),
    ("10 kn", "m/s", 18.52 / 3.6),
    ("1013 hPa", "Pa", 101_300.0),
    ("1013 mb", "Pa", 101_300.0),
    # temperatures on a scale
    ("18 C", "degC", 18.0),
    ("18°C", "degC", 18.0),
    ("18 °c", "degC", 18.0),
    ("18 ° C", "degC", 18.0),
    ("18 ºC", "degC", 18.0),
    ("18 deg C", "degC", 18.0),
    ("18 degrees", "degC", 18.0),
    ("18 celcius", "degC", 18.0),
    ("64 F", "degC", 160 / 9),
    ("291.15 K", "degC", 18.0),
    ("-3 °C", "degC", -3.0),
    ("−3 °C", "degC", -3.0),
    ("–3 °C", "degC", -3.0),
    # energy and power
    ("24 kwh", "kWh", 24.0),
    ("24 KWH", "kWh", 24.0),
    ("24000 Wh", "kWh", 24.0),
    ("86.4 MJ", "kWh", 24.0),
    ("24 units", "kWh", 24.0),
    ("24 kW h", "kWh", 24.0),
    ("24 kW·h", "kWh", 24.0),
    ("3 kW", "W", 3000.0),
    ("3kw", "W", 3000.0),
    ("24 kWh/day", "W", 1000.0),
    ("24 kwh per day", "W", 1000.0),
    ("3 A", "A", 3.0),
    ("230 V", "V", 230.0),
    # compound units, as catalogues print them
    ("3.1 W/m²K", "W/m**2/K", 3.1),
    ("3.1 W/m2K", "W/m**2/K", 3.1),
    ("3.1 W/(m²·K)", "W/m**2/K", 3.1),
    ("3.1 W/m²·K", "W/m**2/K", 3.1),
    ("3.1 W/m2.K", "W/m**2/K", 3.1),
    ("0.035 W/mK", "W/m/K", 0.035),
    ("2 m²K/W", "m**2*K/W", 2.0),
    ("3 W/K", "W/K", 3.0),
    ("0.25 kW/°C", "kW/K", 0.25),
    ("0.2 kg/(m²·h)", "kg/h/m**2", 0.2),
    ("52 K·d", "delta_degC*day", 52.0),
    ("0.215 K/h", "K/h", 0.215),
    ("0.215 C/hour", "K/h", 0.215),
    ("1.163 Wh/(kg·K)", "J/kg/K", 4186.8),
    ("4.18 kJ/kgK", "J/kg/K", 4180.0),
    # shares, times, angles
    ("43.75%", "dimensionless", 0.4375),
    ("80 %", "dimensionless", 0.8),
    ("0.8", "dimensionless", 0.8),
    ("80 per cent", "dimensionless", 0.8),
    ("8 h", "hour", 8.0),
    ("2.5 days", "hour", 60.0),
    ("90 min", "hour", 1.5),
    ("52.4° N", "deg", 52.4),
    ("1.6 W", "deg", -1.6),
    ("-1.6", "deg", -1.6),
    ("33.9°S", "deg", -33.9),
    ("52.4 deg", "deg", 52.4),
    # money
    ("£6.72", "money", 6.72),
    ("£ 6.72", "money", 6.72),
    ("6.72 £", "money", 6.72),
    ("672p", "money", 6.72),
    ("672 pence", "money", 6.72),
    ("GBP 6.72", "money", 6.72),
    ("6.72 pounds", "money", 6.72),
    ("-£5", "money", -5.0),
    ("£1,200", "money", 1200.0),
    ("28 p/kWh", "money/kWh", 0.28),
    ("28p per kWh", "money/kWh", 0.28),
    ("28p a unit", "money/kWh", 0.28),
    ("£0.28/kWh", "money/kWh", 0.28),
    ("£280/MWh", "money/kWh", 0.28),
    ("53 p/day", "money/day", 0.53),
    ("53p a day", "money/day", 0.53),
    ("£16 per month", "money/day", 16 * 12 / 365.25),
    ("£16 a month", "money/day", 16 * 12 / 365.25),
]


@all_in_one(READ)
def test_typed_values_are_read(text, unit, value):
    got = parse(text, unit)
    assert type(got) is float and got == pytest.approx(value, rel=1e-9)


ASKED_BACK = [
    ("1500 gallons", "m**3", "Which gallon"),
    ("1500 gal", "m**3", "Which gallon"),
    ("500 gph", "m**3/s", "Which gallon"),
    ("500 gal/h", "m**3/s", "Which gallon"),
    ("12 L per gallon", "dimensionless", "Which gallon"),
    ("2,5", "dimensionless", "meant as 2.5"),
    ("2,5 m", "m", "meant as 2.5"),
    ("-0,5 °C", "degC", "meant as -0.5"),
    ("1.200,50 m", "m", "meant as 1200.50"),
    ("12 000,5 L", "m**3", "meant as 12000.5"),
    ("£1,5", "money", "meant as 1.5"),
    ("0,500 m", "m", "meant as 0.500"),
    ("1,2,3 m", "m", "not a number"),
    ("12.5.3 m", "m", "not a number"),
    ("18", "degC", "Did you mean “18 °C”"),
    ("4", "m", "Did you mean “4 m”"),
    ("28", "money/kWh", "Did you mean “28 p/kWh”"),
    ("0.28", "money/kWh", "Did you mean “£0.28/kWh”"),
    ("6.72", "money", "Did you mean “£6.72”"),
    ("28p", "money/kWh", "28 p/kWh or £0.28/kWh is needed"),
    ("3 kW", "kWh", "something like 24 kWh is needed"),
    ("5 mW", "W", "a thousandth"),
    ("5 apples", "m", "“apples” in “5 apples” is not a unit"),
    ("£6.72p", "money", "is needed here"),
    ("", "m", "Nothing was typed"),
    ("  ", "m", "Nothing was typed"),
    ("m", "m", "No number"),
    ("nan m", "m", "No number"),
    ("£", "money", "No number"),
    ("1e9999 m", "m", "too large"),
    ("1e308 km", "m", "too large"),
    ("10–12 °C", "degC", "could not be read"),
    ("5 (m", "m", "not a unit"),
    ("5 m**999", "m", "not a unit"),
    ("5 m^9^9^9", "m", "not a unit"),
    ("5 m*9**9**9", "m", "not a unit"),
    ("5 m²²²²²²²²", "m", "not a unit"),
    ("5 m/0", "m", "not a unit"),
    ("60 %", "m", "4 m or 13 ft is needed"),
    ("12° NE", "deg", "could not be read|not a unit"),
]


@all_in_one(ASKED_BACK)
def test_unreadable_values_are_refused_with_a_hint(text, unit, sentence):
    with pytest.raises(Unreadable, match=sentence):
        parse(text, unit)


@pytest.mark.parametrize(
    "text",
    [
        "28 euro/kWh",
        "28 EUR/kWh",
        "28 €/kWh",
        "€28/kWh",
        "28 cents/kWh",
        "28 c/kWh",
        "28 ¢/kWh",
        "$0.28/kWh",
        "28 dollars/kWh",
        "USD 28/kWh",
        "28 ct per kWh",
    ],
)
def test_another_currency_is_never_taken_for_pounds(text):
    with pytest.raises(Unreadable, match="Prices here are in £ and p"):
        parse(text, "money/kWh", GBP)


def test_the_reader_chooses_the_currency():
    assert parse("28 c/kWh", "money/kWh", EUR) == parse("28 cents/kWh", "money/kWh", EUR) == 0.28
    assert parse("28 ct per kWh", "money/kWh", EUR) == parse("0.28 euro/kWh", "money/kWh", EUR) == 0.28
    for text in ("28 ¢/kWh", "28 cents a kWh", "$0.28/kWh"):
        assert parse(text, "money/kWh", USD) == 0.28
    for text, currency in (
        ("28 p/kWh", EUR),
        ("28 pence/kWh", USD),
        ("£6.72", EUR),
        ("6 pounds", USD),
        ("$6", EUR),
        ("6 €", USD),
    ):
        with pytest.raises(Unreadable, match=f"Prices here are in \\{currency.sign}"):
            parse(text, "money/kWh" if "kWh" in text else "money", currency)
    assert parse("5 pounds", "kg", USD) == pytest.approx(2.26796185)  # where no money is wanted a pound is a weight
    assert parse("5 c", "degC", EUR) == 5.0
    assert units.example("money/kWh", EUR) == "28 c/kWh or €0.28/kWh"
    assert units.example("money/day", USD).startswith("53 ¢/day")
    assert units.pretty("money/kWh", EUR) == "€/kWh" and units.pretty("money/day") == "£/day"


def test_numbers_without_text():
    assert parse(0.8, "dimensionless") == 0.8 and parse(80, "degC", bare=True) == 80.0
    assert parse("18", "degC", bare=True) == 18.0
    for wrong in (True, None, math.nan, math.inf, 10**400, 18, [1], {}, b"5 m"):
        with pytest.raises(Unreadable):
            parse(wrong, "degC")
    with pytest.raises(Unreadable, match="Did you mean “18 °C”"):
        parse(18, "degC")


def test_a_difference_is_not_a_temperature():
    for text in ("10 C", "10 K", "18 °F"):
        assert parse(text, "delta_degC") == pytest.approx(10)
    assert parse("10 °C", "K") == 10.0  # a keeper's ten degrees of rise
    assert convert(10, "degC", "K") == 283.15 and convert(283.15, "K", "degC") == pytest.approx(10)
    assert convert(10, "delta_degC", "K") == convert(10, "K", "delta_degC") == 10
    assert convert(18, "delta_degF", "K") == pytest.approx(10)
    assert convert(50, "degF", "degC") == pytest.approx(10) and convert(-40, "degF", "degC") == pytest.approx(-40)
    for scale in ("degC", "degF"):
        for difference in ("delta_degC", "delta_degF"):
            for one, other in ((scale, difference), (difference, scale)):
                with pytest.raises(WrongDimension, match="difference"):
                    convert(10, one, other)
    assert convert(5, "W/degC", "W/K") == 5 and convert([1, 2], "m", "cm") == [100, 200]


@pytest.mark.parametrize(
    "unit",
    [
        "m**9**9**9",
        "9**9**9",
        "m/0",
        "(m",
        "m)",
        "m;m",
        "__import__('os')",
        "m**-99",
        "²",
        "m\x00",
        "x" * 10_000,
        "(" * 5000,
        "m²²",
        "1",
        "gallon",
        "gal/h",
        "5 m",
    ],
)
def test_no_unit_hangs_or_escapes(unit):
    for one, other in ((unit, "m"), ("m", unit)):
        with pytest.raises(Unreadable):
            convert(5, one, other)


UNITS = [
    "m",
    "m**2",
    "m**3",
    "degC",
    "delta_degC",
    "W",
    "kWh",
    "money",
    "money/kWh",
    "money/day",
    "m/s",
    "W/m**2/K",
    "m**3/s",
    "Pa",
    "hour",
    "dimensionless",
    "deg",
    "K/h",
    "J/kg/K",
]
PIECES = [
    "5",
    "-",
    ".",
    ",",
    "1e9",
    "½",
    " ",
    "m",
    "kWh",
    "/",
    "*",
    "**",
    "^",
    "²",
    "(",
    ")",
    "per ",
    "a ",
    "£",
    "€",
    "p",
    "gallon",
    "°",
    "C",
    "%",
    "9",
    "\u202f",
    "\x00",
    "\n",
    "'",
    '"',
    "K",
    "E",
    "x",
    "٣",
    "\u2212",
    "ft",
    "UK ",
    "1",
]


@settings(max_examples=60, deadline=5000)
@given(
    st.one_of(
        st.text(max_size=60),
        st.lists(st.sampled_from(PIECES), max_size=14).map("".join),
        st.tuples(st.floats(), st.lists(st.sampled_from(PIECES), max_size=10).map("".join)).map(
            lambda t: f"{t[0]} {t[1]}"
        ),
    ),
    st.sampled_from(UNITS),
    st.sampled_from(list(CURRENCIES.values())),
    st.booleans(),
)
@example("5 " + "(" * 30 + "m", "m", GBP, False)
@example("9" * 200_000 + " m", "m", GBP, False)
@example("1," * 100_000, "m", GBP, True)
@example("1 000" * 50_000 + " m", "m", GBP, True)
@example("½" * 100_000, "m", GBP, True)
@example(" " * 300_000 + "5 m", "m", GBP, True)
@example("5 m" + " m" * 100_000, "m", GBP, True)
@example("e5", "dimensionless", GBP, True)
@example("5\ud800m", "m", GBP, False)
def test_any_text_gives_a_value_or_a_message(text, unit, currency, bare):
    for read in (lambda: parse(text, unit, currency, bare), lambda: units.number(text)):
        try:
            value = read()
        except Unreadable as sentence:
            assert 5 < len(str(sentence)) < 400
        else:
            assert type(value) is float and math.isfinite(value)


@settings(deadline=None)  # the first call makes the registry
@given(
    st.floats(min_value=-1e12, max_value=1e12),
    st.sampled_from(["m", "m**3", "degC", "W", "kWh", "money", "Pa", "hour"]),
)
def test_what_is_printed_can_be_typed(value, unit):
    shown = f"{units.digits(value, 3)} {units.pretty(unit)}"
    assert parse(shown, unit) == pytest.approx(value, abs=6e-4, rel=1e-12)


def test_printing():
    assert units.digits(12_345.678, 1) == "12,345.7" and units.digits(-12_345.6) == "−12,346"
    assert units.digits(-0.04, 1) == "0.0" and units.digits(-0.06, 1) == "−0.1"
    assert units.digits(999_999.5) == "1,000,000"
    assert units.digits(math.inf) == units.significant(math.inf) == units.money(math.inf) == "never"
    assert units.digits(math.nan) == units.digits(None) == units.significant(None) == units.money(None) == "–"
    for value, figures, shown in (
        (0.03456, 3, "0.0346"),
        (45_678.0, 3, "45,700"),
        (9.996, 3, "10.0"),
        (-0.5, 2, "−0.50"),
        (0.0, 3, "0"),
        (123_456_789, 2, "120,000,000"),
        (0.0009996, 3, "0.00100"),
    ):
        assert units.significant(value, figures) == shown
    assert units.money(312.47) == "£312" and units.money(6.72) == "£6.72" and units.money(-6.72) == "−£6.72"
    assert units.money(-0.001) == "£0.00" and units.money(19.994) == "£19.99" and units.money(6.72, EUR) == "€6.72"
    assert units.money(1234.5, USD, 2) == "$1,234.50"
    assert units.rate(0.28) == "28.0 p/kWh" and units.rate(-0.05, EUR) == "−5.0 c/kWh"


def test_a_currency_of_the_reader_s_own():
    crowns = units.currency_of({"code": "SEK", "sign": "kr", "hundredth": "öre"})
    for typed, wanted in (("180 kr", 180.0), ("kr 180", 180.0), ("250 öre", 2.5)):
        assert units.parse(typed, "money", crowns) == wanted
    assert units.parse("180 öre/kWh", "money/kWh", crowns) == pytest.approx(1.8)
    assert units.money(180, crowns) == "180 kr" and units.rate(1.8, crowns) == "180.0 öre/kWh"
    with pytest.raises(units.Unreadable, match="another currency"):
        units.parse("£5", "money", crowns)
    for wrong in (
        "SEK",
        {"code": "SEK"},
        {"code": "SEK", "sign": "5", "hundredth": "öre"},
        {"code": "X", "sign": "", "hundredth": "c"},
    ):
        with pytest.raises(units.Unreadable):
            units.currency_of(wrong)


@pytest.mark.parametrize(
    "given, unit, meant",
    [
        ("15", "m", "“15 m” or “15 ft”"),
        ("0.4", "m", "“0.4 m”"),
        ("12", "m**3", "“12 m³” or “12 L”"),
        ("1500", "m**3", "“1500 L”, “1500 UK gallons” or “1500 US gallons”"),
        ("3", "W", "“3 kW”"),
        ("300", "W", "“300 W”"),
        ("18", "degC", "“18 °C”"),
        ("40", "degC", "“40 °C” or “40 °F”"),
        ("64", "degC", "“64 °F”"),
        (15, "m", "“15 m” or “15 ft”"),
    ],
)
def test_a_missing_unit_is_suggested(given, unit, meant):
    with pytest.raises(units.Unreadable) as told:
        units.parse(given, unit)
    assert str(told.value).endswith(f"has no unit. Did you mean {meant}?")


@pytest.mark.parametrize(
    "given, unit",
    [("-3", "m"), ("0", "m"), ("99999999999", "m"), ("-3", "money"), ("-3", "W"), ("1e9", "degC"), (-3, "m")],
)
def test_implausible_units_are_not_suggested(given, unit):
    with pytest.raises(units.Unreadable, match="has no unit. Write it as") as told:
        units.parse(given, unit)
    assert "Did you mean" not in str(told.value)


@pytest.mark.parametrize("given, meant", [("28", "“28 L/s” or “28 L/min”"), ("2000", "“2000 L/h”")])
def test_a_flow_without_unit_gets_the_units_of_pumps(given, meant):
    with pytest.raises(units.Unreadable, match=meant):
        units.parse(given, "m**3/s")


@pytest.mark.parametrize("damage", some_of([b"\x80\x04not a pickle", b""], 0))
def test_a_damaged_cache_of_unit_definitions_is_made_anew(monkeypatch, tmp_path, damage):
    monkeypatch.setenv("PONDHEAT_CACHE", str(tmp_path))

    def feet() -> float:
        unit_conversion.registry.cache_clear()
        return unit_conversion.registry().Quantity(1, "m").m_as("ft")

    try:
        first = feet()
        kept = [path for path in tmp_path.rglob("*.pickle") if path.stat().st_size]
        assert kept
        for path in kept:
            path.write_bytes(damage)
        assert feet() == first and not any(path.exists() for path in kept)
        assert feet() == first and all(path.exists() for path in kept)
    finally:
        unit_conversion.registry.cache_clear()
