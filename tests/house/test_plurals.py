"""No sentence of the package says “1 rows”: a count that may be one takes its words from `counted`."""

import ast
import re

from syntax_trees import tree_of

from pondheat.core.number_format import counted
from pondheat.core.places import CLONE

FILES = sorted((CLONE / "pondheat").rglob("*.py"))
# A word in the plural directly after a number that the code has counted.
PLURAL = re.compile(
    r"\s(?:\w+ )?(rows|readings|values|lines|cells|gaps|intervals|characters|steps|times|temperatures|factors|days|"
    r"hours|things|nights)\b"
)
# Counts that cannot be one there, each with the reason.
NEVER_ONE = {
    "len(at)": "more rows than hours of a year",
    "len(fitted.days)": "a fit has a least number of days",
    "len(given)": "said only of an option given more than once",
    "len(values)": "said only of an option given more than once",
    "len(typed)": "an answer too long",
    "len(made.repairs)": "one is said in words",
    "len(self.means)": "days of a year",
    "len(watts) // cuts.DAY": "a power cut of several days",
    "len(misfit)": "the verb goes by the other number",
}


def counts(path):
    """(expression, text that follows) of every f-string part that is a bare count: len(…), int(….sum())."""
    source = path.read_text(encoding="utf-8")
    if not re.search(r"\{[\s(]*(len|int)\(", source):
        return
    for node in ast.walk(tree_of(path)):
        if isinstance(node, ast.JoinedStr):
            for part, after in zip(node.values, [*node.values[1:], ast.Constant("")]):
                if isinstance(part, ast.FormattedValue) and isinstance(after, ast.Constant):
                    expression = ast.unparse(part.value)
                    if re.match(r"(len|int)\(", expression) and "counted" not in expression:
                        yield expression, str(after.value)


def test_a_bare_count_is_not_followed_by_a_plural():
    found = [
        f"{path.relative_to(CLONE).as_posix()}: {{{expression}}}{text[:40]}"
        for path in FILES
        for expression, text in counts(path)
        if PLURAL.match(text) and expression not in NEVER_ONE
    ]
    assert not found, "\n".join(found)


def test_the_pattern_finds_what_it_should(tmp_path):
    path = tmp_path / "bad.py"
    path.write_text("x = f'{len(lost)} rows have no value' + f'{int(below.sum())} such readings'", encoding="utf-8")
    assert [bool(PLURAL.match(text)) for _, text in counts(path)] == [True, True]


def test_counted():
    assert counted(1, "row has", "rows have") == "1 row has"
    assert counted(2, "row has", "rows have") == "2 rows have"
    assert counted(0, "row", "rows") == "0 rows"
