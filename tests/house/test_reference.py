"""workbook/reference.md: as its script makes it, complete, and with links that resolve."""

import re
from collections import Counter

import make_reference

from pondheat.core.nomenclature import RETURNS
from pondheat.core.places import CHECKS

TEXT = make_reference.REFERENCE.read_text(encoding="utf-8")
ENTRIES = {
    quantity: body
    for quantity, body in re.findall(r"^#### `([\w.]+)`\n(.*?)(?=^#{2,4} |\Z)", TEXT, re.MULTILINE | re.DOTALL)
}
LINES = TEXT.splitlines()


def test_the_file_is_up_to_date():
    """After a change of a function, a docstring or a check row: python tests/make_reference.py"""
    assert make_reference.make() == TEXT, "run python tests/make_reference.py"


def test_every_quantity_has_one_entry():
    assert [quantity for quantity in ENTRIES if not quantity.startswith("pondheat.")] == list(RETURNS)
    assert len(re.findall(r"^#### ", TEXT, re.MULTILINE)) == len(ENTRIES)


def test_entries_are_complete():
    for quantity in RETURNS:
        entry = ENTRIES[quantity]
        unit = re.search(r"^- \*\*Returns:\*\* \[([^\]]+)\]$", entry, re.MULTILINE)
        source = re.search(r"^- \*\*Source:\*\* (.+)$", entry, re.MULTILINE)
        assert unit and unit[1].strip() and source and len(source[1].strip()) > 5, quantity
        rows = re.findall(r"^\| `(\w+)` \| ([^|]+) \| ([^|]+) \|$", entry, re.MULTILINE)
        parameters = make_reference.inspect.signature(make_reference.function_of(quantity)).parameters
        assert [name for name, _, _ in rows] == list(parameters), quantity
        assert all(unit.strip() and meaning.strip() for _, unit, meaning in rows), quantity


NAMED = Counter(re.findall(r"[\w-]+", TEXT))


def test_every_check_row_is_named_once_at_its_own_function():
    for path in sorted(CHECKS.glob("*.csv")):
        for row in make_reference.csv.DictReader(path.read_text(encoding="utf-8").splitlines()):
            assert NAMED[row["id"]] == 1, row["id"]
            assert row["id"] in ENTRIES[row["quantity"]], row["id"]


def test_internal_links_resolve():
    """Headings that are link targets contain nothing that GitHub and JupyterLab turn into different targets."""
    headings = [line.lstrip("#").strip() for line in LINES if re.match(r"#{1,4} ", line)]
    links = re.findall(r"\]\(#([^)]+)\)", TEXT)
    assert links and len(set(links)) == len(links)
    for link in links:
        assert headings.count(link) == 1, link
        assert re.fullmatch(r"[a-z0-9_-]+", link), link


def test_a_docstring_is_taken_apart():
    found = make_reference.parse_docstring(
        "Density of water [kg/m³].\n\ntemp: [degC]; 0 to 100 °C. Raises OutOfRange, also for steam. Valid at 1 atm.\n"
        "Source: Kell 1975, vol. 20.\n\n>>> density(4.0)\n1000.0\n"
    )
    assert found == make_reference.Docstring(
        summary="Density of water [kg/m³].",
        details="temp: [degC]; 0 to 100 °C. Valid at 1 atm.",
        raises="OutOfRange, also for steam.",
        source="Kell 1975, vol. 20.",
    )
