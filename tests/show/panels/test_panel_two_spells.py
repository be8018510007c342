"""The panel of the two spells: six ways, their bands, what was put into the logs, and the nights that a test takes."""

import html
import re

import pytest
from panel_values import putting
from usual_cases import some_of

from pondheat.analysis import assessment, savings_comparison
from pondheat.core import units
from pondheat.meter.savings import planning
from pondheat.sheet import pond_sheet as sheets
from pondheat.show.panels import two_spells
from pondheat.show.panels.own_spells import OwnSpells
from pondheat.show.panels.two_spells import DAY, DEGREE, HEAT, LINE, MODEL, TOTALS
from pondheat.show.ponds import PONDS

START = {"open_nights": 14, "covered_nights": 14, "load": 0, "forgotten": "left out"}


@pytest.fixture(scope="module")
def panel():
    return two_spells.six_ways()


put = putting(START)


def true_saving() -> float:
    return 100 * float(two_spells.truth()["saving_in_covered_nights"])


def test_sentence_follows_the_controls(panel):
    put(panel)
    assert panel.sentence().startswith("Shown: over 14 open and 13 covered nights")
    assert "The night of 27 January used as much as an open one; it is left out." in panel.sentence()
    for way, said in ((TOTALS, "Totals say"), (DEGREE, "per degree and day")):
        assert f"{said} {units.digits(panel.saving(way))} %" in panel.sentence()
    put(panel, forgotten="kept")
    assert "over 14 open and 14 covered" in panel.sentence() and panel.sentence().endswith("it is kept as covered.")
    put(panel, forgotten="counted as open")
    assert "over 15 open and 13 covered" in panel.sentence()
    put(panel, covered_nights=5)
    assert "27 January" not in panel.sentence() and "14 open and 5 covered" in panel.sentence()


def test_arithmetic_ends_in_the_number_shown(panel):
    for values in (
        {},
        {"forgotten": "kept"},
        {"forgotten": "counted as open"},
        {"open_nights": 6, "covered_nights": 9, "load": 150},
    ):
        put(panel, **values)
        *_, last = panel.arithmetic().lines
        assert last[1].endswith(f"= {units.significant(panel.saving(MODEL), 3)} %")
        assert last[2] == f"shown above as {units.digits(panel.saving(MODEL))} %"
        said = {True: "the cover saved", False: "against the model"}[panel.found.shown]
        assert f"{said} {units.digits(panel.saving(MODEL))} %" in panel.sentence()
        assert all(line[2] for line in panel.arithmetic().lines)


def test_short_ways_mislead_here_too(panel):
    """The covered spell is the milder one; per degree is too small by more than its own range, and totals too large."""
    put(panel)
    assert panel.found.weather_alone < 0.95
    assert panel.saving(DEGREE) < true_saving() - 10
    assert panel.found.outcomes[DEGREE].high < true_saving() / 100
    assert panel.saving(TOTALS) > true_saving()


def test_fair_ways_hold_what_was_put_in(panel):
    """The line through the weather misses by a little, as one likely range in five does; no plain way is that near."""
    put(panel)
    model, line = (panel.found.outcomes[way] for way in (MODEL, LINE))
    assert model.method.fair and line.method.fair
    assert model.low < true_saving() / 100 < model.high
    assert abs(line.saving - true_saving() / 100) < 2 * (line.high - line.saving)  # 99 of 100 are as near
    for way in (DEGREE, HEAT):
        one = panel.found.outcomes[way]
        assert abs(one.saving - true_saving() / 100) > 2 * (one.high - one.saving)


def test_totals_fall_with_the_open_nights(panel):
    """Fewer open nights make the open total small: by 4 of 14, what is saved turns into a loss."""
    put(panel)
    fair, total = panel.saving(MODEL), panel.saving(TOTALS)
    put(panel, open_nights=4)
    assert panel.saving(TOTALS) < 0 < total and abs(panel.saving(MODEL) - fair) < 5


def test_a_known_base_load_shrinks_the_unfair_ways_alone(panel):
    """By hand for “per day”: 300 W is 7.2 kWh a day, on both sides of the ratio."""
    put(panel)
    before = [panel.saving(way) for way in range(6)]
    days = panel._compared()
    mean = days.groupby("label")["kwh"].mean()
    put(panel, load=300)
    after = [panel.saving(way) for way in range(6)]
    for way in (TOTALS, DAY, DEGREE):
        assert after[way] < before[way] - 2
    for way in (MODEL, LINE, HEAT):
        assert after[way] == pytest.approx(before[way], abs=1e-6)
    assert after[DAY] == pytest.approx(100 * (1 - (mean["covered"] + 7.2) / (mean["open"] + 7.2)), abs=1e-6)


def test_every_way_stands_on_the_picture(panel):
    put(panel)
    figure = panel.redraw(**START)[0]
    assert list(figure.numbers) == list(two_spells.NAMES) and len(two_spells.METHODS) == len(two_spells.NAMES)
    for name, way in zip(two_spells.NAMES, two_spells.METHODS):
        assert name in figure.description and name.startswith("Fair") is way.fair
    assert figure.svg.count("%") >= 6


@pytest.mark.parametrize("name", some_of(START, 1))
def test_extremes(panel, name):
    control = panel.controls[name]
    ends = two_spells.HANDLED if name == "forgotten" else (control.least, control.most)
    for value in ends:
        put(panel, **{name: value})
        assert "nan" not in panel.sentence() and "nan" not in panel.picture.value
    put(panel, open_nights=3, covered_nights=3, load=300, forgotten="kept")
    assert "too few nights" in panel.picture.value  # for a line through the weather


def test_what_was_put_in_is_printed(capsys, panel):
    put(panel)
    two_spells.print_truth()
    said = capsys.readouterr().out
    assert f"saves {true_saving():.0f} %" in said and "27 January" in said
    rows = {re.split(r"  +", line)[0]: line for line in said.splitlines()[2:]}
    assert list(rows) == list(two_spells.NAMES)
    for name, one in zip(two_spells.NAMES, panel.found.outcomes):
        inside = one.low <= true_saving() / 100 <= one.high
        assert ("contains it" in rows[name]) is inside and f"{100 * one.saving:.0f} %" in rows[name]


def test_the_plan_is_the_librarys(capsys, panel):
    put(panel)
    two_spells.print_plan()
    said = capsys.readouterr().out
    first = panel.found.outcomes[MODEL]
    for share in two_spells.TO_SHOW:
        needed = planning.nights_needed((first.high - first.low) / 2, 27, share)
        assert re.search(rf"^{100 * share:.0f} % +{needed} nights$", said, re.M)
    order = " ".join(said.split()).split("at random: ")[1].split(";")[0].split(", ")
    assert len(order) == 6 and order.count("open") == 3
    assert "Without any cover" in said


# --- a reader's own two spells

LOGS = two_spells.LOGS
OPEN_LOG, COVERED_LOG = (LOGS / name for name in (two_spells.OPEN_LOG, two_spells.COVERED_LOG))


def typed(own, control, text):
    control._answer(None, {"asked": "test:1", "typed": text}, [])
    own.wait()
    return own.progress_line.value


def sent(own, part, content):
    file = own.files[part]
    file._answer(None, {"asked": "test:1", "name": f"{part}.csv", "size": len(content)}, [])
    file._answer(None, {"asked": "test:2", "at": 0}, [content])
    own.wait()
    return own.progress_line.value


def test_own_spells_by_path_and_by_upload_say_the_same():
    by_path, by_upload = OwnSpells(), OwnSpells()
    said = typed(by_path, by_path.paths, f"{OPEN_LOG}; {COVERED_LOG}")
    assert "Still needed: the log of the covered nights." in sent(by_upload, "open", OPEN_LOG.read_bytes())
    assert sent(by_upload, "covered", COVERED_LOG.read_bytes()) == said
    verdict = savings_comparison.compare_files(OPEN_LOG, COVERED_LOG, sheets.read(PONDS / "garden_pond.toml")).verdict
    assert verdict.replace("with --weather", "above") in html.unescape(said) and "--weather" not in said
    assert (
        "The pond is the invented garden pond" in by_path.result.value and "Six ways to compare" in by_path.result.value
    )


def test_own_spells_take_the_readers_sheet_and_weather(tmp_path):
    own = OwnSpells()
    weather = tmp_path / "days.csv"
    record = assessment.weather_of(sheets.read(PONDS / "garden_pond.toml")).hours
    winter = record[(record.index.month <= 2)]
    lines = [
        f"{time:%Y-%m-%d %H:%M},{row.air_temp:.2f},{100 * row.rel_humidity:.1f},{row.wind_speed:.2f},"
        f"{max(row.solar, 0):.1f},{100 * row.cloud_cover:.0f}"
        for time, row in winter.rename(lambda at: at.replace(year=2026)).iterrows()
    ]
    weather.write_text(
        "time,air_temp [°C],rel_humidity [%],wind_speed [m/s at 10 m],solar [W/m²],cloud_cover [%]\n" + "\n".join(lines)
    )
    said = typed(own, own.paths, f"{OPEN_LOG};{COVERED_LOG};{weather};{PONDS / 'garden_pond.toml'}")
    assert "Shown: over" in said and "only a trial" not in said
    assert "<ul></ul>" not in own.result.value and "invented garden pond: give" not in own.result.value


def test_own_spells_say_what_is_wrong_and_lose_nothing():
    own = OwnSpells()
    assert "Write two to four paths" in typed(own, own.paths, "  ")
    typed(own, own.paths, f"{OPEN_LOG}; {COVERED_LOG}")
    assert "No number was found in “lots”" in typed(own, own.load, "lots")
    assert "was not understood" in typed(own, own.more, "no idea")
    typed(own, own.load, "0")
    good = typed(own, own.more, "")
    assert "nights the cover saved" in good
    assert "quotation marks: length = &quot;4 m&quot;" in sent(own, "sheet", b"length = 4 m\n")
    del own.given["sheet"]
    assert "a day of hours" in sent(own, "weather", b"time,air_temp [degC]\n2026-01-01 00:00,3\n")
    del own.given["weather"]
    for nonsense in (b"\x00\x01\x02", b"<script>alert(1)</script>", b"time,kWh\n"):
        assert "ph-fault" in sent(own, "covered", nonsense) and "<script" not in own.progress_line.value
    assert sent(own, "covered", COVERED_LOG.read_bytes()) == good


def test_own_spells_text_form_is_the_same_for_everyone():
    own = OwnSpells()
    typed(own, own.paths, f"{OPEN_LOG}; {COVERED_LOG}")
    assert own._repr_mimebundle_()["text/plain"] == OwnSpells.NOTHING
