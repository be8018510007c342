"""The line through nights: moved by drags and keys, undone, checked against numpy, and drawn where its numbers are."""

import re
import xml.etree.ElementTree as tree
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from pondheat.analysis import assessment
from pondheat.core import units
from pondheat.core.number_format import unbroken
from pondheat.meter.savings.degree_line import fitted_line, savings_of_nights
from pondheat.show import line_fit, ponds
from pondheat.show.line_fit import ACTIONS, BEST, HANDLES, HOW, OWN, START, STEPS, WITH_COVERED
from pondheat.show.panels import night_line, two_spells
from pondheat.show.pictures import nights as picture
from pondheat.show.pictures.palette import COVERED, OPEN

SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module")
def made():
    return night_line.NightLine()


@pytest.fixture
def panel(made):
    """The panel as it opens."""
    made.controls["milder"].value = night_line.MILDER
    made.fit.stage, made.fit.ends, made.fit._past = OWN, list(START), []
    return made


def send(panel, **message):
    panel.fit._answer(None, message, [])
    assert panel.error.value == ""


def go_on(panel, stage):
    while panel.fit.stage != stage:
        send(panel, next=True)


# --- moving the line


def test_a_drag_moves_the_line_and_its_sentence(panel):
    send(panel, grip=1)
    for used in (90.0, 117.4, 131.0):  # on the way
        panel.fit.ends = [80.0, used]
    send(panel, settled=1)
    assert panel.fit.ends == [80.0, 131.0] and panel.fit.may_undo
    slope = (131 - 80) / (HANDLES[1] - HANDLES[0])
    for warmer in night_line.SAID_AT:
        assert f"{units.digits(80 + slope * (warmer - HANDLES[0]))} kWh" in panel.sentence()
    opened = panel.fit.opened
    misses = opened["used"] - (80 + slope * (opened["warmer"] - HANDLES[0]))
    assert f"misses a night by {np.sqrt((misses**2).mean()):.1f} kWh" in panel.sentence()
    assert f"sum of squares {units.digits((misses**2).sum())}" in panel.sentence()
    assert unbroken(panel.sentence()) in panel.fit.says and 'role="status"' in panel.fit.says
    send(panel, undo=True)
    assert panel.fit.ends == list(START) and not panel.fit.may_undo


def test_each_key_moves_the_focused_handle_alone(panel):
    for key, change in {"ArrowUp": 1, "ArrowRight": 1, "ArrowDown": -1, "ArrowLeft": -1, "PageUp": 10}.items():
        for at in (0, 1):
            panel.fit.ends = [80.0, 100.0]
            send(panel, key=key, at=at)
            wanted = [80.0, 100.0]
            wanted[at] += change
            assert panel.fit.ends == wanted, key
    send(panel, key="Home", at=0)
    send(panel, key="End", at=1)
    assert panel.fit.ends == [0.0, picture.MOST_USED]
    send(panel, key="PageDown", at=0)
    assert panel.fit.ends[0] == 0.0


def test_moves_are_undone_one_by_one_and_a_press_without_a_move_is_none(panel):
    send(panel, key="ArrowUp", at=0)
    send(panel, grip=1)
    send(panel, settled=1)  # pressed, and let go where it was
    send(panel, key="PageDown", at=1)
    seen = [list(panel.fit.ends)]
    while panel.fit.may_undo:
        send(panel, undo=True)
        seen.append(list(panel.fit.ends))
    assert seen == [[81.0, 70.0], [81.0, 80.0], [80.0, 80.0]]
    send(panel, undo=True)
    assert panel.fit.ends == list(START)


def test_nonsense_leaves_the_line_where_it_is(panel):
    for message in ({"key": "Enter", "at": 0}, {"key": "ArrowUp", "at": 7}, {"key": "ArrowUp"}, {}):
        send(panel, **message)
        assert panel.fit.ends == list(START)
    for wanted, taken in (
        ([float("nan"), 3.0], list(START)),
        ([1.0], list(START)),
        ([-9.0, 1e9], [0.0, picture.MOST_USED]),
    ):
        panel.fit.ends = wanted
        assert panel.fit.ends == taken
        panel.fit.ends = list(START)


# --- the best line


def test_the_best_line_is_numpys_and_no_line_comes_nearer(panel):
    go_on(panel, BEST)
    opened = panel.fit.opened
    slope, start = np.polyfit(opened["warmer"], opened["used"], 1)
    assert (panel.fit.best.per_kelvin, panel.fit.best.at_zero) == pytest.approx((slope, start), rel=1e-9)
    root = np.sqrt(((opened["used"] - start - slope * opened["warmer"]) ** 2).mean())
    assert f"The best line typically misses a night by {root:.1f} kWh, yours by" in panel.sentence()
    at_handles = [float(panel.fit.best.at(warmer)) for warmer in HANDLES]
    panel.fit.ends = at_handles  # to half a kWh
    assert "yours does as well" in panel.sentence()
    for change in (-3.0, 3.0):
        panel.fit.ends = [at_handles[0] + change, at_handles[1]]
        assert panel.miss() > panel.miss(of_best=True)
    covered = panel.fit.covered
    slope, start = np.polyfit(covered["warmer"], covered["used"], 1)
    assert (panel.fit.best_covered.per_kelvin, panel.fit.best_covered.at_zero) == pytest.approx((slope, start))


def test_the_scatter_is_the_weathers(panel):
    """The sentence names the furthest night and its wind; over the winter, windy nights are above the line."""
    go_on(panel, BEST)
    misses = panel.fit.misses(panel.fit.best)
    night = panel.fit.opened.iloc[int(np.abs(misses).argmax())]
    assert f"{night['night']} is {units.digits(np.abs(misses).max())} kWh" in panel.sentence()
    assert f"{night['wind']:.1f} m/s of wind" in panel.sentence()
    winter = panel.winter
    left = winter["open"] - np.polyval(np.polyfit(winter["warmer"], winter["open"], 1), winter["warmer"])
    assert np.corrcoef(left, winter["wind"])[0, 1] > 0.5


# --- the covered nights


def test_stages_follow_each_other_and_start_again(panel):
    assert panel.steps.layout.display == "none"
    for stage in (OWN, BEST, WITH_COVERED):
        assert (panel.fit.stage, panel.fit.action, panel.fit.how) == (stage, ACTIONS[stage], HOW[stage])
        assert panel.steps.layout.display == ("" if stage == WITH_COVERED else "none")
        send(panel, next=True)
    assert panel.fit.stage == OWN and panel.fit.ends == list(START)


@pytest.mark.parametrize("milder", range(7))
def test_the_saving_is_read_at_the_covered_nights_weather(panel, milder):
    go_on(panel, WITH_COVERED)
    panel.controls["milder"].value = milder
    assert panel.error.value == ""
    opened, covered = panel.fit.opened, panel.fit.covered
    assert opened["warmer"].mean() - covered["warmer"].mean() == pytest.approx(milder, abs=0.3)
    assert not set(opened["night"]) & set(covered["night"]) and len(covered) == len(opened) == night_line.NIGHTS
    slope, start = np.polyfit(opened["warmer"], opened["used"], 1)
    would, took = start + slope * covered["warmer"].mean(), covered["used"].mean()
    average = 1 - took / opened["used"].mean()
    degree = 1 - (covered["used"].sum() / covered["warmer"].sum()) / (opened["used"].sum() / opened["warmer"].sum())
    for share in (1 - took / would, average, degree, panel.true_saving):
        assert f"{units.digits(100 * share)} %" in panel.sentence()
    assert f"the open line reads {units.digits(would)} kWh, and they used {units.digits(took)} kWh" in panel.sentence()


@pytest.mark.long
def test_the_lesson_does_not_hang_on_one_draw(panel):
    """Of thirty draws: equally cold nights err little by all ways; with milder ones, the line errs by far the least."""
    wrong = {}
    for milder in (0, 4, 6):
        found = []
        for seed in range(30):
            opened = night_line.drawn_nights(panel.winter, seed)
            covered = night_line.milder_nights(panel.winter, opened, milder)
            ways = savings_of_nights(opened["warmer"], opened["open"], covered["warmer"], covered["covered"])
            true = 1 - covered["covered"].sum() / covered["open"].sum()
            found.append(100 * (np.array([ways.by_line, ways.by_average, ways.per_degree]) - true))
        wrong[milder] = np.mean(found, axis=0)
    assert np.abs(wrong[0]).max() < 1
    for milder in (4, 6):
        line, average, degree = wrong[milder]
        assert average > 5 and degree < -5 and abs(line) < min(average, -degree) / 3
    whole = fitted_line(panel.winter["warmer"], panel.winter["open"])
    assert panel.fit.best.at_zero == pytest.approx(whole.at_zero, abs=5)
    assert panel.fit.best.per_kelvin == pytest.approx(whole.per_kelvin, abs=0.2)
    assert wrong[6][1] > wrong[4][1] + 2 and wrong[6][2] < wrong[4][2] - 1


def test_right_choice_is_borne_out(panel):
    go_on(panel, WITH_COVERED)
    assert two_spells.RIGHT == "large" and set(two_spells.WORDS) == set(two_spells.OPTIONS) - {"large"}
    savings, true = panel.savings, panel.true_saving
    assert savings.by_average > true + 0.05 and savings.per_degree < true - 0.03
    assert abs(savings.by_line - true) < 0.025


def test_arithmetic_ends_in_the_number_shown(panel):
    for stage in (OWN, BEST):
        go_on(panel, stage)
        *_, last = panel.arithmetic().lines
        shown = units.digits(panel.miss(of_best=stage == BEST), 1)
        assert last[2] == f"shown above as {shown} kWh" and f"{shown} kWh" in panel.sentence()
        assert float(last[1].removesuffix(" kWh")) == pytest.approx(float(shown), abs=0.05)
    go_on(panel, WITH_COVERED)
    *_, last = panel.arithmetic().lines
    shown = f"{units.digits(100 * panel.savings.by_line)} %"
    assert last[2] == f"shown above as {shown}" and f"the line says the cover saved {shown}" in panel.sentence()
    assert last[1].endswith(f"= {units.significant(100 * panel.savings.by_line, 3)} %")


def test_the_nights_are_the_librarys(panel):
    """A winter of heat at the heater, added up night by night, is the season's own sum with a heater that can."""
    winter = panel.winter
    assert len(winter) > 140 and (winter["covered"] <= winter["open"] + 0.1).all()
    sheet = replace(ponds.invented(), start=night_line.FIRST, end=night_line.LAST)
    place = assessment.boundary_conditions(sheet, assessment.weather_of(sheet))
    for kind in ("open", "covered"):
        season = assessment.run_season(sheet, place, covered=kind == "covered")
        # The season's first and last half nights aren't whole, and a warm afternoon heats the water above 18 °C there.
        assert winter[kind].sum() == pytest.approx(season.heat_kwh, rel=0.04)


# --- the picture and the table


def number(node, name):
    return float(node.get(name))


def test_points_and_lines_are_drawn_at_their_numbers(panel):
    go_on(panel, WITH_COVERED)
    root = tree.fromstring(panel.fit.svg)
    px, top = picture.PLOT_HEIGHT / picture.MOST_USED, picture.TOP
    kelvin = picture.PLOT_WIDTH / picture.MOST_WARMER

    def numbers(x, y):
        return [(x - picture.LEFT) / kelvin, picture.MOST_USED - (y - top) / px]

    rings = [one for one in root.iter(f"{SVG}circle") if one.get("class") == "ph-night"]
    squares = [one for one in root.iter(f"{SVG}rect") if one.get("class") == "ph-night"]
    assert {one.get("stroke") for one in rings} == {OPEN} and {one.get("fill") for one in squares} == {COVERED}
    seen = [numbers(number(one, "cx"), number(one, "cy")) for one in rings]
    assert seen == [pytest.approx(list(row), abs=0.05) for row in panel.fit.points]
    half = number(squares[0], "width") / 2
    seen = [numbers(number(one, "x") + half, number(one, "y") + half) for one in squares]
    wanted = panel.fit.covered[["warmer", "used"]].to_numpy().tolist()
    assert seen == [pytest.approx(row, abs=0.05) for row in wanted]
    best, covered, gap = (
        [numbers(number(one, f"x{end}"), number(one, f"y{end}")) for end in (1, 2)]
        for one in root.iter(f"{SVG}line")
        if one.get("class") == "ph-drawn"
    )
    for drawn, line in ((best, panel.fit.best), (covered, panel.fit.best_covered)):
        for warmer, used in drawn:
            assert used == pytest.approx(line.at(warmer), abs=0.1)
    assert gap[0][1] == pytest.approx(panel.fit.covered["used"].mean(), abs=0.1)
    saved = 1 - gap[0][1] / gap[1][1]
    assert saved == pytest.approx(panel.savings.by_line, abs=0.005)


def test_nothing_lies_outside_the_picture(panel):
    winter = panel.winter
    assert winter["warmer"].between(0, picture.MOST_WARMER).all()
    assert winter[["open", "covered"]].to_numpy().max() < picture.MOST_USED


def test_covered_nights_are_kept_back_until_they_are_asked_for(panel):
    assert COVERED not in panel.fit.svg and "%" not in panel.sentence() and "ph-drawn" not in panel.fit.svg
    go_on(panel, BEST)
    assert COVERED not in panel.fit.svg and panel.fit.svg.count("ph-drawn") == 1


def rows(panel):
    found = re.findall(r"<tr><th scope='row'>([^<]+)</th>((?:<td>[^<]*</td>)+)</tr>", panel.fit.table)
    return {name: re.findall(r"<td>([^<]*)</td>", cells) for name, cells in found}


def test_the_table_holds_every_night_and_its_miss(panel):
    panel.fit.ends = [50.0, 122.0]  # 44 kWh and 3 for each kelvin
    table = rows(panel)
    assert list(table) == list(panel.fit.opened.sort_values("warmer")["night"])
    for night in panel.fit.opened.itertuples():
        kind, warmer, wind, used, says, miss = table[night.night]
        assert (kind, used) == ("open", f"{night.used:.1f}")
        assert (warmer, wind) == (f"{night.warmer:.1f}", f"{night.wind:.1f}")
        assert float(says) == pytest.approx(44 + 3 * night.warmer, abs=0.06)
        assert float(miss.replace("−", "-")) == pytest.approx(night.used - 44 - 3 * night.warmer, abs=0.06)
    go_on(panel, WITH_COVERED)
    assert len(rows(panel)) == 2 * night_line.NIGHTS and "best line says" in panel.fit.table


def test_each_handle_is_a_slider_with_words():
    """What the browser makes of a handle: role, name, limits and a value in words, and the keys that Python knows."""
    script = (Path(line_fit.__file__).parent / "line_fit.js").read_text(encoding="utf-8")
    assert set(re.search(r"KEYS = \[(.+)\]", script)[1].replace('"', "").split(", ")) == {*STEPS, *line_fit.ENDS}
    for needed in ('role: "slider"', 'tabindex: "0"', "aria-label", "aria-valuetext", "aria-valuemin", "aria-valuemax"):
        assert needed in script
