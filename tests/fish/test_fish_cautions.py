"""The cautions: all there, short, plain, and deferring to those who may decide."""

import re

import pytest

from pondheat.fish.cautions import CAUTIONS, STANDING, Caution

WHO_DECIDES = {
    "electricity": "licensed electrician", "burning": "licensed fitters", "refrigerant": "certified technician",
    "structure_and_wind": "structural engineer", "legionella": "local health authority", "fish_disease": "fish vet",
}


def test_the_standing_sentence_is_one_sentence_that_defers():
    assert STANDING.count(".") == 1 and STANDING.endswith("decide.")
    assert "local code" in STANDING and "licensed" in STANDING


def test_all_nine_are_there():
    assert set(CAUTIONS) == {"electricity", "children", "gas_exchange", "burning", "refrigerant", "structure_and_wind",
                             "legionella", "fish_disease", "power_cut"}


@pytest.mark.parametrize("key", CAUTIONS)
def test_short_and_plain(key):
    text = CAUTIONS[key].text
    assert len(text.split()) <= 60
    assert max(len(sentence.split()) for sentence in re.split(r"[.:]\s", text)) <= 24
    assert "!" not in text and WHO_DECIDES.get(key, "") in text


def test_both_ranges_for_legionella_and_the_distance_of_a_generator():
    assert "between 20 and 45 °C" in CAUTIONS["legionella"].text and "HSE" in CAUTIONS["legionella"].text
    assert "between 25 and 45 °C" in CAUTIONS["legionella"].text and "CDC" in CAUTIONS["legionella"].text
    assert "20 ft" in CAUTIONS["burning"].text


def test_a_power_cut_is_air_first_and_heat_last():
    text = CAUTIONS["power_cut"].text
    assert text.startswith("Air first") and text.index("vent open") < text.index("Heat comes last")


def test_sources_must_be_in_the_bibliography():
    with pytest.raises(KeyError):
        Caution("title", "text", ("hearsay",))
