"""The checking page in a browser: a guess, rows found and opened by keys, the formulae compared, own rows and files.

In the long run: what the page works out and says is tested without a browser in the usual one, in tests/show/panels.
"""

import re

import kit
import pytest
from playwright.sync_api import expect

pytestmark = pytest.mark.long
PAGE = "17_checking_bench.ipynb"
HEADER = "id,quantity,inputs,value,unit,tolerance,source,kind,note\n"


def table(page):
    return page.get_by_role("table", name=re.compile("Rows 1 to"))


def give(page, label: str, text: str) -> None:
    box = page.get_by_label(label)
    box.fill(text)
    box.press("Enter")


def test_rows_appear_after_a_guess_and_are_found_by_keys(lesson):
    expect(table(lesson)).to_have_count(0)
    lesson.get_by_label("I don't know, show me").check()
    expect(table(lesson)).to_be_visible()
    expect(lesson.get_by_text(re.compile(r"\d+ rows, and all agree, run just now"))).to_be_visible()
    expect(table(lesson).get_by_role("columnheader")).to_have_count(5)
    more = lesson.get_by_role("button", name="Show 30 more")
    more.focus()
    more.press("Enter")
    expect(table(lesson).get_by_role("rowheader")).to_have_count(40)
    give(lesson, "Only rows that contain these words", "Trussell")
    expect(lesson.get_by_role("table", name=re.compile(r"Rows 1 to \d+ of \d+, sorted by how much"))).to_contain_text(
        "Trussell 1972"
    )
    opened = table(lesson).locator("summary").first
    opened.focus()
    opened.press("Enter")
    expect(table(lesson).get_by_text("It was given:").first).to_be_visible()
    give(lesson, "Only rows that contain these words", "<b>nothing</b>")
    expect(lesson.get_by_text("No row fits these choices.")).to_be_visible()
    give(lesson, "Only rows that contain these words", "")


@pytest.mark.parametrize("width", [1280, 800])
def test_no_text_is_cut(lesson, width):
    lesson.get_by_label("the garden pond (invented)").check()
    expect(lesson.get_by_role("table", name="The season by every formula")).to_be_visible()
    with kit.whole_in_view(lesson, width):
        wide = lesson.evaluate("""() => [...document.querySelectorAll('.jp-OutputArea-output')]
          .filter(part => part.scrollWidth > part.clientWidth + 1).map(part => part.textContent.slice(0, 60))""")
        assert wide == []


def test_a_file_is_evaluated_and_its_faults_are_listed_by_line(lesson, tmp_path):
    path = tmp_path / "theirs.csv"
    path.write_text(
        HEADER + "T-1,heat.water.density,temp=20 degC,998.2,kg/m**3,abs 0.05,a table,published,\n"
        "T-2,heat.water.densty,temp=1 degC,1,kg/m**3,abs 1,a table,published,\n",
        encoding="utf-8",
    )
    lesson.get_by_label("Or a whole check file of your own").set_input_files(path)
    expect(lesson.get_by_text("theirs.csv: 1 row evaluated, 1 agrees, 0 fail; 1 could not be read.")).to_be_visible()
    expect(
        lesson.get_by_text(
            "theirs.csv:3: T-2: “heat.water.densty” is not a quantity of this library. Did you mean heat.water.density?"
        )
    ).to_be_visible()


def test_no_barrier(lesson):
    kit.open_everything(lesson)
    assert kit.barriers(lesson) == []


def test_an_own_row_is_evaluated_kept_and_shown_again(lesson, workbook):
    give(lesson, "What is checked, such as wet bulb", "wet blub")
    expect(lesson.get_by_text("Did you mean moist air: wet bulb")).to_be_visible()
    give(lesson, "What is checked, such as wet bulb", "wet bulb")
    expect(lesson.get_by_text("Still to be typed: inputs, value, source.")).to_be_visible()
    give(lesson, "Its inputs with units", "air_temp=50 degF; rel_humidity=80 %; pressure=1013.25 hPa")
    give(lesson, "The printed value", "8.3")
    give(lesson, "Source, down to the page", "my <b>own</b> table, p. 4")
    expect(lesson.get_by_text("It agrees. A source that writes 8.3")).to_be_visible()
    lesson.get_by_role("button", name="Add it to my_checks.csv").press("Enter")
    expect(lesson.get_by_text("Added to my_checks.csv as MY-1.")).to_be_visible()
    assert (
        (workbook.folder / "my_checks.csv")
        .read_text(encoding="utf-8")
        .startswith(HEADER + "MY-1,heat.moist_air.wet_bulb,")
    )
    kit.restart_python(lesson, workbook, PAGE)
    lesson.get_by_label("I don't know, show me").check()
    give(lesson, "Only rows that contain these words", "my_checks.csv")
    expect(table(lesson)).to_contain_text("my <b>own</b> table, p. 4")
