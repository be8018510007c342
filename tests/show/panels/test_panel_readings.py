"""The panels on readings: each fault of a log and how it is mended, and a reader's own file."""

import threading

import numpy as np
import pytest
from usual_cases import some_of

from pondheat.core import units
from pondheat.core.tables.read_log import ReadingsFault
from pondheat.meter.reading import meter_file
from pondheat.show.controls import Text
from pondheat.show.file_control import File
from pondheat.show.panels import own_readings, readings

KINDS = {
    "back": "clock",
    "forward": "clock",
    "roll-over": "roll-over",
    "gap": "gap",
    "stuck": "stuck",
    "misread": "misread",
    "new meter": "reset",
}


@pytest.fixture(scope="module")
def panel():
    return readings.panel()


def put(panel, fault):
    panel.controls["fault"].value = fault
    assert panel.error.value == "", panel.error.value


def say(control, *buffers, **message):
    """What the browser sends; the sentence that comes back."""
    control._handle_custom_msg({"asked": "browser:1", **message}, list(buffers))
    assert control.seen == "browser:1"
    return control.says


@pytest.mark.parametrize("fault", readings.EVENTS)
def test_what_befell_the_log_is_found_and_said(panel, fault):
    put(panel, fault)
    found = [one.kind for one in panel.made.repairs]
    assert KINDS[fault] in found if fault in KINDS else found == []
    for value in (panel.raw, panel.mended):
        assert f"{units.digits(value)} kWh" in panel.sentence()
    for one in panel.made.repairs:
        assert one.sentence in panel.sentence()
    assert panel.table().count("→") == (fault != "nothing")


@pytest.mark.parametrize("fault", readings.EVENTS)
def test_mended_use_is_what_the_log_was_made_from(panel, fault):
    """All but the exchange of meters lose nothing; that one loses the hour in which it happened."""
    put(panel, fault)
    sound = readings.log("nothing")["shown"]
    whole = float(sound.iloc[-1] - sound.iloc[0])
    lost = float(np.diff(sound)[readings.EVENTS["new meter"].hour - 1]) if fault == "new meter" else 0.0
    assert panel.mended == pytest.approx(whole - lost, abs=0.3)
    assert panel.power.max() < 1.2 * readings.MEAN  # no leap is left
    assert panel.made.totals["hours"] == 24 * readings.DAYS - (fault == "new meter")


@pytest.mark.parametrize("fault", some_of(readings.EVENTS, 0, 3, 7))
def test_arithmetic_ends_in_the_number_shown(panel, fault):
    put(panel, fault)
    *_, last = panel.arithmetic().lines
    mended = f"{units.digits(panel.mended)} kWh"
    assert last[1].endswith(f"= {mended}") and last[2].endswith(f"as {mended}")


def test_right_choice_is_borne_out(panel):
    put(panel, "back")
    assert readings.RIGHT == "two hours" and set(readings.WORDS) == set(readings.OPTIONS) - {"two hours"}
    row = panel.odd
    assert [f"{panel.rows['wall'][at]:%H:%M}" for at in (row - 1, row)] == ["01:00", "02:00"]
    beside = (panel.step[row - 1] + panel.step[row + 1]) / 2
    assert 1.8 < panel.step[row] / beside < 2.2
    interval = int(np.flatnonzero(panel.last == row)[0])
    assert panel.made.use["hours"].iloc[interval] == 2
    assert panel.power[interval] == pytest.approx(beside, rel=0.1)  # neither cold nor a meter that ran wild


def test_the_roll_over_by_hand(panel):
    """From 996.6 through the nines to 0.0: 3.4 kWh, and 1000 in all that the bare difference misses."""
    put(panel, "roll-over")
    before, then = (panel.rows["shown"][at] for at in (panel.odd - 1, panel.odd))
    assert (before, then) == (996.6, 0.0)
    assert panel.made.use["kwh"].iloc[panel.odd - 1] == pytest.approx(3.4)
    assert panel.mended - panel.raw == pytest.approx(1000)


def test_by_rate(capsys):
    readings.print_by_rate()
    said = capsys.readouterr().out.replace(",", "")
    use = meter_file.read(readings.LOGS / "garden_pond_counter.csv", readings.ZONE).use["kwh"]
    rows = {line.split()[0]: line.split()[1:] for line in said.splitlines()}
    kwh = {name: int(rows[name][0]) for name in ("cheap", "dear")}
    assert sum(kwh.values()) == pytest.approx(use.sum(), abs=1)
    night = use[[(7, 30) > (at.hour, at.minute) >= (1, 0) for at in use.index]].sum()  # from one to half past seven
    half = use[use.index.hour == 0].sum() / 2  # from half past midnight
    seven = use[use.index.hour == 7].sum() / 2  # the half that is dear
    assert kwh["cheap"] == pytest.approx(night + half - seven, abs=1)
    pounds = sum(kwh[name] * price for name, price in (("cheap", 0.12), ("dear", 0.30)))
    assert rows["total"] == [f"{sum(kwh.values())}", f"£{pounds:.0f}"]


# --- own file

COUNTER = b"time,counter [kWh]\n2026-02-01 08:00,100\n2026-02-02 08:00,120\n2026-02-03 08:00,150\n"
EITHER_WAY = b"time,counter [kWh]\n01/02/2026 08:00,100\n02/02/2026 08:00,120\n"


@pytest.fixture
def own():
    return own_readings.OwnReadings()


def give(own, content: bytes, name: str = "mine.csv"):
    say(own.file, name=name, size=len(content))
    said = say(own.file, content, at=0)
    own.wait()
    return said


def test_a_file_is_brought_over_in_pieces():
    file = File("A file")
    assert say(file, name="mine.csv", size=6).startswith("mine.csv: 0") and file.expects == 0
    assert "are here" in say(file, b"abcd", at=0) and (file.expects, file.turn) == (4, 0)
    assert "are here" in say(file, b"again", at=0) and file.expects == 4, "a piece that was not asked for is not taken"
    assert say(file, b"ef", at=4).endswith("is here.")
    assert (file.content, file.value, file.expects, file.turn) == (b"abcdef", "mine.csv", -1, 1)
    say(file, name="mine.csv", size=2)
    say(file, b"gh", at=0)
    assert (file.content, file.turn) == (b"gh", 2), "the same name once more is another file"


@pytest.mark.parametrize(
    "message, said",
    [
        ({"name": "big.csv", "size": File.LARGEST + 1}, "give its path instead"),
        ({"name": "none.csv", "size": 0}, "is empty"),
        ({"name": "odd.csv", "size": "many"}, "The size of the file is missing"),
        ({"name": "odd.csv"}, "The size of the file is missing"),
        ({"at": 0}, "Choose a file"),
        ({}, "Choose a file"),
    ],
)
def test_what_no_file_can_be_is_refused(message, said):
    file = File("A file")
    assert said in say(file, **message)
    assert file.expects == -1 and file.turn == 0


def test_text_is_kept_as_typed():
    text = Text("A path", "Read it")
    assert say(text, typed=" /a b ") == "" and (text.value, text.turn) == (" /a b ", 1)
    say(text, typed=" /a b ")
    assert text.turn == 2
    for message in ({"typed": None}, {}, {"typed": "x" * 10_000}):
        assert "at most 1000" in say(text, **message)
    assert (text.value, text.turn) == (" /a b ", 2)


def test_own_file_is_read_and_laid_out(own):
    assert own._repr_mimebundle_()["text/plain"] == own.NOTHING
    assert give(own, COUNTER) == "mine.csv, 0.1 kB, is here."
    assert "mine.csv: 50.0 kWh in 48 hours" in own.progress_line.value  # 150 − 100
    for part in ("How the file was read", "is a counter", "What was repaired", "By hour of the day", "night", "<svg"):
        assert part in own.result.value, part
    assert own.cancel.layout.display == "none"
    assert own._repr_mimebundle_()["text/plain"] == own.NOTHING, "the stored page does not change with the file"


def test_what_the_file_asks_back_can_be_answered(own):
    give(own, EITHER_WAY)
    assert 'role="alert"' in own.progress_line.value and "day/month or month/day" in own.progress_line.value
    assert own.answers.layout.display == "" and own.result.value == ""
    own.asked["dates"].value = "month first"
    own.wait()
    assert "20.0 kWh in 744 hours" in own.progress_line.value  # 2 January to 2 February
    own.asked["dates"].value = "day first"
    own.wait()
    assert "20.0 kWh in 24 hours" in own.progress_line.value


def test_other_answers(own):
    assert own_readings.options_of('voltage=230, column="power in", digits=5') == {
        "voltage": 230,
        "column": "power in",
        "digits": 5,
    }
    assert own_readings.options_of("power_factor=0.9 clock=utc") == {"power_factor": 0.9, "clock": "utc"}
    for text in ("what?", "progress=1", "unit=", "source=x"):
        with pytest.raises(ReadingsFault):
            own_readings.options_of(text)
    give(own, COUNTER.replace(b" [kWh]", b""))
    assert "has no unit" in own.progress_line.value
    own.asked["kind"].value = "counter"
    say(own.more, typed='unit="Wh"')
    own.wait()
    assert "0.1 kWh in 48 hours" in own.progress_line.value  # 50 Wh, rounded
    say(own.more, typed="nonsense")
    own.wait()
    assert "was not understood" in own.progress_line.value and own.more.value == "nonsense"


@pytest.mark.parametrize("path", ["", "/nowhere/at all.csv", "/", "\x00", "~nobody-here/x.csv", "x" * 900])
def test_no_path_leads_to_a_traceback(own, path):
    say(own.path, typed=path)
    own.wait()
    assert own.path.value == path and own.result.value == ""
    assert "Traceback" not in own.progress_line.value and "could not work out" not in own.progress_line.value


def test_by_path_with_quotation_marks_round_it(own, tmp_path):
    (tmp_path / "my meter.csv").write_bytes(COUNTER)
    say(own.path, typed=f'"{tmp_path / "my meter.csv"}"')
    own.wait()
    assert "my meter.csv: 50.0 kWh" in own.progress_line.value


def test_names_from_outside_are_only_text(own):
    give(own, COUNTER, "<script>alert(1).csv")
    assert "<script>" not in own.progress_line.value and "&lt;script&gt;" in own.progress_line.value


def test_reading_can_be_cancelled(own, monkeypatch):
    under_way, go_on = threading.Event(), threading.Event()

    def slow(*args, progress, **options):
        under_way.set()
        go_on.wait(10)
        progress(0.5)
        raise AssertionError("it was not cancelled")

    monkeypatch.setattr(meter_file, "read", slow)
    say(own.file, name="mine.csv", size=len(COUNTER))
    say(own.file, COUNTER, at=0)
    assert under_way.wait(10) and own.cancel.layout.display == ""
    own.stop()
    go_on.set()
    own.wait()
    assert "Cancelled." in own.progress_line.value and own.result.value == "" and own.cancel.layout.display == "none"
