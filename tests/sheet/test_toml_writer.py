"""Writing a pond sheet changes the values asked for and leaves every other character of the file alone."""

import copy
import datetime as dt
import tomllib

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pondheat.core.places import PONDS
from pondheat.sheet import pond_sheet
from pondheat.sheet.form_sheet import answers_of, sheet_text
from pondheat.sheet.toml_writer import text_of, with_values

SHEET = """\
# Teich hinter dem Haus, für Jürgen
# second line of the heading

name = "Garden pond"   # what we call it
timezone = 'Europe/London'
currency = "GBP"

# --- size, measured in May ---
[pond]   # a rectangle
length = "4 m"      # with the tape
width  =  "2.5 m"
depth = "1.2 m"     # mean of nine, über alles
# no set point yet

# the long side first
[[wall]]
name = "sunny side"
area = "9 m²"       # half in the sun
layers = [
    "25 mm timber",  # larch
    # from inside to outside
    "50 mm EPS",
]
against = "air"

# and the short one
[[wall]]
area = "6 m²"
u_value = "0.5 W/m²K"

[heater]
kind = "resistance"
power = "3 kW"      # from its plate

# A cover? Take the # away from these three lines.
# [cover]
# kind = "sheet"

[tariff]  # from the bill of March
otherwise = "30 p/kWh"  # with tax

# cheap at night
[[tariff.window]]
name = "night"
rate = "12 p/kWh"
start = "00:30"
end = "07:30"

[base]
against = "ground"
# end of the file
"""
COMMENTS = [line[line.index("#") :] for line in SHEET.splitlines() if "#" in line]


def lines_changed(before: str, after: str) -> tuple[list[str], list[str]]:
    """The lines that are only in the first text, and those only in the second."""
    old, new = before.splitlines(), after.splitlines()
    return [line for line in old if line not in new], [line for line in new if line not in old]


def comments_in_order(text: str) -> list[str]:
    """All comments of a text."""
    return [line[line.index("#") :] for line in text.splitlines() if "#" in line]


def test_no_changes_leave_the_text_identical():
    assert with_values(SHEET, {}) == SHEET
    for path in sorted(PONDS.glob("*.toml")):
        text = path.read_text(encoding="utf-8")
        assert with_values(text, {}) == text


def test_equal_values_are_not_rewritten():
    assert with_values(SHEET, {"pond.width": "2.5 m", "timezone": "Europe/London"}) == SHEET


@pytest.mark.parametrize(
    "path, value, old, new",
    [
        ("name", "Koi pond", 'name = "Garden pond"   # what we call it', 'name = "Koi pond"   # what we call it'),
        ("pond.length", "5 m", 'length = "4 m"      # with the tape', 'length = "5 m"      # with the tape'),
        ("pond.width", "3 m", 'width  =  "2.5 m"', 'width  =  "3 m"'),
        ("heater.power", "9 kW", 'power = "3 kW"      # from its plate', 'power = "9 kW"      # from its plate'),
        ("tariff.otherwise", 0.3, 'otherwise = "30 p/kWh"  # with tax', "otherwise = 0.3  # with tax"),
    ],
)
def test_a_changed_value_keeps_its_line_and_its_comment(path, value, old, new):
    assert lines_changed(SHEET, with_values(SHEET, {path: value})) == ([old], [new])


@pytest.mark.parametrize(
    "path, value, line, above",
    [
        ("assumed", ["pond.depth"], 'assumed = ["pond.depth"]', 'currency = "GBP"'),
        ("pond.set_point", "12 °C", 'set_point = "12 °C"', 'depth = "1.2 m"     # mean of nine, über alles'),
        (
            "pond.set_point",
            {"1 Sep": "18 °C", "1 Dec": "off"},
            'set_point = {"1 Sep" = "18 °C", "1 Dec" = "off"}',
            'depth = "1.2 m"     # mean of nine, über alles',
        ),
        ("heater.power_at", "15 °C", 'power_at = "15 °C"', 'power = "3 kW"      # from its plate'),
        ("tariff.standing_charge", "50 p/day", 'standing_charge = "50 p/day"', 'otherwise = "30 p/kWh"  # with tax'),
        ("season.start", dt.date(2025, 10, 1), "start = 2025-10-01", "[season]"),
    ],
)
def test_a_new_key_comes_right_after_the_last_one_of_its_table(path, value, line, above):
    made = with_values(SHEET, {path: value})
    lines = made.splitlines()
    assert lines[lines.index(line) - 1] == above
    assert comments_in_order(made) == COMMENTS and not lines_changed(SHEET, made)[0]


def test_new_keys_and_tables_of_one_call_stand_together_in_a_readable_order():
    made = with_values(SHEET, {"weather.source": "potsdam", "cover.kind": "sheet", "cover.price": "£300"})
    assert made.startswith(SHEET)
    assert made[len(SHEET) :] == '\n[cover]\nkind = "sheet"\nprice = "£300"\n\n[weather]\nsource = "potsdam"\n'


@pytest.mark.parametrize("path", ["name", "pond.depth", "pond", "tariff", "tariff.window", "heater", "wall", "base"])
def test_removed_values_leave_their_comments(path):
    made = with_values(SHEET, {path: None})
    table, _, key = path.rpartition(".")
    document = tomllib.loads(made)
    assert key not in (document[table] if table else document)
    assert set(COMMENTS) <= set(comments_in_order(made)) | {"# larch", "# from inside to outside"}  # inside a value
    assert [c for c in comments_in_order(made) if c in COMMENTS] == [
        c for c in COMMENTS if c in comments_in_order(made)
    ]


def test_a_list_of_tables_changes_where_it_differs():
    walls = tomllib.loads(SHEET)["wall"]
    walls[0]["area"], walls[0]["layers"] = "10 m²", ["25 mm timber", "60 mm EPS"]
    made = with_values(SHEET, {"wall": walls})
    assert lines_changed(SHEET, made) == (
        ['area = "9 m²"       # half in the sun', '    "50 mm EPS",'],
        ['area = "10 m²"       # half in the sun', '    "60 mm EPS",'],
    )
    one = with_values(SHEET, {"wall": walls[:1]})
    assert tomllib.loads(one)["wall"] == walls[:1]
    assert "# and the short one" in one and one.index("# and the short one") < one.index("[heater]")
    three = with_values(SHEET, {"wall": [*walls, {"area": "1 m²", "against": "air"}]})
    assert '\n\n[[wall]]\narea = "1 m²"\nagainst = "air"\n\n[heater]' in three
    assert comments_in_order(three) == COMMENTS


def test_inline_tables_and_lists_of_them_keep_their_place():
    text = (
        'pond = { length = "4 m", width = "2 m" }  # one line\n'
        "wall = [\n  { area = '3 m²' },  # first\n  { area = '4 m²' },\n]\n\n[heater]\nkind = 'none'\n"
    )
    made = with_values(text, {"pond.width": "3 m", "pond.depth": "1 m", "wall": [{"area": "3 m²"}, {"area": "5 m²"}]})
    first = made.splitlines()[0]
    assert first.startswith('pond = { length = "4 m", width = "3 m",') and first.endswith("}  # one line")
    assert tomllib.loads(made)["pond"] == {"length": "4 m", "width": "3 m", "depth": "1 m"}
    assert "{ area = '3 m²' },  # first\n" in made
    assert tomllib.loads(made)["wall"] == [{"area": "3 m²"}, {"area": "5 m²"}]


def test_dotted_keys_and_tables_in_pieces_keep_their_comments():
    dotted = 'pond.length = "4 m"  # a\npond.depth = "1 m"  # b\nname = "x"\n'
    assert with_values(dotted, {"pond.depth": "2 m", "pond.width": "3 m"}) == (
        'pond.length = "4 m"  # a\npond.depth = "2 m"  # b\npond.width = "3 m"\nname = "x"\n'
    )
    pieces = '[tariff]\notherwise = "30 p"  # a\n\n[heater]  # b\nkind = "none"\n\n[[tariff.window]]  # c\nname = "n"\n'
    made = with_values(pieces, {"tariff.otherwise": "31 p", "tariff.tax": "5 %", "heater.power": "1 kW"})
    assert made == (
        '[tariff]\notherwise = "31 p"  # a\ntax = "5 %"\n\n[heater]  # b\nkind = "none"\npower = "1 kW"\n\n'
        '[[tariff.window]]  # c\nname = "n"\n'
    )
    only_sub = '[pond.set_point]  # by date\n"1 Sep" = "18 °C"\n'
    made = with_values(only_sub, {"pond.depth": "1 m"})
    assert made.startswith(only_sub)
    assert tomllib.loads(made) == {"pond": {"set_point": {"1 Sep": "18 °C"}, "depth": "1 m"}}


def test_a_key_at_the_top_goes_under_the_heading_of_a_sheet_that_has_tables_only():
    text = "# My sheet\n# of 2025\n\n# how big\n[pond]\ndepth = '1 m'\n"
    assert with_values(text, {"name": "x"}) == text.replace("# how big", 'name = "x"\n\n# how big')
    assert with_values("[pond]\ndepth = '1 m'\n", {"name": "x"}) == "name = \"x\"\n\n[pond]\ndepth = '1 m'\n"
    assert with_values("# only words\n", {"name": "x"}) == '# only words\nname = "x"\n'


@pytest.mark.parametrize("mark", ["", "\ufeff"], ids=["plain", "byte order mark"])
def test_windows_line_ends_stay(mark):
    windows = mark + SHEET.replace("\n", "\r\n")
    assert with_values(windows, {}) == windows
    changes = {"pond.length": "5 m", "pond.set_point": "12 °C", "assumed": ["pond.depth"], "water.mains_temp": "9 °C"}
    made = with_values(windows, changes | {"wall": tomllib.loads(SHEET)["wall"][:1], "base.against": None})
    assert "\n" not in made.replace("\r\n", "") and made.startswith(mark + "# Teich")
    assert made.removeprefix(mark).replace("\r\n", "\n") == with_values(
        SHEET, changes | {"wall": tomllib.loads(SHEET)["wall"][:1], "base.against": None}
    )


def test_a_file_that_ends_without_a_line_end():
    assert with_values("name = 'x' # c", {"timezone": "UTC", "pond.depth": "1 m"}) == (
        'name = \'x\' # c\ntimezone = "UTC"\n\n[pond]\ndepth = "1 m"\n'
    )


@pytest.mark.parametrize("name", ["my_first_sheet.toml", "garden_pond.toml", "growing_on_tank.toml"])
def test_an_answer_in_the_form_keeps_comments_and_order(name):
    """As page 16 saves it: the answers of the sheet, one of them changed."""
    text = (PONDS / name).read_text(encoding="utf-8")
    answers, untouched = answers_of(text)
    made = sheet_text(answers | {"name": "Another name", "change": "2 %"}, untouched - {"change"}, text)
    removed, _ = lines_changed(text, made)
    assert removed and all("name" in line or "change_per_day" in line or "assumed" in line for line in removed)
    assert comments_in_order(made) == comments_in_order(text)
    expected = tomllib.loads(text) | {"name": "Another name"}
    assert tomllib.loads(made)["pond"] == expected["pond"] and tomllib.loads(made)["name"] == "Another name"
    assert list(tomllib.loads(made))[: len(expected)] == list(expected) or "water" not in expected
    again = sheet_text(*answers_of(made), made)
    assert again == made
    assert pond_sheet.from_text(made).name == "Another name"


def test_a_new_sheet_has_the_order_of_the_list_of_keys():
    text = text_of(
        {
            "weather": {"source": "potsdam"},
            "tariff": {"otherwise": "30 p", "window": [{"name": "night"}, {"name": "noon"}]},
            "pond": {"set_point": {"1 Sep": "18 °C"}, "depth": "1 m"},
            "assumed": [],
            "name": "x",
        }
    )
    assert text == (
        'name = "x"\nassumed = []\n\n[pond]\nset_point = {"1 Sep" = "18 °C"}\ndepth = "1 m"\n\n'
        '[tariff]\notherwise = "30 p"\n\n[[tariff.window]]\nname = "night"\n\n[[tariff.window]]\nname = "noon"\n\n'
        '[weather]\nsource = "potsdam"\n'
    )


# --- whatever a sheet looks like ----------------------------------------------------------------------------------

_PATHS = [
    "name",
    "assumed",
    "pond",
    "pond.depth",
    "pond.set_point",
    "wall",
    "tariff",
    "tariff.window",
    "cover.kind",
    "base",
]
_NEW = st.one_of(
    st.none(),
    st.sampled_from(["1 m", 3, 2.5, True, [], ["a", "b"], {}, {"1 Sep": "x"}, [{"name": "n"}, {"name": "m"}]]),
    st.text(max_size=8),
)
_BLOCKS = st.sampled_from(
    [
        "name = 'a' # n\n",
        "pond.depth = 1 # dotted\n",
        "pond = { depth = 1, set_point = { a = 'b' } } # inline\n",
        "wall = [ # w\n  { a = 1 }, # one\n  { a = 2 },\n]\n",
        "assumed = ['a', # why a\n 'c']\n",
        "[pond] # table\ndepth = 1 # d\n",
        "[pond.set_point] # sub\n'1 Sep' = 1\n",
        "[[wall]] # w1\na = 1\n\n# between\n[[wall]]\nb = 2\n",
        "[[wall]]\nc = 3\n[wall.inner] # i\nd = 4\n",
        "[tariff] # t\nrate = 1\n",
        "[[tariff.window]] # tw\nname = 'n'\n",
        "[tariff.window]\nname = 'no list'\n",
        "[cover]\n# nothing in it\n",
        "\n",
        "# a comment of its own\n",
    ]
)


@settings(max_examples=40, deadline=None)
@given(st.lists(_BLOCKS, max_size=7), st.dictionaries(st.sampled_from(_PATHS), _NEW, max_size=3), st.booleans())
def test_any_change_of_any_sheet_reads_back_and_keeps_the_rest(blocks, changes, windows):
    text = "".join(blocks)
    try:
        expected = tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        with pytest.raises(pond_sheet.SheetError):
            with_values(text, changes)
        return
    text = text.replace("\n", "\r\n") if windows else text
    try:
        made = with_values(text, changes)
    except pond_sheet.SheetError as told:
        assert "is not a table" in str(told)
        return
    for path, value in changes.items():
        *tables, key = path.split(".")
        here = expected
        for name in tables:
            here = here.setdefault(name, {}) if value is not None else here.get(name, {})
        here.pop(key, None)
        if value is not None:
            here[key] = copy.deepcopy(value)  # two changes may share one value, which must not come to hold itself
    assert tomllib.loads(made) == expected
    # lists and tables on one line that change may take comments along, and a torn list is written anew
    if not {"wall", "pond", "assumed"} & set(changes) and text.count("[[tariff.window]]") < 2:
        assert set(comments_in_order(text)) <= set(comments_in_order(made))


def test_comments_inside_a_list_that_is_taken_out_stay():
    text = "[tariff] # t\nrate = 1\nlist = [ # all\n  'a # b', # one\n  \"c\", # two\n] # end\n[pond]\ndepth = 1\n"
    for gone in ("tariff", "tariff.list"):
        made = with_values(text, {gone: None})
        assert [comment for comment in comments_in_order(made) if comment != "# t"] == [
            "# all",
            "# one",
            "# two",
            "# end",
        ]
        assert "a # b" not in made


def test_a_list_of_tables_torn_by_another_table_keeps_its_values():
    text = "[[wall]]\na = 1\n[heater]\nkind = 'none'\n[[wall]]\na = 2\n"
    made = with_values(text, {"wall": [{"a": 1}, {"a": 3}], "name": "x"})
    assert tomllib.loads(made) == {"name": "x", "heater": {"kind": "none"}, "wall": [{"a": 1}, {"a": 3}]}
