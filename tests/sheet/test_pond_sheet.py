"""The pond sheet: every key is read, all faults are listed at once, and written sheets read back the same."""

import datetime as dt
import re
import tomllib

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from usual_cases import all_in_one

from pondheat.core.places import PONDS
from pondheat.heat import walls
from pondheat.season import heaters
from pondheat.sheet import pond_sheet
from pondheat.sheet.pond_sheet import KEYS, SheetError, from_text, text_of, with_values

SHIPPED = sorted(PONDS.glob("*.toml"))
SMALL = """timezone = "Europe/London"
[pond]
surface_area = "10 m²"
depth = "1.2 m"
"""


def faults_of(text: str, **more) -> dict[str, pond_sheet.SheetFault]:
    """The faults of a sheet by key; a sheet without any fails the test."""
    with pytest.raises(SheetError) as told:
        from_text(text, **more)
    return {fault.key: fault for fault in told.value.faults}


def small(**tables: str) -> str:
    """The small sheet with lines added to its [pond] and more tables behind it."""
    text = SMALL + tables.pop("pond", "") + "\n"
    return text + "\n".join(f"[{name}]\n{lines}\n" for name, lines in tables.items())


# --- what reads ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("path", SHIPPED, ids=lambda path: path.stem)
def test_shipped_ponds_read(path):
    read = pond_sheet.read(path)
    assert read.tariff is not None and read.set_point
    assert (read.pond.cover is None) == (path.stem == "my_first_sheet")
    assert not any("unusual" in note for note in read.notes)
    assert "invented" in read.text.lower()


def test_the_garden_pond_in_the_library_s_own_units():
    read = pond_sheet.read(PONDS / "garden_pond.toml")
    assert (read.pond.surface_area, read.pond.volume) == (10.0, 12.0)
    assert (read.start, read.end) == (dt.date(2025, 9, 1), dt.date(2026, 5, 31))
    assert (read.cover_plan.on, read.cover_plan.off, read.cover_plan.days) == (18 * 60, 8 * 60, (((9, 1), (5, 31)),))
    assert (read.cover_plan.price, read.cover_plan.life, read.discount_rate) == (640, 6, 0.04)
    assert read.pond.cover.gap_air_flow == pytest.approx(0.002) and read.pond.aeration_air_flow == pytest.approx(0.0005)
    # 1 % of 12 m³ a day
    assert read.pond.water_change == pytest.approx(0.12 / 86_400)
    assert (read.pump_power, read.pump_heat) == (100.0, pytest.approx(97.0))
    assert [(w.area, w.against) for w in read.pond.walls] == [(15.6, "air"), (10.0, "ground")]
    # a floor of 50 mm XPS under water on the ground: the slab formula with nothing between water and floor
    assert read.pond.walls[1].u_value == pytest.approx(walls.ground_u_value(10, 13, 1.5, 0.1, 0.05 / 0.034, 0.0))
    assert (read.heater.kind, read.heater.power) == ("resistance", 6000.0)
    assert [(w.name, w.rate) for w in read.tariff.windows] == [("night", 0.12)] and read.tariff.otherwise == 0.30


# Keys that exclude one another, and the sheets that between them hold every key with its own example.
_ROOM, _HEAT_PUMP, _GAS = (
    ("room_temp", "room_humidity"),
    ("power_at", "cold_power", "cold_power_at", "lowest_air_temp", "backup", "cop_factor", "cop_formula"),
    ("efficiency", "gas_rate"),
)
_VARIANTS = {
    "open air, sheet, resistance": ({*_ROOM, *_HEAT_PUMP, *_GAS, "evaporation_cut"}, {}),
    "room, film, heat pump": (
        {*_GAS, "u_value:cover", "light", "gap"},
        {("place", "surroundings"): '"room"', ("cover", "kind"): '"film"', ("heater", "kind"): '"heat pump"'},
    ),
    "gas": ({*_ROOM, *_HEAT_PUMP, "evaporation_cut"}, {("heater", "kind"): '"gas"'}),
}


def sheet_of_examples(left_out: set[str], instead: dict) -> str:
    lines = []
    for table, keys in KEYS.items():
        lines += [f"[[{table}]]" if table == "wall" else f"[{table}]"] if table else []
        lines += [
            f"{key} = {instead.get((table, key), example)}"
            for key, (example, _) in keys.items()
            if key not in left_out and f"{key}:{table}" not in left_out
        ]
    return "\n".join(lines)


@pytest.mark.parametrize("name", _VARIANTS)
def test_a_sheet_made_of_the_examples_reads(name, tmp_path):
    (tmp_path / "night.toml").write_text('[tariff]\nrate = "25 p/kWh"\n', encoding="utf-8")
    left_out, instead = _VARIANTS[name]
    read = from_text(sheet_of_examples(left_out, instead), tmp_path)
    assert (read.name, read.currency.code, read.tariff.otherwise) == ("Garden pond", "GBP", 0.25)
    assert read.pond.surface_area == 10 and read.pond.room is ("room" in name)
    assert read.spread_seed == 1 and read.wind_height == 10


def test_every_key_has_an_example_that_some_variant_uses():
    used = "\n".join(sheet_of_examples(*variant) for variant in _VARIANTS.values())
    for table, keys in KEYS.items():
        for key, (example, meaning) in keys.items():
            assert re.search(rf"^{key} = ", used, re.M), (table, key)
            assert meaning and not meaning.endswith(".")
            assert tomllib.loads(f"{key} = {example}"), (table, key)


def test_sizes_in_other_units():
    read = from_text(
        'timezone = "Europe/London"\n[pond]\nlength = "13 ft"\nwidth = "8 ft 2 in"\n'
        'volume = "2640 UK gallons"\nset_point = "64 F"\n[heater]\npower = "3 kW"'
    )
    assert read.pond.surface_area == pytest.approx(13 * 0.3048 * (8 + 2 / 12) * 0.3048)
    assert read.pond.volume == pytest.approx(2640 * 4.54609e-3)  # the imperial gallon is 4.54609 L by definition
    assert read.set_point == (((1, 1), pytest.approx((64 - 32) / 1.8)),)


@pytest.mark.parametrize(
    "change, litres_a_day",
    [
        ('"5 %"', 600),
        ("0.05", 600),
        ('"5 %/day"', 600),
        ('"5 % per day"', 600),
        ('"600 L"', 600),
        ('"600 L/day"', 600),
        ('"600 L a day"', 600),
        ('"25 L/h"', 600),
        ('"132 UK gallons"', 132 * 4.54609),
    ],
)
def test_water_changes_as_people_write_them(change, litres_a_day):
    read = from_text(small(water=f"change_per_day = {change}"))
    assert read.pond.water_change * 86_400 * 1000 == pytest.approx(litres_a_day)


def test_set_point_by_date():
    read = from_text(
        small(
            pond='set_point = { "1 Sep" = "18 °C", "Dec 1" = "off", "2026-03-15" = "50 °F" }', heater='power = "3 kW"'
        )
    )
    assert read.set_point == (((9, 1), 18.0), ((12, 1), None), ((3, 15), pytest.approx(10.0)))


def test_a_gap_as_flow_or_as_opening():
    # an opening lets air out as well as in: half of its 0.01 m² × 0.5 m/s is inlet
    for written, flow in (
        ('"5 L/s"', 0.005),
        ('"18 m³/h"', 0.005),
        ('"1 m x 1 cm"', 0.0025),
        ('"100 cm × 10 mm"', 0.0025),
    ):
        read = from_text(small(cover=f'u_value = "3 W/m²K"\ngap = {written}'))
        assert read.pond.cover.gap_air_flow == pytest.approx(flow)


@pytest.mark.parametrize("words", ["none", "No cover yet", "no"])
def test_a_cover_of_kind_none(words):
    assert from_text(small(cover=f'kind = "{words}"')).pond.cover is None


def test_walls_against_the_ground_and_a_sunk_floor():
    text = (
        SMALL
        + """
[[wall]]
area = "14 m²"
layers = ["1 mm EPDM", "50 mm XPS"]
against = "ground"
depth = "1.2 m"
[base]
layers = ["1 mm EPDM"]
depth = "1.2 m"
perimeter = "13 m"
"""
    )
    read = from_text(text)
    side, floor = read.pond.walls
    assert side.u_value == pytest.approx(walls.sunk_wall_u_value(1.2, 1.5, 0.1, 0.001 / 0.25 + 0.05 / 0.034))
    assert floor.u_value == pytest.approx(walls.sunk_floor_u_value(10, 13, 1.2, 1.5, 0.1, 0.001 / 0.25))
    assert (side.against, floor.against, floor.area) == ("ground", "ground", 10)


def test_heat_pump_by_two_printed_points():
    read = from_text(
        small(pond='set_point = "18 °C"', heater='kind = "heat pump"\npower = "6 kW"\ncold_power = "3.6 kW"')
    )
    # 6 kW at 15 °C and 3.6 kW at 0 °C: 2.4/6 over 15 K
    assert read.heater.fade == pytest.approx(0.4 / 15)
    assert float(read.heater.limit(0.0)) == pytest.approx(3600)


def test_a_season_of_one_day_and_one_of_a_year():
    one = from_text(small(season="start = 2025-06-01\nend = 2025-06-01"))
    assert one.start == one.end
    year = from_text(small(season="start = 2025-09-01\nend = 2026-08-31"))
    assert (year.end - year.start).days == 364


def test_notes_name_what_is_left_out():
    notes = " ".join(from_text(small(heater='power = "3 kW"')).notes)
    assert "No [[wall]] and no [base]" in notes and "sunk in the ground" in notes and "nothing is heated" in notes


def test_byte_order_mark_and_windows_line_ends(tmp_path):
    plain = from_text(SMALL)
    assert from_text("\ufeff" + SMALL).pond == plain.pond
    assert from_text(SMALL.replace("\n", "\r\n")).pond == plain.pond
    for number, raw in enumerate((b"\xef\xbb\xbf" + SMALL.encode(), SMALL.replace("\n", "\r\n").encode())):
        path = tmp_path / f"{number}.toml"
        path.write_bytes(raw)
        assert pond_sheet.read(path).pond == plain.pond


# --- what does not ------------------------------------------------------------------------------------------------


def test_all_faults_are_listed_at_once():
    told = faults_of("""
timezone = "Europe/Londno"
currency = "pounds"
[season]
start = 2025-09-01
end = 2025-05-31
[place]
wind_shelter = 5
[pond]
sufrace_area = "10 m²"
volume = "1500 gallons"
set_point = 18
floor = "30 °C"
ceiling = "10 °C"
[[wall]]
area = "10 m"
u_value = "500"
[cover]
u_value = "2,5 W/m²K"
on = "19:00"
from = "1 Oct"
[heater]
power = "3"
[heatr]
power = "3 kW"
[tariff]
rate = "28"
""")
    expected = {
        "timezone": ("Europe/Londno", "Did you mean “Europe/London”?"),
        "currency": ("pounds", "Known: GBP, EUR, USD"),
        "season.end": ("2025-05-31", "before it begins (2025-09-01); the end may be in the next year"),
        "place.wind_shelter": ("5", "did you mean 5 % (0.05)?"),
        "pond.sufrace_area": ("10 m²", "Did you mean “surface_area”?"),
        "pond.surface_area": ("", 'missing: write surface_area = "10 m²", or length and width'),
        "pond.volume": ("1500 gallons", "Which gallon? Write “UK gallons” (4.546 L) or “US gallons” (3.785 L)"),
        "pond.set_point": ("18", "18 has no unit. Did you mean “18 °C”?"),
        "pond.floor": ("30 °C", "is not below the ceiling"),
        "wall[1].area": ("10 m", "is in m; something like 10 m²"),
        "wall[1].u_value": ("500", 'no unit, and 500 W/(m²·K) can\'t be right. Write it as "0.5 W/m²K"'),
        "cover.u_value": ("2,5 W/m²K", "meant as 2.5? Write decimals with a point"),
        "cover.off": ("", "both on and off"),
        "cover.to": ("", "both from and to"),
        "heater.power": ("3", "“3” has no unit. Did you mean “3 kW”"),
        "heatr": ("{'power': '3 kW'}", "Did you mean “heater”?"),
        "tariff.rate": ("28", "no unit|could not be read"),
    }
    assert set(told) == set(expected)
    for key, (value, sentence) in expected.items():
        assert told[key].given == value, key
        assert any(part in told[key].sentence for part in sentence.split("|")), (key, told[key].sentence)


@all_in_one(
    [
        ({"pond": 'surface_area = "10 m"'}, "the file", "is there twice"),  # a key written twice
        ({"season": "start = 2025-09-01"}, "season.end", "give both start and end"),
        ({"season": "start = 2025-09-01\nend = 2027-09-01"}, "season.end", "longer than a year"),
        ({"season": 'start = "1 Sep"\nend = 2026-05-31'}, "season.start", "is not a date. Write it as 2025-09-01"),
        ({"season": "start = 0025-09-01\nend = 2026-05-01"}, "season.start", "1900 to 2200"),
        ({"pond": "power = 3"}, "pond.power", "It belongs under [pump] or [heater]."),
        ({"pond": 'set_point = "18 °C"'}, "heater", "a set point is given but no heater"),
        (
            {"pond": 'set_point = "18 °C"', "heater": 'kind = "none"'},
            "heater.kind",
            "a set point is given but no heater",
        ),
        ({"pond": 'set_point = "64"'}, "pond.set_point", "Did you mean “64 °F”"),
        ({"pond": 'set_point = "64 °C"'}, "pond.set_point", "between 1 and 35 °C; did you mean 64 °F (17.8 °C)?"),
        ({"pond": 'length = "15 by 10 foot"'}, "pond.length", "looks like two measurements"),
        ({"pond": 'length = "5 miles"'}, "pond.length", "it should be between 0.01 and 5000 m."),
        ({"pond": 'set_point = { "1 Sep" = "18 °C", "Sep 1" = "12 °C" }'}, "pond.set_point", "twice"),
        ({"pond": "set_point = {}"}, "pond.set_point", "No date is given"),
        ({"pond": 'set_point = { "31 Feb" = "18 °C" }'}, "pond.set_point", "not a day of the year"),
        (
            {"pond": 'volume = "12000 m³"'},
            "pond.volume",
            "1.2e+03 m deep on average: it should be between 0.05 and 8 m. Did you mean 12000 L?",
        ),
        ({"pond": 'length = "4 m"\nwidth = "4 m"'}, "pond.surface_area", "which is it?"),
        ({"pond": 'start_temp = "-3 °C"'}, "pond.start_temp", "can't be below 0 °C"),
        ({"place": 'room_temp = "12 °C"'}, "place.room_temp", 'surroundings = "room"'),
        (
            {"place": 'surroundings = "room"\nroom_temp = "12 °C"'},
            "place.room_humidity",
            "a room needs room_temp and room_hum",
        ),
        (
            {"heater": 'power = "3 kW"\nbackup = "1 kW"'},
            "heater.backup",
            "belongs to a heater of kind heat pump; this one is of kind resistance",
        ),
        ({"heater": 'power = "3 kW"\ngas_rate = "9 p/kWh"'}, "heater.gas_rate", "belongs to a heater of kind gas"),
        (
            {"heater": 'kind = "gas"\npower = "3 kW"', "tariff": 'rate = "28 p/kWh"'},
            "heater.gas_rate",
            'gas_rate = "9 p/kWh"',
        ),
        ({"heater": 'kind = "heatpump"\npower = "3 kW"'}, "heater.kind", "Did you mean “heat pump”?"),
        ({"heater": 'kind = "resistance"'}, "heater.power", "missing"),
        ({"heater": 'power = "3 W"'}, "heater.power", "did you mean 3 kW?"),
        ({"heater": 'power = "3000 kW"'}, "heater.power", "did you mean 3000 W?"),
        (
            {"heater": 'kind = "heat pump"\npower = "3 kW"\ncold_power = "4 kW"'},
            "heater.cold_power",
            "must be below the warm",
        ),
        ({"cover": 'kind = "sheet"'}, "cover.u_value", "missing"),
        ({"cover": 'u_value = "3 W/m²K"\nevaporation_cut = "15 %"'}, "cover.evaporation_cut", "belongs to a film"),
        ({"cover": 'kind = "film"\nu_value = "3 W/m²K"'}, "cover.u_value", "this cover is of kind film"),
        ({"cover": 'u_value = "3 W/m²K"\ngap = "-2 L/s"'}, "cover.gap", "between 0 and 1000 L/s"),
        ({"cover": 'u_value = "3 W/m²K"\non = "25:00"\noff = "08:00"'}, "cover.on", "Did you mean “01:00”?"),
        ({"cover": 'u_value = "3 W/m²K"\nexcept = ["24/12/2025"]'}, "cover.except", "not a day of the year"),
        ({"cover": 'u_value = "3 W/m²K"\nprice = "180"'}, "cover.price", "has no unit"),
        ({"cover": 'u_value = "3 W/m²K"\nprice = "€180"'}, "cover.price", "another currency"),
        ({"base": 'depth = "30 m"'}, "base.depth", "between 0 and 20 m"),
        ({"base": 'against = "air"'}, "base.u_value", "needs u_value or layers"),
        (
            {"base": 'layers = ["50 mm foam"]'},
            "base.layers",
            "is not a layer. Write a thickness and a material: 50 mm EPS",
        ),
        ({"base": 'layers = "50 mm EPS"'}, "base.layers", "A list is needed"),
        ({"base": 'layers = ["50 m EPS"]'}, "base.layers", "between 0 and 2 m"),
        ({"base": f"layers = {['2000 mm PIR'] * 9}"}, "base.layers", "don't make a wall"),
        ({"water": "change_per_day = 5"}, "water.change_per_day", "did you mean 5 %?"),
        ({"water": 'change_per_day = "-5 %"'}, "water.change_per_day", "between 0 and 500 %"),
        ({"water": 'change_per_day = "600 m³/day"'}, "water.change_per_day", "5e+03 % of the volume a day"),
        ({"water": 'mains_temp = ["10 °C", "11 °C"]'}, "water.mains_temp", "2 values given: one, or twelve"),
        ({"water": 'mains_temp = "10"'}, "water.mains_temp", "has no unit"),
        ({"pump": 'power = "60 kW"'}, "pump.power", "did you mean 60 W?"),
        ({"pump": 'submerged = "yes"'}, "pump.submerged", "true or false"),
        ({"weather": "spread_seed = -1"}, "weather.spread_seed", "not a whole number"),
        ({"weather": "source = 5"}, "weather.source", "text in quotation marks"),
        ({"formulas": 'evaporation = "penman"'}, "formulas.evaporation", "Did you mean “penman_19"),
        ({"money": "discount_rate = 4"}, "money.discount_rate", "did you mean 4 %"),
        ({"emissions": 'electricity = "207 kg/kWh"'}, "emissions.electricity", "did you mean 207 g/kWh (0.207)?"),
        ({"emissions": 'electricity = "-0.1 kg/kWh"'}, "emissions.electricity", "it should be between 0 and 2 kg/kWh"),
        ({"emissions": "electricity = 0.2"}, "emissions.electricity", "has no unit. Did you mean “0.2 kg/kWh”?"),
        ({"emissions": 'electricity = "0.2 kg"'}, "emissions.electricity", "something like 5 kg/kWh"),
        ({"emissions": 'gas = "green"'}, "emissions.gas", "No number was found"),
        ({"emissions": 'grid = "0.2 kg/kWh"'}, "emissions.grid", "Known: electricity, gas"),
        ({"place": 'net = "9"'}, "place.net", "did you mean 9 % (0.09)?"),
        ({"tariff": 'file = "no_such_tariff.toml"'}, "tariff.file", "could not be read: no such file"),
        ({"tariff": 'file = "a.toml"\nrate = "28 p/kWh"'}, "tariff.file", "not both"),
        (
            {
                "tariff": 'rate = "28 p/kWh"\n'
                'window = [{ name = "night", rate = "12 p/kWh", start = "25:00", end = "07:00" }]'
            },
            "tariff.window[1].start",
            "not a time of day",
        ),
    ],
)
def test_a_fault_by_its_key(tables, key, sentence):
    told = faults_of(small(**tables))
    assert set(told) == {key}, told
    assert sentence in told[key].sentence


def test_a_wrong_line_in_a_window_of_the_tariff_keeps_its_value():
    told = faults_of(
        small(
            tariff='otherwise = "28 p/kWh"\n[[tariff.window]]\nname = "night"\nrate = "12"\n'
            'start = "00:30"\nend = "07:30"'
        )
    )
    assert told["tariff.window[1].rate"].given == "12"


def test_a_tariff_file_s_faults_come_through(tmp_path):
    (tmp_path / "night.toml").write_text('[tariff]\notherwise = "28"\ncurrency = "EUR"\n', encoding="utf-8")
    told = faults_of(small(tariff='file = "night.toml"'), folder=tmp_path)
    assert set(told) == {"tariff.otherwise", "tariff.currency"}
    assert "Europe" not in str(told) and "EUR" in told["tariff.currency"].sentence


def test_every_part_a_table_of_its_own():
    for name in KEYS:
        if name and name not in ("wall", "pond"):
            told = faults_of(f"{name} = 3\n{SMALL}")
            assert f"begin it with [{name}]" in told[name].sentence
    assert "[[wall]] in double brackets" in faults_of(SMALL + '[wall]\narea = "15 m²"')["wall"].sentence
    assert "begin it with [[wall]]" in faults_of("wall = [3]\n" + SMALL)["wall[1]"].sentence
    assert "begin it with [pond]" in faults_of('timezone = "UTC"\n[[pond]]\nsurface_area = "10 m²"')["pond"].sentence


@pytest.mark.parametrize("text", ["", "\n\n", "# only a comment\n"])
def test_an_empty_sheet_lists_what_is_missing(text):
    told = faults_of(text)
    assert set(told) == {"timezone", "pond.surface_area", "pond.volume"}
    assert 'timezone = "Europe/London"' in told["timezone"].sentence


@pytest.mark.parametrize(
    "text, sentence",
    [
        ('timezone = "Europe/London\n[pond]', "line 1"),
        ("[pond\n", "bracket is not closed: [pond]"),
        ("<html><body>404</body></html>", "is not TOML"),
        ("volume = 12 m³", 'quotation marks: volume = "12 m³"'),
        ("a = " + "[" * 5000, "is not TOML"),
        ("a = " + "9" * 5000, "is not TOML"),
        ("\x00\x01", "is not TOML"),
        ('a = "1"\na = "2"', "line 2, “a = "),
        ("d = 2025-13-01", "no such date as 2025-13-01"),
        (f"[place]\nlatitude = {10**400}", "more digits than can be meant"),
    ],
)
def test_text_that_is_not_toml(text, sentence):
    assert sentence in faults_of(text)["the file"].sentence


@pytest.mark.parametrize(
    "make, sentence",
    [
        (lambda path: None, "no such file"),
        (lambda path: path.mkdir(), "cannot be read"),
        (lambda path: path.write_bytes(b"\x89PNG\r\n\x1a\n\xff\xfe\x00"), "not UTF-8 text"),
        (lambda path: path.write_bytes(SMALL.encode("utf-16")), "not UTF-8 text"),
    ],
)
def test_files_that_are_not_sheets(tmp_path, make, sentence):
    path = tmp_path / "pond.toml"
    make(path)
    with pytest.raises(SheetError, match=sentence) as told:
        pond_sheet.read(path)
    assert str(path) in str(told.value)


def test_a_message_does_not_repeat_ten_thousand_characters():
    long = "x " * 5000
    for text in (
        small(heater=f'kind = "{long}"'),
        SMALL.replace("Europe/London", long),
        small(season=f'start = "{long}"'),
        small(cover=f'u_value = "{long}"'),
        f"{'k' * 10_000} = 1\n{SMALL}",
        small(tariff=f'rate = "{long}"'),
        small(base=f'layers = ["{long}"]'),
        small(formulas=f'sky = "{long.upper()}"'),
    ):
        for key, fault in faults_of(text).items():
            assert len(key) < 100 and len(fault.given) < 100 and len(fault.sentence) < 1500, (key, len(fault.sentence))


def test_html_in_a_name_is_only_text():
    name = '<img src=x onerror="alert(1)">'
    assert from_text(SMALL.replace("[pond]", f"name = '{name}'\n[pond]")).name == name


def test_an_unknown_currency_is_the_only_thing_said_of_amounts_in_it():
    """Not also that its cents are another currency than the pounds that are taken meanwhile."""
    text = SMALL.replace("[pond]", 'currency = "NZD"\n[tariff]\nrate = "32 c/kWh"\n[pond]', 1)
    with pytest.raises(SheetError) as wrong:
        from_text(text)
    assert [one.key for one in wrong.value.faults] == ["currency"]


def test_faults_count_themselves_and_name_the_file():
    with pytest.raises(SheetError, match="^3 things to put right in here.toml:\n  timezone: "):
        from_text("", where="here.toml")
    with pytest.raises(SheetError, match="^1 thing to put right in the sheet:\n"):
        from_text("[")


# --- writing ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("path", SHIPPED, ids=lambda path: path.stem)
def test_a_shipped_sheet_reads_back_the_same(path):
    document = tomllib.loads(path.read_text(encoding="utf-8"))
    text = text_of(document)
    assert tomllib.loads(text) == document
    again, first = from_text(text, path.parent), pond_sheet.read(path)
    assert (again.pond, again.tariff, again.heater, again.cover_plan) == (
        first.pond,
        first.tariff,
        first.heater,
        first.cover_plan,
    )


@pytest.mark.parametrize(
    "text",
    [
        'a = "quote \\" backslash \\\\ tab \\t newline \\n é ° 魚 \U0001f41f \\u0001 \\u007f"',
        '[pond]\nset_point = { "1 Sep" = "18 °C", "1 Dec" = "off" }\nvolume = "1 m³"',
        "[[wall]]\narea = '1 m²'\nlayers = ['2 mm HDPE', '50 mm EPS']\n[[wall]]\narea = '2 m²'\n[wall.more]\nx = 1",
        "[tariff]\nname = 'n'\n[[tariff.window]]\nstart = 00:30:00\n[[tariff.window]]\nstart = 07:30:00.5",
        "a = 1\nb = -2.5e300\nc = 1e-7\nd = true\ne = [1, [2, 'x'], {z = 1}]\nf = []\ng = inf\nh = -0.0",
        "[i]\n[j.k.l]\nm = {}",
        "a = 2025-09-01\nb = 2025-09-01T10:00:00\nc = 2025-09-01T10:00:00.25+01:00",
        "'odd key' = 1\n'' = 2\n\"q\\\"\" = 3",
        "[cover]\non = '19:00'\nexcept = ['2025-12-24', '31 Dec']",
    ],
)
def test_written_documents_read_back_the_same(text):
    document = tomllib.loads(text)
    assert tomllib.loads(text_of(document)) == document


def test_with_values_sets_and_removes_values():
    text = (PONDS / "garden_pond.toml").read_text(encoding="utf-8")
    changed = from_text(
        with_values(
            text,
            {
                "pond.set_point": {"1 Sep": "16 °C", "1 Dec": "off"},
                "cover": None,
                "money.discount_rate": 0.05,
                "place.latitude": 52,
                "pump.submerged": False,
                "filter.casing": None,
                "name": 'A "new" name',
            },
        )
    )
    assert changed.set_point == (((9, 1), 16.0), ((12, 1), None)) and changed.pond.cover is None
    assert (changed.discount_rate, changed.latitude, changed.name) == (0.05, 52.0, 'A "new" name')
    assert changed.pond.casing_u_value_area == 0 and changed.pump_heat == pytest.approx(100 * heaters.DRY_SHARE.value)
    assert tomllib.loads(with_values(text, {"no.such.key": None})) == tomllib.loads(text)
    assert tomllib.loads(with_values("", {"pond.volume": "3 m³"})) == {"pond": {"volume": "3 m³"}}


@pytest.mark.parametrize("text, changes", [("[", {}), (SMALL, {"timezone.x": 1}), (SMALL, {"pond.depth.x": 1})])
def test_with_values_raises_a_sheet_error(text, changes):
    with pytest.raises(SheetError):
        with_values(text, changes)


# --- whatever is typed --------------------------------------------------------------------------------------------

_GARDEN = SHIPPED[0].read_text(encoding="utf-8")
_PIECES = st.sampled_from(
    [
        '"',
        "'",
        "[",
        "]",
        "[[",
        "=",
        "\n",
        "#",
        ",",
        ".",
        "-",
        "{",
        "}",
        "°C",
        "m²",
        " m",
        "kW",
        "0",
        "9" * 400,
        "1e999",
        "nan",
        "true",
        "x",
        "%",
        "£",
        "/",
        "\\",
        "\u0000",
        "é",
        " ",
        "gallons",
        "1 Oct",
        "24:00",
    ]
)
_EDITS = st.lists(st.tuples(st.floats(0, 1), st.integers(0, 12), _PIECES), min_size=1, max_size=6)


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(_EDITS)
def test_a_mangled_sheet_is_read_or_its_faults_are_listed(edits):
    text = _GARDEN
    for place, cut, piece in edits:
        at = int(place * len(text))
        text = text[:at] + piece + text[at + cut :]
    try:
        read = from_text(text)
    except SheetError as told:
        assert told.faults and all(fault.sentence for fault in told.faults)
    else:
        assert isinstance(read, pond_sheet.Sheet)


_QUANTITY = st.builds(
    lambda number, unit: f"{number:g} {unit}",
    st.floats(-1e6, 1e6),
    st.sampled_from(
        [
            "",
            "m",
            "m²",
            "m³",
            "L",
            "L/s",
            "L/day",
            "°C",
            "°F",
            "K",
            "W",
            "kW",
            "W/K",
            "W/m²K",
            "W/m/K",
            "%",
            "£",
            "p/kWh",
            "£/day",
            "years",
            "mm EPS",
            "m x 1 cm",
            "deg",
            "hPa",
            "min",
            "(m",
            "m/0",
            "m^9^9",
        ]
    ),
)
_MOMENTS = st.one_of(st.datetimes(), st.times()).map(lambda at: at.replace(fold=0))  # TOML has no fold
_VALUES = st.recursive(
    st.one_of(
        st.booleans(),
        st.integers(-(10**400), 10**400),
        st.integers(-5, 50),
        st.floats(),
        st.text(max_size=20),
        _QUANTITY,
        st.dates(),
        _MOMENTS,
        st.sampled_from(["room", "open air", "film", "gas", "heat pump", "ground", "air", "1 Oct", "19:00", "off"]),
    ),
    lambda inner: st.one_of(st.lists(inner, max_size=3), st.dictionaries(st.text(max_size=6), inner, max_size=3)),
    max_leaves=6,
)
_PATHS = st.sampled_from(
    [
        *((table, key) for table, keys in KEYS.items() for key in keys),
        *((table, None) for table in KEYS if table),
        *(("tariff", key) for key in ("rate", "otherwise", "window", "tax", "prices")),
    ]
)


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.lists(st.tuples(_PATHS, _VALUES), min_size=1, max_size=3))
def test_any_value_of_any_key_is_read_or_its_faults_are_listed(changes):
    document = tomllib.loads(_GARDEN)
    for (table, key), value in changes:
        if not table:
            document[key] = value
        elif key is None:
            document[table] = value
        elif isinstance(document.get(table, {}), dict):
            document.setdefault(table, {})[key] = value
        elif isinstance(document[table], list) and document[table] and isinstance(document[table][0], dict):
            document[table][0][key] = value
    try:
        from_text(text_of(document))
    except SheetError as told:
        assert told.faults and all(fault.sentence for fault in told.faults)


_DOCUMENTS = st.dictionaries(st.text(max_size=8), _VALUES, max_size=5)


@settings(max_examples=40, deadline=None)
@given(_DOCUMENTS)
def test_any_document_written_reads_back_the_same(document):
    def in_order(value):  # by text, as nan is not equal to itself; the order of keys is free
        if isinstance(value, dict):
            return sorted((key, in_order(inside)) for key, inside in value.items())
        return [in_order(inside) for inside in value] if isinstance(value, list) else repr(value)

    assert in_order(tomllib.loads(text_of(document))) == in_order(document)


def test_assumed_is_a_list_of_known_keys():
    assert from_text('assumed = ["place.wind_shelter", "cover.u_value"]\n' + SMALL).assumed == (
        "place.wind_shelter",
        "cover.u_value",
    )
    for listed, said in (
        ('["cover.uvalue"]', "cover.u_value"),
        ('"cover.u_value"', "a list of keys"),
        ("[1]", "a list"),
    ):
        assert said in faults_of(f"assumed = {listed}\n" + SMALL)["assumed"].sentence


# --- emission factors and a net ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "written", ["0.207 kg/kWh", "207 g/kWh", "207 g CO2e/kWh", "0.207 kg CO₂/kWh", "0.207 kg of CO2 equivalent per kWh"]
)
def test_an_emission_factor_as_suppliers_write_it(written):
    read = pond_sheet.from_text(small(emissions=f'electricity = "{written}"'))
    assert read.emission_factors.electricity.kg_per_kwh == pytest.approx(0.207)
    assert "emissions.electricity" in read.emission_factors.electricity.origin


def test_emission_factors_of_the_place_where_none_is_given():
    london = pond_sheet.from_text(small())
    assert london.emission_factors.electricity.kg_per_kwh == pytest.approx(0.1955)
    euros = pond_sheet.from_text('currency = "EUR"\n' + small())  # a pond in two places is in none
    assert euros.emission_factors.electricity.kg_per_kwh is None
    assert euros.emission_factors.gas.kg_per_kwh == pytest.approx(0.181)


def test_a_net_is_part_of_the_pond():
    assert pond_sheet.from_text(small(place='net = "95 %"')).pond.net_open_area == 0.95
    assert pond_sheet.from_text(small()).pond.net_open_area == 1.0
