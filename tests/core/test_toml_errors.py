"""What is said of a text that is not TOML: the line, what is wrong, and the line as it should read."""

import tomllib

import pytest

from pondheat.core import toml_errors
from pondheat.core.units import Unreadable


@pytest.mark.parametrize(
    "line, mended",
    [
        ("length = 4 m", 'length = "4 m"'),
        ("length = 4 m  # long", 'length = "4 m"'),
        ("on = 19:00", 'on = "19:00"'),
        ("price = £640", 'price = "£640"'),
        ("kind = none", 'kind = "none"'),
        ("length = “4 m”", 'length = "4 m"'),
        ("length = ‘4 m’", 'length = "4 m"'),
        ("start = 01-11-2025", "start = 2025-11-01"),
        ("start = 1.11.2025", "start = 2025-11-01"),
        ("price = 640,50", "price = 640.50"),
        ('length: "4 m"', 'length = "4 m"'),
        ("length: 4 m", 'length = "4 m"'),
        ("lid: true", "lid = true"),
        ('length "4 m"', 'length = "4 m"'),
        ("latitude 51.5", "latitude = 51.5"),
        ("[pond", "[pond]"),
    ],
)
def test_line_is_named_and_mended(line, mended):
    for before in ("", 'name = "Pond"\n\n'):
        with pytest.raises(Unreadable) as told:
            toml_errors.loads(f"{before}{line}\nlast = 1\n")
        sentence = str(told.value)
        assert sentence.startswith(f"line {1 + before.count(chr(10))}, “{line.strip()}”: ")
        assert sentence.endswith((f": {mended}.", f"as in {mended}."))
        tomllib.loads(mended)  # what is proposed is TOML


@pytest.mark.parametrize(
    "text, said",
    [
        ('name = "My pond\nlength = "4 m"\n', 'line 1, “name = "My pond”: a quotation mark is missing'),
        ('a = "1" b = "2"', "each key begins on a line of its own"),
        ("a =", "the value is missing after ="),
        ("d = 2025-13-01", "there is no such date as 2025-13-01"),
        ('a = "1"\na = "2"', 'line 2, “a = "2"”: the same key or table'),
        ("[pond]\n[pond]", "line 2, “[pond]”: the same key or table"),
        ('[[wall]]\nu = "1"\n[[wall]]\nu = "2"\nu = "3"', 'line 5, “u = "3"”: the same key'),
        ("<html>", "line 1, “<html>”: this is not TOML"),
        ("a = " + "[" * 5000, "brackets"),
        ("a = " + "9" * 5000, "digits"),
        (f"a = {10**30}", "more digits than can be meant"),
        (f"note = {'word ' * 40}", "…”: a value with a unit or a word"),
    ],
)
def test_other_slips(text, said):
    with pytest.raises(Unreadable) as told:
        toml_errors.loads(text)
    assert said in str(told.value)


def test_good_text_is_as_tomllib_reads_it():
    text = '\ufeffname = "Pond"\n[pond]\nlength = "4 m"\n[[wall]]\narea = 3\n'
    assert toml_errors.loads(text) == tomllib.loads(text.removeprefix("\ufeff"))
