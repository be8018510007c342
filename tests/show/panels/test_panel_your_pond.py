"""Page 16 without a browser: nothing is written before an answer, all is saved after, errors are shown in place."""

import datetime as dt
import json
import re
import threading
from dataclasses import replace

import pandas as pd
import pytest
from usual_cases import some_of

from pondheat.analysis import assessment
from pondheat.analysis.scenarios import what_if
from pondheat.core import display_units
from pondheat.core.number_format import unbroken
from pondheat.core.places import CLONE
from pondheat.season.weather import weather
from pondheat.sheet import pond_form, pond_sheet
from pondheat.show.panels import sheet_file, your_pond, your_pond_files
from pondheat.show.panels.power_cut import PowerFails
from pondheat.show.panels.sheet_file import BACKUP, SHEET
from pondheat.show.panels.your_pond import REPORT, YourPond
from pondheat.show.panels.your_pond_files import TOWN
from pondheat.show.panels.your_pond_form import MORE, START_VALUES, TAKEN, TO_MEND, Line
from pondheat.show.panels.your_pond_steps import StepButtons
from pondheat.text.best_choice import NOTHING_TO_BUY, UNHEATED
from pondheat.text.pond_answer import pond_answer

LOGS, WORKBOOK = CLONE / "data" / "readings", CLONE / "workbook"
HOSTILE = "<script>alert(1)</script>\"'&\\ 🐟"
SIZE = {"length": "15 ft", "width": "10 ft", "depth": "4 ft"}
TYPED = [key for key, question in pond_form.questions().items() if question.choices is None]

pytestmark = pytest.mark.usefixtures("few_runs")


def send(control, message):
    """A message as the browser sends it; what is said under the control."""
    control._answer(control, {**message, "asked": "1"}, [])
    return control.says


def given(panel, **answers):
    """Answers as the browser sends them, and what is said under each at the end."""
    for key, value in answers.items():
        field = panel.form.fields[key]
        send(field, {"typed": value} if isinstance(field, Line) else {"value": value})
    return {key: panel.form.fields[key].says for key in answers}


def bring(file, content, name="station.csv"):
    """A small file as the browser sends it."""
    file._answer(file, {"name": name, "size": len(content), "asked": "1"}, [])
    file._answer(file, {"at": 0, "asked": "2"}, [content])
    assert file.content == content


def worked(panel):
    """Everything the panel says once its work has ended."""
    panel.work_out()
    panel.wait(120)
    return panel.progress_line.value + panel.headline.value + panel.answer.value + panel.sure.value


@pytest.fixture(scope="module", autouse=True)
def two_months():
    """The form's season, where nobody changes it, is a quarter as long, so that an answer takes less time."""
    whole = pond_form.questions

    def shorter(*given, **named):
        asked = whole(*given, **named)
        first = asked["start"].start[:4]
        days = {"start": f"{first}-11-15", "end": f"{int(first) + 1}-01-15"}
        return asked | {key: replace(asked[key], start=day) for key, day in days.items()}

    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(pond_form, "questions", shorter)
        patched.setattr(your_pond_files, "questions", shorter)
        yield


@pytest.fixture(autouse=True)
def nothing_by_itself(monkeypatch, request):
    """An answer is worked out where a test asks for it, not after every value, and at once; of choices only a few."""
    if "live" not in request.fixturenames:
        monkeypatch.setattr(YourPond, "_sharpen", lambda self: self.stop(""))
        monkeypatch.setattr(your_pond, "QUIET", 0.0)
    if not {"live", "every_choice"} & set(request.fixturenames):
        whole, few = what_if.what_if, (*NOTHING_TO_BUY, UNHEATED)
        monkeypatch.setattr(
            what_if, "what_if", lambda sheet, record, choices=few, **more: whole(sheet, record, choices, **more)
        )


@pytest.fixture
def every_choice():
    """The table has all its rows, as on the page."""


@pytest.fixture
def live():
    """The answer is worked out by itself, as on the page."""


def names(folder):
    return {path.name for path in folder.iterdir()}


@pytest.fixture(scope="module")
def sheet_with_size(tmp_path_factory):
    """The file after a size was typed into an empty form."""
    folder = tmp_path_factory.mktemp("typed")
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(YourPond, "_sharpen", lambda self: self.stop(""))
        given(YourPond(folder), **SIZE)
    return (folder / SHEET).read_bytes()


@pytest.fixture
def with_size(sheet_with_size, tmp_path):
    """The panel is one that comes back to the size typed before."""
    (tmp_path / SHEET).write_bytes(sheet_with_size)


@pytest.fixture
def panel(tmp_path):
    return YourPond(tmp_path)


# --- from an empty form to a printed sheet


def test_opening_writes_nothing(panel, tmp_path):
    assert names(tmp_path) == set() and panel._repr_mimebundle_()["text/plain"] == YourPond.NOTHING


def test_running_the_page_leaves_no_file(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    page = json.loads((WORKBOOK / "16_your_pond.ipynb").read_text(encoding="utf-8"))
    names_of_the_page = {}
    for cell in page["cells"]:
        if cell["cell_type"] == "code":
            exec("".join(cell["source"]), names_of_the_page)  # the page's own cells
    assert names(tmp_path) == set()


def test_start_values_are_marked_and_said_once(panel):
    marked = {key for key, field in panel.form.fields.items() if field.assumed}
    assert marked == panel.form.untouched and {"length", "held", "cover", "rate", "u_value"} <= marked
    assert START_VALUES in panel.form.children[0].value
    assert not any(field.says for field in panel.form.fields.values())


def test_a_start_value_that_is_right_becomes_ones_own(panel, tmp_path):
    given(panel, **SIZE, power="3 kW", heater="resistance")
    assert not {"power", "heater"} & panel.form.untouched and not panel.form.fields["power"].assumed
    assert panel.form.fields["power"].says == "3.00 kW = 3,000 W."
    assert not {"heater.power", "heater.kind"} & set(pond_sheet.read(tmp_path / SHEET).assumed)


def test_a_bare_number_takes_the_usual_unit_and_says_so(panel, tmp_path):
    said = given(panel, length="5", depth="1.2", held="12", power="3", rate="28", cover_price="300", shade="30")
    assert said["held"] == f"{TAKEN}12.0 °C = 53.6 °F." and all(one.startswith(TAKEN) for one in said.values()), said
    wanted = {"length": "5 m", "held": "12 °C", "power": "3 kW", "rate": "28 p/kWh", "cover_price": "£300"}
    assert wanted.items() <= panel.form.answers().items() and panel.form.answers()["shade"] == "30 %"
    made = pond_sheet.read(tmp_path / SHEET)
    assert (made.set_point[0][1], made.heater.power, made.pond.shade) == (12.0, 3000.0, 0.3)
    assert given(panel, held="12 °C")["held"] == "12.0 °C = 53.6 °F."


def test_four_steps_of_three_or_four_questions(panel):
    steps = panel.form.steps
    answers = panel.form.answers()
    for group in ("pond", "heat", "cover", "bill"):
        asked = [key for key, one in panel.form.questions.items() if one.group == group]
        assert 3 <= sum(pond_form.is_asked(key, answers) for key in asked) <= 4, group
    shown = [[box.layout.display == "" for box in steps.boxes]]
    for at in range(1, 4):
        steps.turn.at = at
        shown.append([box.layout.display == "" for box in steps.boxes])
    assert shown == [[at == step for at in range(4)] for step in range(4)] and steps.trail.at == 3
    assert StepButtons(names=["a", "b"], at=9).at == 1


def test_the_picture_grows(panel, tmp_path):
    seen = [panel.picture.value]
    for at in range(1, 4):
        panel.form.steps.trail.at = at
        seen.append(panel.picture.value)
    assert "heater" not in seen[0] and "heater" in seen[1] and "cover" not in seen[1] and "cover" in seen[2]
    given(panel, length="9 m")
    panel.form.steps.trail.at = 0
    assert "9 m long" in panel.picture.value
    assert "heater" in panel.picture.value and "0 W<" not in panel.picture.value, "nothing has been worked out yet"
    before = panel.picture.value
    given(panel, length="long")
    panel.form.steps.trail.at = 1
    assert panel.picture.value == before, "the last picture stays"
    given(panel, length="9 m")
    assert "heater" in YourPond(tmp_path).picture.value, "all of it is there when the reader comes back"


def test_the_answer_comes_by_itself_and_sharpens(live, panel, tmp_path):
    """From the first value on, with start values for the rest; nothing is written before it."""
    panel.work_out()  # as when it is shown
    panel.wait(120)
    assert "An example so far, with defaults for the size" in panel.headline.value
    assert "The cover saves about" in panel.headline.value and names(tmp_path) == set()
    assert "Air under a cover" in panel.result.value, "the cautions stand below an example too"
    given(panel, length="5 m")
    panel.wait(120)
    assert "defaults for width and depth" in panel.headline.value and names(tmp_path) == {SHEET, REPORT}
    given(panel, width="3 m", depth="1.2 m")
    panel.wait(120)
    assert "An example" not in panel.headline.value and "How sure?" in panel.sure.value
    assert "</p><p>" not in panel.sure.value, "two sentences in one line keep the space between them"


def test_undo_and_start_again(panel, tmp_path):
    panel.undo.click()  # nothing to undo yet
    assert names(tmp_path) == set() and panel.undo.disabled
    given(panel, **SIZE)
    before = panel.form.answers(), set(panel.form.untouched)
    given(panel, rate="31 p/kWh", cover="insulated lid")
    given(panel, cover="insulated lid")  # again: one step back undoes it, not two
    assert panel.form.answers()["u_value"] == "0.7 W/m²K"
    panel.undo.click()
    panel.undo.click()
    assert (panel.form.answers(), panel.form.untouched) == before
    assert "31 p" not in (tmp_path / SHEET).read_text(encoding="utf-8")
    written = (tmp_path / SHEET).read_bytes()
    panel.again.click()
    assert panel.form.answers()["length"] == "4 m" and "length" in panel.form.untouched
    assert (tmp_path / BACKUP).read_bytes() == written and BACKUP in panel.saved.value
    panel.undo.click()
    assert (panel.form.answers(), panel.form.untouched) == before


def test_comments_and_order_of_the_reader_s_own_file_stay(with_size, panel, tmp_path):
    text = (tmp_path / SHEET).read_text(encoding="utf-8")
    (tmp_path / SHEET).write_text(f"# mine\n{text}\n# the end\n", encoding="utf-8")
    given(panel, rate="33 p/kWh")
    panel.undo.click()
    kept = (tmp_path / SHEET).read_text(encoding="utf-8")
    assert kept.startswith("# mine\n") and kept.rstrip().endswith("# the end")


def test_what_is_missing_is_named(panel, tmp_path):
    given(panel, length="", width="", depth="")
    assert "length of the water; width of the water; mean depth" in worked(panel)


def test_from_three_numbers_to_a_sheet_of_paper(every_choice, panel, tmp_path):
    """One run: the files, the numbers of the shell's command, the link after reopening, and a result out of date."""
    said = given(panel, **SIZE)
    assert said["length"] == "15.0 ft = 4.57 m."
    assert "The cover saves" in worked(panel)
    assert names(tmp_path) == {SHEET, REPORT}
    assert f'href="{REPORT}"' in panel.result.value and "<pre" not in panel.result.value
    (fails,) = panel.power_cut.children
    assert isinstance(fails, PowerFails) and fails.found
    made = pond_sheet.read(tmp_path / SHEET)
    assert "cover.u_value" in made.assumed and "pond.length" not in made.assumed
    printed = (tmp_path / REPORT).read_text(encoding="utf-8")
    assert "Guesses, according to the sheet: the price of electricity" in printed
    by_shell = pond_answer(assessment.assess(pond_sheet.read(tmp_path / SHEET)))
    for part in (by_shell.headline, by_shell.beside):
        assert unbroken(str(part)) in re.sub("<[^>]*>", "", panel.headline.value + panel.sure.value)
    assert f'href="{REPORT}"' in YourPond(tmp_path).saved.value


def test_in_preferred_money_and_units(tmp_path):
    display_units.keep("USD, °F, US gallons", tmp_path)
    panel = YourPond(tmp_path)
    given(panel, **SIZE | {"depth": "2000 US gallons", "held": "54 F"})
    assert "saves about <b>$" in worked(panel) and "$" in panel.form.fields["cover_price"].value
    display_units.keep("GBP", tmp_path)
    assert YourPond(tmp_path).sheet_file.currency.sign == "$", "a sheet keeps its own money"


def test_it_can_be_cancelled(with_size, panel, tmp_path, monkeypatch):
    begun, offered, go_on = threading.Event(), threading.Event(), threading.Event()

    def slow(sheet, record, progress=None, **_):
        begun.set()
        go_on.wait(20)
        progress(0.5)

    monkeypatch.setattr(your_pond.assessment, "assess", slow)
    monkeypatch.setattr(your_pond.ensemble, "warm_up_aside", lambda: None)  # which may compile for a while
    monkeypatch.setattr(YourPond, "PATIENCE", 0.1)
    panel.cancel.layout.observe(lambda change: offered.set() if change["new"] == "" else None, "display")
    panel.work_out()
    assert begun.wait(20) and offered.wait(20)
    panel.stop()
    go_on.set()
    panel.wait()
    assert "Your answers are still here" in panel.progress_line.value and names(tmp_path) == {SHEET}


def test_no_heat(with_size, panel):
    given(panel, held="no heat")
    assert "No heat, no heating cost" in worked(panel) and "Carp do not eat then" in panel.answer.value
    assert panel.form.fields["power"].layout.display == "none"


@pytest.mark.long
def test_no_heater(with_size, panel):
    given(panel, heater="none", cover="none")
    assert "No heat, no heating cost" in worked(panel)
    hidden = {key for key, field in panel.form.fields.items() if field.layout.display == "none"}
    assert hidden == {"power", "gas_rate", "hours", "cover_price", "machine_price", "u_value", "gap", "life", "town"}


# --- coming back


def test_reopened_it_goes_on_where_it_was(panel, tmp_path):
    given(panel, **SIZE, cover="insulated lid", rate="31 p/kWh", held="warm")
    again = YourPond(tmp_path)
    assert again.form.answers() == panel.form.answers() and again.form.untouched == panel.form.untouched
    assert "warm" in again.form.fields["held"].says and "rate" not in again.form.untouched
    assert (
        again.form.fields["u_value"].value == "0.7 W/m²K"
        and again._repr_mimebundle_()["text/plain"] == YourPond.NOTHING
    )
    given(again, cover="sheet")
    assert again.form.fields["u_value"].value == "3 W/m²K"


def test_reopening_writes_nothing(with_size, panel, tmp_path):
    before = (tmp_path / SHEET).read_bytes()
    YourPond(tmp_path)
    assert (tmp_path / SHEET).read_bytes() == before and names(tmp_path) == {SHEET}


# --- what is wrong


def test_a_wrong_answer_is_told_in_place_and_nothing_is_lost(panel):
    said = given(panel, length="4 metre long", width="10 ft", depth="four feet", held=HOSTILE)
    assert all(one.startswith(TO_MEND) for key, one in said.items() if key != "width")
    assert panel.form.fields["length"].invalid and not panel.form.fields["width"].invalid
    assert "4 m" in said["length"] and "four feet" in said["depth"] and panel.form.fields["held"].value == HOSTILE
    told = worked(panel)
    assert 'role="alert"' in told and "Length of the water" in told and "<script" not in told and "wall" not in told
    assert panel.form.fields["width"].value == "10 ft"


def test_an_emptied_line_never_speaks_of_the_sheet_s_keys(with_size, panel):
    said = given(panel, power="", hours="", timezone="", start="")
    assert all("Nothing has been typed here" in said[key] for key in ("power", "hours", "timezone", "start")), said
    told = worked(panel)
    assert told.count("Nothing has been typed here") == 4 and "write power" not in told and "“”" not in told


def test_what_only_the_sheet_finds_implausible_is_told_in_place_too(with_size, panel):
    said = given(panel, power="3 W", start="2027-13-01", timezone="Europe/Lundon", sky_view="800 %")
    assert all(said[key].startswith(TO_MEND) for key in ("power", "start", "timezone", "sky_view")), said
    said = given(panel, power="3 kW", start="2026-09-01", timezone="Europe/London", sky_view="80 %")
    assert not [one for one in said.values() if one.startswith(TO_MEND)]
    assert "The cover saves" in worked(panel)


def test_too_long_an_answer_is_refused_in_words(panel):
    assert "too long" in given(panel, length="9" * 10_000)["length"] and panel.form.fields["length"].value == "4 m"
    assert panel.form.fields["length"].invalid


def test_a_strange_message_is_refused_in_words(panel, tmp_path):
    assert "too long" in send(panel.form.fields["length"], {"typed": 3})
    assert "not one of the choices" in send(panel.form.fields["cover"], {"value": HOSTILE})
    assert names(tmp_path) == set()


@pytest.mark.parametrize("key", [pytest.param(key, marks=() if key == "name" else pytest.mark.long) for key in TYPED])
def test_hostile_text_in_every_line_is_only_text(key, panel, tmp_path):
    given(panel, **SIZE | {"heater": "gas", key: HOSTILE})
    assert panel.form.fields[key].value == YourPond(tmp_path).form.fields[key].value == HOSTILE
    try:
        pond_sheet.read(tmp_path / SHEET)
    except pond_sheet.SheetError as faults:
        panel.show_error(faults)
        assert (
            'role="alert"' in panel.progress_line.value
            and "<script" not in panel.progress_line.value + panel.message.value
        )


@pytest.mark.long
def test_a_hostile_name_does_not_run(every_choice, with_size, panel, tmp_path):
    given(panel, name=HOSTILE)
    said = worked(panel)
    assert "<script" not in said + panel.result.value + (tmp_path / REPORT).read_text(encoding="utf-8")


def test_a_folder_that_cannot_be_written_is_said(panel, monkeypatch):
    def full(path, content):
        raise OSError("no space left on device")

    monkeypatch.setattr("pondheat.show.panels.sheet_file.write_atomically", full)
    given(panel, length="4 m")
    assert "Not saved: no space left" in panel.saved.value and panel.form.fields["length"].value == "4 m"


# --- a sheet changed by hand


@pytest.mark.parametrize("content", some_of([b"this is <no> sheet", b"\xff\xfe\x00", b"length = 4 m"], 0, 1))
def test_a_broken_sheet_is_said_copied_aside_and_never_lost(tmp_path, content):
    (tmp_path / SHEET).write_bytes(content)
    panel = YourPond(tmp_path)
    assert "cannot be read" in panel.message.value and "<no>" not in panel.message.value
    assert names(tmp_path) == {SHEET}
    given(panel, length="4 m")
    assert (tmp_path / BACKUP).read_bytes() == content
    assert 'length = "4 m"' in (tmp_path / SHEET).read_text(encoding="utf-8")


def test_a_sheet_broken_while_the_page_is_open_is_copied_aside_too(with_size, panel, tmp_path):
    kept = set()
    for content in (b"broken once", b"broken twice"):
        (tmp_path / SHEET).write_bytes(content)
        given(panel, rate="33p")
        assert "copied to" in panel.message.value
        kept.add(content)
        assert {path.read_bytes() for path in tmp_path.glob("my_pond.before*")} == kept
        assert pond_sheet.read(tmp_path / SHEET).pond.volume > 0
    given(panel, rate="34p")
    assert panel.message.value == ""


def test_what_was_changed_by_hand_meanwhile_is_kept_and_shown(with_size, panel, tmp_path):
    text = pond_sheet.with_values(
        (tmp_path / SHEET).read_text(encoding="utf-8"), {"pond.floor": "8 °C", "pond.width": "9 ft"}
    )
    (tmp_path / SHEET).write_text(text, encoding="utf-8")
    given(panel, rate="33 p/kWh")
    made = pond_sheet.read(tmp_path / SHEET)
    assert made.floor == 8 and 'width = "9 ft"' in made.text and "33 p/kWh" in made.text
    assert panel.form.fields["width"].value == "9 ft" and "changed elsewhere" in panel.message.value


def test_an_answer_being_written_is_not_taken_for_a_change_elsewhere(with_size, panel, tmp_path, monkeypatch):
    """Two answers may be handled at once, in two threads."""
    file, write, found = panel.sheet_file, sheet_file.write_atomically, []
    other = threading.Thread(target=lambda: found.append(file.reload()))

    def written_while_another_answer_comes(path, content):
        write(path, content)
        other.start()
        other.join(0.5)

    monkeypatch.setattr(sheet_file, "write_atomically", written_while_another_answer_comes)
    given(panel, rate="33 p/kWh")
    other.join()
    assert found == [False] and panel.message.value == ""


def test_what_was_changed_by_hand_is_what_is_worked_out(with_size, panel, tmp_path):
    text = (tmp_path / SHEET).read_text(encoding="utf-8")
    (tmp_path / SHEET).write_text(pond_sheet.with_values(text, {"pond.set_point": None}), encoding="utf-8")
    assert "No heat, no heating cost" in worked(panel)
    assert panel.form.fields["held"].value == "no heat" and "changed elsewhere" in panel.message.value
    (tmp_path / SHEET).write_text("length = 4 m", encoding="utf-8")
    assert 'role="alert"' in worked(panel) and (tmp_path / SHEET).read_text(encoding="utf-8") == "length = 4 m"


def test_a_fault_that_no_question_can_mend_is_told_above_the_form(tmp_path):
    (tmp_path / SHEET).write_text(
        'pondd = 3\n[pond]\nlength = "4 m"\nwidth = "3 m"\ndepth = "1 m"\nceiling = "x"\n', encoding="utf-8"
    )
    panel = YourPond(tmp_path)
    assert "pondd" in panel.message.value and "pond.ceiling" in panel.message.value
    assert "pond.ceiling" in worked(panel)


# --- weather and meter


def test_twelve_temperatures_of_ones_own_town(with_size, panel, tmp_path):
    assert "3 temperatures were read" in send(panel.weather.town, {"typed": "1 2 4"})
    said = send(panel.weather.town, {"typed": "-3 -2 2 7 12 16 18 17 13 8 2 -2"})
    assert (
        "has the most similar climate" in said
        and (tmp_path / TOWN).exists()
        and panel.form.fields["place"].value == "own"
    )
    assert "The cover saves" in worked(panel)
    assert "temperatures typed in" in (tmp_path / REPORT).read_text(encoding="utf-8")
    assert YourPond(tmp_path).source == TOWN


@pytest.mark.long
def test_a_town_whose_winter_is_in_july_has_its_season_from_march(with_size, panel, tmp_path):
    season = [panel.form.fields[key].value for key in ("start", "end")]
    said = send(panel.weather.town, {"typed": "22 22 20 16 13 10 9 11 13 16 18 21"})
    assert "shifted by half a year" in said
    start, end = (panel.form.fields[key].value for key in ("start", "end"))
    assert start[4:] == "-03-01" and end == f"{start[:4]}-11-30"
    record = weather.read(tmp_path / TOWN, timezone="Australia/Melbourne", year=2026)
    sun = record.hours["solar"].groupby(record.hours.index.month).sum()
    assert record.latitude < 0 and sun[1] > 2 * sun[6]  # summer's sun falls into its warm months
    worked(panel)
    assert "1 March to 30 November" in panel.picture.value
    send(panel.weather.town, {"typed": "-3 -2 2 7 12 16 18 17 13 8 2 -2"})
    assert [panel.form.fields[key].value for key in ("start", "end")] == season


TWELVE = "27 28 36 45 54 61 64 63 55 46 36 28"


@pytest.mark.parametrize("typed", some_of([f"{TWELVE} °F", TWELVE.replace(" ", ";") + " F"], 1))
def test_a_town_in_fahrenheit(panel, tmp_path, typed):
    send(panel.weather.town, {"typed": typed})
    assert "-2.8 -2.2 2.2 7.2" in (tmp_path / TOWN).read_text(encoding="utf-8")


@pytest.mark.parametrize("typed", some_of([HOSTILE, "", "a b c d e f g h i j k l", "9 " * 13, "900 " * 12], 0, 2, 3))
def test_a_town_that_is_none_is_refused_in_words(panel, tmp_path, typed):
    assert send(panel.weather.town, {"typed": typed}) and names(tmp_path) == set()


def test_a_place_by_name_or_a_file_by_its_path(with_size, panel, tmp_path):
    assert "Miami" in send(panel.weather.named, {"typed": "Miami"})
    assert pond_sheet.read(tmp_path / SHEET).weather == "miami"
    (tmp_path / "station data.csv").write_text("nonsense", encoding="utf-8")
    assert "Copied from" in send(panel.weather.named, {"typed": f'"{tmp_path / "station data.csv"}"'})
    assert pond_sheet.read(tmp_path / SHEET).weather == "my_weather.csv"
    assert "neither" in send(panel.weather.named, {"typed": HOSTILE})
    assert pond_sheet.read(tmp_path / SHEET).weather == "my_weather.csv"
    assert "The weather cannot be used" in worked(panel)


def test_a_weather_file_of_ones_own(with_size, panel, tmp_path):
    bring(panel.weather.file, b"nonsense")
    assert panel.form.fields["place"].value == "own" and (tmp_path / "my_weather.csv").read_bytes() == b"nonsense"
    assert 'role="alert"' in worked(panel)


def test_measured_weather_brings_its_own_season(with_size, panel, tmp_path):
    """A record of the spring cannot carry a winter: its own days are the start values, until some are typed."""
    record = weather.read("potsdam", timezone="UTC", year=2025).hours.loc["2025-01-01":"2025-03-31"]
    table = pd.DataFrame(
        {
            "time [UTC]": record.index.strftime("%Y-%m-%d %H:%M"),
            "air temp [°C]": record["air_temp"].round(1).to_numpy(),
            "rel humidity [%]": (100 * record["rel_humidity"]).round().to_numpy(),
            "wind speed [m/s]": record["wind_speed"].to_numpy(),
            "solar [W/m²]": record["solar"].to_numpy(),
        }
    )
    bring(panel.weather.file, table.to_csv(index=False).encode())
    assert "more about your pond" in worked(panel)
    given(panel, latitude="52.4", longitude="13.1")
    assert (panel.form.fields["start"].value, panel.form.fields["end"].value) == ("2025-01-01", "2025-03-31")
    assert "The cover saves" in worked(panel) and "1 January to 31 March" in panel.picture.value
    assert YourPond(tmp_path).form.answers() == panel.form.answers()
    given(panel, start="2025-02-01")
    given(panel, longitude="13")
    assert panel.form.fields["start"].value == "2025-02-01"
    given(panel, place="potsdam")
    assert panel.form.fields["end"].value == pond_form.questions()["end"].start


def test_untouched_dates_are_those_of_the_coming_winter_again_when_a_year_has_gone(with_size, panel, tmp_path):
    text = (tmp_path / SHEET).read_text(encoding="utf-8")
    old = pond_sheet.with_values(text, {"season.start": dt.date(2020, 9, 1), "season.end": dt.date(2021, 5, 31)})
    (tmp_path / SHEET).write_text(old, encoding="utf-8")
    again = YourPond(tmp_path)
    assert again.form.fields["start"].value == panel.form.fields["start"].value
    assert (tmp_path / SHEET).read_text(encoding="utf-8") == old
    given(again, rate="31p")
    assert pond_sheet.read(tmp_path / SHEET).start.year > 2020


def test_a_place_of_ones_own_without_weather_is_asked_for(with_size, panel):
    said = given(panel, place="potsdam") | given(panel, place="own")
    assert panel.files[0].value is True and said["place"].startswith(TO_MEND)
    assert "no weather of your own yet" in worked(panel) and 'source = "potsdam"' in panel.sheet_file.text
    send(panel.weather.named, {"typed": "miami"})
    assert panel.form.fields["place"].says == "Weather: miami, as you gave it."


def test_a_meter_tells_the_band_and_what_it_taught_is_said(panel, tmp_path):
    given(
        panel,
        length="4 m",
        width="2.5 m",
        depth="1.2 m",
        held="18 °C",
        power="6 kW",
        place="potsdam",
        start="2025-12-01",
        end="2026-01-31",
    )
    bring(panel.meter.file, (LOGS / "garden_pond_open.csv").read_bytes())
    assert "from your pond's own meter" in worked(panel)
    assert "only a trial" in panel.answer.value  # it was not given the weather of those days
    assert "learned from its own meter" in (tmp_path / REPORT).read_text(encoding="utf-8")
    again = YourPond(tmp_path)
    assert "here from last time" in again.meter.file.says and "from your pond's own meter" in worked(again)
    again.meter.used.value = False
    assert "your pond by its own meter" not in worked(again)


@pytest.mark.parametrize("content", some_of([b"a,b\nnonsense\n", HOSTILE.encode(), b"\x00\xff"], 1))
def test_a_meter_that_cannot_be_read_is_told_and_the_answers_stay(with_size, panel, content):
    bring(panel.meter.file, content)
    said = worked(panel)
    assert 'role="alert"' in said and "<script" not in said and panel.form.fields["length"].value == "15 ft"
    assert panel.meter.file.says.startswith(TO_MEND), "also where the file was given"
    send(panel.meter.more, {"typed": HOSTILE})
    assert 'role="alert"' in worked(panel)


def test_fields_are_few():
    asked = pond_form.questions()
    start = {key: question.start for key, question in asked.items()}
    short = [one for key, one in asked.items() if not one.more and pond_form.is_asked(key, start)]
    print(len(short), "lines in the short form,", sum(one.needed for one in short), "of them without a start value")
    assert len(short) <= 14


def test_every_further_question_stands_under_one_topic():
    listed = [key for keys in MORE.values() for key in keys]
    assert sorted(listed) == sorted(key for key, question in pond_form.questions().items() if question.more)
