"""Page 14, the reader's own logs in the weather of a town: offered, fetched at a press, then used without the net."""

import pytest

from pondheat.core.places import CLONE
from pondheat.season.weather import stored
from pondheat.show.panels.own_spells import OwnSpells

LOGS = CLONE / "data" / "readings"


@pytest.fixture
def own(tmp_path, services, monkeypatch):
    """The panel with both logs given, in an empty folder."""
    monkeypatch.chdir(tmp_path)
    made = OwnSpells()
    made.given = {
        "open": LOGS / "garden_pond_open.csv",
        "covered": LOGS / "garden_pond_covered_one_forgotten.csv",
    }
    return made


def use(own, town: str) -> str:
    own.town._answer(own.town, {"typed": town, "asked": "1"}, [])
    own.wait(60)
    return own.progress_line.value


@pytest.mark.long
def test_it_is_offered_then_fetched_then_used_offline(own, services, tmp_path):
    assert own.fetch.layout.display == "none"
    said = use(own, "Leeds, GB")
    assert "only a trial" in said and services.requests == []
    assert "NASA POWER" in own.about.value and "2026-02-02" in own.about.value and own.fetch.layout.display == ""
    own.fetch.click()
    own.wait(60)
    assert "only a trial" not in own.progress_line.value and len(services.requests) == 2
    assert own.fetch.layout.display == "none" and "NASA" in own.result.value
    services.how = "error"
    assert "only a trial" not in use(own, "leeds, uk") and len(services.requests) == 2
    assert list((tmp_path / stored.FOLDER).glob("*.csv"))


def test_a_failed_fetch_is_said_and_can_be_tried_again(own, services):
    services.how = "cut"
    use(own, "Leeds, GB")
    own.fetch.click()
    own.wait(60)
    assert "is cut short" in own.progress_line.value
    assert "only a trial" in use(own, "Leeds, GB") and own.fetch.layout.display == ""


def test_an_unknown_town_is_asked_back(own, services):
    assert "Newport, Wales, GB" in use(own, "Newport") and services.requests == []
