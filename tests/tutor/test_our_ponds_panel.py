"""The class's ponds on the tutor's page: the room sees no names, also where a sheet is spoilt."""

import datetime as dt
import shutil

from pondheat.analysis import class_comparison
from pondheat.core.places import PONDS
from pondheat.tutor.our_ponds_panel import OurPonds


def given(panel, folder):
    panel.folder.value = str(folder)
    panel.folder.turn += 1
    panel.wait()
    return panel.progress_line.value


def test_ponds_without_names_and_money_only_if_asked(tmp_path, monkeypatch):
    monkeypatch.setattr(class_comparison, "SEASON", (dt.date(2025, 11, 3), dt.date(2025, 11, 23)))
    for path in PONDS.glob("g*.toml"):
        shutil.copy(path, tmp_path)
    (tmp_path / "Ann <b>.toml").write_text("no sheet", encoding="utf-8")
    panel = OurPonds()
    assert "no figure carries over" in given(panel, tmp_path)
    assert "£" not in panel.result.value and "Ann" not in panel.result.value
    assert "One sheet was left out" in panel.result.value
    assert "carries over" not in panel.result.value  # once on the page, above the picture
    panel.money.value = True
    given(panel, tmp_path)
    assert "£" in panel.result.value


def test_a_folder_that_is_not_there_is_said(tmp_path):
    panel = OurPonds()
    assert "no such folder" in given(panel, tmp_path / "none") and 'role="alert"' in panel.progress_line.value


def test_a_folder_named_in_one_word_is_said_with_its_whole_path(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    assert str(tmp_path / "our-ponds") in given(OurPonds(), "our-ponds")
