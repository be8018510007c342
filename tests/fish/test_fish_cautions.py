"""The cautions: complete, short, plain, and deferring to those who decide."""

import re
from pathlib import Path

import pytest

from pondheat.core.display_units import METRIC
from pondheat.core.places import CLONE
from pondheat.fish import cautions
from pondheat.fish.cautions import CAUTIONS, STANDING, Caution

WHO_DECIDES = {
    "electricity": "licensed electrician",
    "burning": "licensed fitters",
    "refrigerant": "certified technician",
    "structure_and_wind": "structural engineer",
    "legionella": "local health authority",
    "fish_disease": "fish vet",
}


def test_the_standing_sentence_is_one_sentence_that_defers():
    assert STANDING.count(".") == 1 and STANDING.endswith("decide.")
    assert "local code" in STANDING and "licensed" in STANDING


def test_all_ten_are_there():
    assert set(CAUTIONS) == {
        "electricity",
        "children",
        "gas_exchange",
        "ice",
        "burning",
        "refrigerant",
        "structure_and_wind",
        "legionella",
        "fish_disease",
        "power_cut",
    }


@pytest.mark.parametrize("key", CAUTIONS)
def test_short_and_plain(key):
    text = CAUTIONS[key].text
    assert len(text.split()) <= 60
    assert max(len(sentence.split()) for sentence in re.split(r"[.:]\s", text)) <= 24
    assert "!" not in text and WHO_DECIDES.get(key, "") in text


def test_both_ranges_for_legionella_and_the_distance_of_a_generator():
    assert "between [20 and 45 °C]" in CAUTIONS["legionella"].text and "HSE" in CAUTIONS["legionella"].text
    assert "between [25 and 45 °C]" in CAUTIONS["legionella"].text and "CDC" in CAUTIONS["legionella"].text
    assert "20 ft" in CAUTIONS["burning"].text


def test_a_power_cut_is_air_first_and_heat_last():
    text = CAUTIONS["power_cut"].text
    assert text.startswith("Air first") and text.index("vent open") < text.index("Heat comes last")


def test_sources_must_be_in_the_bibliography():
    with pytest.raises(KeyError):
        Caution("title", "text", ("hearsay",))


def test_the_cautions_of_a_report_have_all_their_text_under_five_headings():
    shown, keys = cautions.report_cautions(), cautions.REPORT_KEYS
    assert len({caution.title for caution in shown}) == len(shown) == 5
    assert keys == ("electricity", "children", "gas_exchange", "structure_and_wind", "burning", "refrigerant")
    whole = " ".join(caution.text for caution in shown)
    for key in keys:
        assert CAUTIONS[key].text in whole
    assert shown[0] == CAUTIONS["electricity"]
    assert shown[4] == Caution(
        "Burning anything, heat pumps",
        f"{CAUTIONS['burning'].text} {CAUTIONS['refrigerant'].text}",
        (*CAUTIONS["burning"].sources, *CAUTIONS["refrigerant"].sources),
    )


def test_the_readme_has_the_same_text():
    section = (CLONE / "README.md").read_text(encoding="utf-8").split("## Cautions\n")[1].split("\n## ")[0]
    sick = CAUTIONS["fish_disease"]
    points = [f"- **{caution.title}.** {caution.text}" for caution in [*cautions.report_cautions(), sick]]
    assert section.strip() == METRIC.with_alt_units("\n".join([STANDING, "", *points]))


def test_the_text_is_a_file_that_is_packed_with_the_code():
    text = CLONE / "pondheat" / "fish" / "cautions.toml"
    assert Path(cautions.__file__).parent == text.parent
    assert " ".join(STANDING.split()[:5]) in text.read_text(encoding="utf-8")
    ignored = (CLONE / ".gitignore").read_text(encoding="utf-8").split()
    assert not any(text.match(pattern) for pattern in ignored if pattern != "#")  # the wheel lacks what git ignores
    for caution in CAUTIONS.values():
        assert caution.text == " ".join(caution.text.split()) and caution.title and caution.sources
