"""Questions for reasons: complete, even-handed, and true by the library's own numbers."""

from collections import Counter
from dataclasses import replace

import numpy as np
import pytest

from pondheat.analysis import assessment
from pondheat.core.places import WORKBOOK
from pondheat.heat.surface import convection, evaporation, long_wave_loss
from pondheat.lesson import marking, progress
from pondheat.lesson.questions import BANK
from pondheat.lesson.reasons import REASONS, of_page
from pondheat.money import payback
from pondheat.sheet import pond_sheet
from pondheat.show import ponds
from pondheat.show.reasons import Reasons

MOST_IMPORTANT = ("00", "04", "07", "09", "10", "12", "14", "15")
each = pytest.mark.parametrize("question", REASONS, ids=[one.key for one in REASONS])


@each
def test_a_question_is_whole_and_gives_nothing_away(question):
    assert question.ask.endswith("?") and question.right in question.choices
    assert set(question.replies) == set(question.choices) - {question.right}
    lengths = [len(text) for text in question.choices.values()]
    assert len(lengths) == 3 and max(lengths) <= 1.6 * min(lengths), lengths
    for reply in question.replies.values():
        assert ". But " in reply and 12 <= len(reply.split()) <= 40 and reply.endswith("."), reply


def test_the_right_reason_is_in_every_place_and_of_every_length():
    places = Counter(list(one.choices).index(one.right) for one in REASONS)
    assert max(places.values()) <= 0.45 * len(REASONS) and min(places[place] for place in range(3)) >= 3, places
    longest = sum(len(one.choices[one.right]) == max(map(len, one.choices.values())) for one in REASONS)
    assert longest <= len(REASONS) / 2


def test_the_most_important_pages_ask_two_each_and_keys_are_their_own():
    asked = Counter(one.notebook[:2] for one in REASONS if not one.again)
    assert {page: asked[page] for page in MOST_IMPORTANT} == dict.fromkeys(MOST_IMPORTANT, 2)
    assert len({one.key for one in REASONS}) == len(REASONS) and not {one.key for one in REASONS} & set(BANK)


@pytest.mark.parametrize("idea", ("surface", "hours covered", "same weather"))
def test_the_three_main_ideas_are_tested_again_on_a_later_page_in_another_dress(idea, tmp_path):
    about = [one for one in REASONS if one.idea == idea]
    first = min(one.notebook for one in about if not one.again)
    again = [one for one in about if one.again]
    assert again and all(one.notebook > first for one in again)
    for one in again:
        shown = [part.question for part in Reasons(one.notebook, tmp_path, again=True).parts]
        assert one in shown and one not in [part.question for part in Reasons(one.notebook, tmp_path).parts]
        page = next(WORKBOOK.glob(f"{one.notebook[:2]}_*.ipynb")).read_text(encoding="utf-8")
        assert f'reasons(\\"{one.notebook}\\", again=True)' in page


def test_a_choice_is_replied_to_and_kept(tmp_path):
    page = Reasons("07_covers", tmp_path)
    first, question = page.parts[0], page.parts[0].question
    assert question.ask in page._repr_mimebundle_()["text/plain"] and not (tmp_path / progress.NAME).exists()
    wrong = next(iter(question.replies))
    first.guess.value = wrong
    assert "here&#x27;s why many people think so" in first.reply.value
    assert progress.load(tmp_path).answers == {question.key: marking.MISCONCEPTION}
    first.guess.value = question.right
    assert first.RIGHT in first.reply.value
    assert progress.load(tmp_path).answers == {question.key: marking.RIGHT}


def test_a_page_without_such_questions_has_none():
    assert of_page("01_power_energy_money") == ()


# --- what they say, worked out by the library ---


def test_wind_leaves_radiation_alone_and_cloud_leaves_the_rest():
    water, air, damp = 18.0, 8.0, 0.8
    calm, windy = ([route(water, air, damp, wind) for route in (evaporation, convection)] for wind in (1.0, 5.0))
    assert windy[0] > 1.5 * calm[0] and windy[1] > 1.5 * calm[1]
    clear, overcast = (long_wave_loss(water, air, damp, cloud) for cloud in (0.0, 1.0))  # neither takes the wind
    assert clear > max(calm) and overcast < 0.7 * clear


def test_degree_days_of_two_months_with_one_mean():
    steady, swinging = np.full(30, 4.0), np.tile([-2.0, 10.0], 15)
    guard, pond = 4.0, 18.0
    assert steady.mean() == swinging.mean()
    assert np.maximum(guard - steady, 0).sum() == 0 < np.maximum(guard - swinging, 0).sum() == 90
    assert np.maximum(pond - swinging, 0).sum() == pytest.approx(30 * (pond - swinging.mean()))


def test_twice_the_depth_halves_the_fall_but_not_the_end():
    def fall(hours, deeper=1):
        return BANK["10.2"].right(lead=10.0, capacity=14.0 * deeper, loss=0.25, hours=hours)

    assert fall(3, deeper=2) / fall(3) == pytest.approx(0.5, abs=0.02)
    assert fall(24 * 60) == pytest.approx(10.0, rel=0.001) and fall(24 * 60, deeper=2) == pytest.approx(10.0, rel=0.001)
    assert fall(5) > fall(55) - fall(50)


def test_twice_the_depth_costs_about_the_same_and_one_degree_less_saves_all_winter():
    """An open pond without walls, from September to May: nothing but its depth or its temperature changed."""
    heat = {}
    for volume, temp in ((12, 18), (24, 18), (12, 17)):
        sheet = pond_sheet.from_text(
            pond_sheet.with_values(
                ponds.invented_text(),
                {
                    "pond": {
                        "surface_area": "10 m²",
                        "volume": f"{volume} m³",
                        "set_point": f"{temp} °C",
                        "start_temp": f"{temp} °C",
                    },
                    **dict.fromkeys(("wall", "base", "filter", "aeration")),
                    "heater.power": "12 kW",
                },
            )
        )
        sheet = replace(sheet, pond=replace(sheet.pond, walls=()))
        place = assessment.boundary_conditions(sheet, assessment.weather_of(sheet))
        heat[volume, temp] = assessment.run_season(sheet, place, covered=False)
    deep, same, cooler = heat[24, 18].heat_kwh, heat[12, 18].heat_kwh, heat[12, 17].heat_kwh
    assert deep == pytest.approx(same, rel=0.05)
    warm_up = BANK["2.1"].right(volume=12, rise=1)
    assert same - cooler > 20 * warm_up


def test_longer_life_and_lower_interest_are_worth_more():
    price, saving = 450.0, 150.0
    assert price / saving == 3
    assert payback.net_present_value(price, saving, 8, 0.04) > payback.net_present_value(price, saving, 4, 0.04)
    assert payback.net_present_value(price, saving, 8, 0.02) > payback.net_present_value(price, saving, 8, 0.06)


def test_a_night_cover_saves_a_smaller_share_of_money_than_of_units():
    roads = dict(BANK["12.4"].values()[1])
    assert BANK["12.4"].right(**BANK["12.4"].given) < roads["share of the energy"]


def test_half_the_u_value_saves_less_than_twice():
    """A cover that saves more than half cannot be bettered twofold: page 07's panel finds four fifths."""
    open_water = (
        evaporation(18.0, 5.0, 0.8, 1.0) + convection(18.0, 5.0, 0.8, 1.0) + long_wave_loss(18.0, 5.0, 0.8, 0.5)
    )
    saved = {u: 1 - u * (18.0 - 5.0) / open_water for u in (3.1, 1.55)}
    assert saved[3.1] > 0.5 and saved[3.1] < saved[1.55] < 1 < 2 * saved[3.1]


def test_a_better_sheet_for_four_hours_saves_less_than_a_plain_one_all_night():
    """By 7.2's numbers: the open pond loses 2.8 kW by night for fourteen hours, covered 0.7 or half of that."""
    question = BANK["7.2"]
    all_night = question.right(**question.given)
    for hours in (3, 4):
        assert question.right(**{**question.given, "hours": hours, "covered": 0.35}) < 0.5 * all_night


def test_a_wall_half_a_metre_higher_costs_little():
    """4 by 2.5 m, with a plain wall of U 2.1 and 10 K: the new strip beside 2 kW of an open surface."""
    strip = BANK["6.1"].right(area=0.5 * 13, u=2.1, rise=10, floor=10)
    assert strip < 0.1 * 2080
