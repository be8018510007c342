"""The learner's copy: what is added, replaced and kept, and that nothing of the learner's is ever lost."""

import json
import os

import pytest

from pondheat.front_door import copying


def notebook(code, text="# A page", outputs=(), **metadata):
    cells = [
        {"cell_type": "markdown", "metadata": {}, "source": [text]},
        {"cell_type": "code", "metadata": {}, "source": code, "outputs": list(outputs), "execution_count": None},
    ]
    return json.dumps({"cells": cells, "metadata": metadata, "nbformat": 4, "nbformat_minor": 5})


class Rooms:
    """A shipped workbook and a learner's folder, with one page in it."""

    def __init__(self, place):
        self.workbook, self.folder = place / "workbook", place / "my workbook ö"
        self.page, self.own = self.workbook / "01_page.ipynb", self.folder / "01_page.ipynb"
        self.known = {}
        self.ship(notebook("old = 1"))

    def ship(self, text):
        self.workbook.mkdir(exist_ok=True)
        self.page.write_text(text, encoding="utf-8")
        self.known = copying.brought_up_to_date(self.known, self.workbook)

    def update(self):
        return copying.bring_up_to_date(self.workbook, self.folder, self.known)


@pytest.fixture
def rooms(tmp_path):
    made = Rooms(tmp_path)
    made.update()
    return made


def test_first_copy_holds_pages_pictures_cards_and_glossary_but_not_the_tutors_notes(tmp_path):
    rooms = Rooms(tmp_path)
    for name in (
        "cards/card.html",
        "glossary.md",
        "pictures/pond.svg",
        "tutor/01_page.md",
        ".ipynb_checkpoints/01_page.ipynb",
        "x.txt",
    ):
        (rooms.workbook / name).parent.mkdir(exist_ok=True)
        (rooms.workbook / name).write_text("x")
    outcome = rooms.update()
    assert outcome.added == ["01_page.ipynb", "cards/card.html", "glossary.md", "pictures/pond.svg"]
    assert rooms.own.read_bytes() == rooms.page.read_bytes()
    found = {path.relative_to(rooms.folder).as_posix() for path in rooms.folder.rglob("*") if path.is_file()}
    assert found == {*outcome.added, copying.MANIFEST}  # nothing half-written is left


def test_a_second_time_nothing_happens(rooms):
    before = {path: path.stat().st_mtime_ns for path in rooms.folder.rglob("*.ipynb")}
    assert rooms.update() == copying.Outcome()
    assert {path: path.stat().st_mtime_ns for path in rooms.folder.rglob("*.ipynb")} == before


def test_outputs_counts_and_metadata_are_no_change(rooms):
    printed = {"output_type": "stream", "name": "stdout", "text": "x"}
    rooms.own.write_text(notebook("old = 1", outputs=[printed], kernel=1))
    rooms.ship(notebook("new = 2"))
    assert rooms.update().replaced == ["01_page.ipynb"]
    assert "new = 2" in rooms.own.read_text()
    assert not (rooms.folder / copying.EARLIER).exists()


def test_changed_code_is_kept_and_named_also_when_something_newer_is_there(rooms):
    rooms.own.write_text(notebook("mine = 3"))
    assert rooms.update().kept == ["01_page.ipynb"]
    rooms.ship(notebook("new = 2"))
    assert rooms.update().kept == ["01_page.ipynb"]
    assert "mine = 3" in rooms.own.read_text()


def test_what_the_learner_wrote_between_the_code_is_set_aside_before_the_page_is_replaced(rooms):
    rooms.own.write_text(notebook("old = 1", text="# A page\nMy own pond loses more."))
    assert rooms.update() == copying.Outcome()  # nothing newer: the note stays where it is
    rooms.ship(notebook("new = 2"))
    outcome = rooms.update()
    assert outcome.replaced == ["01_page.ipynb"]
    assert outcome.set_aside == {"01_page.ipynb": "earlier/01_page.ipynb"}
    assert "My own pond" in (rooms.folder / "earlier" / "01_page.ipynb").read_text()
    rooms.own.write_text(notebook("new = 2", text="A second note."))
    rooms.ship(notebook("newest = 3"))
    assert rooms.update().set_aside == {"01_page.ipynb": "earlier/01_page-2.ipynb"}
    assert "My own pond" in (rooms.folder / "earlier" / "01_page.ipynb").read_text()


def test_a_better_text_with_the_same_code_is_taken_over(rooms):
    rooms.ship(notebook("old = 1", text="# A better page"))
    assert rooms.update().replaced == ["01_page.ipynb"]
    assert "better" in rooms.own.read_text() and not (rooms.folder / copying.EARLIER).exists()


@pytest.mark.parametrize("manifest", [None, "", "{", "[1]", '{"01_page.ipynb": {"code": 1}}'])
def test_without_a_readable_manifest_every_shipped_version_is_still_known(rooms, manifest):
    if manifest is None:
        (rooms.folder / copying.MANIFEST).unlink()
    else:
        (rooms.folder / copying.MANIFEST).write_text(manifest)
    rooms.ship(notebook("new = 2"))
    rooms.ship(notebook("newest = 3"))
    assert rooms.update().replaced == ["01_page.ipynb"]
    assert "newest = 3" in rooms.own.read_text()
    assert "old = 1" in (rooms.folder / "earlier" / "01_page.ipynb").read_text()  # its text may have been the learner's


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"{",
        b"[]",
        b'{"cells": 3}',
        b'{"cells": [{}]}',
        b"\xff\xfe",
        b"null",
        b'{"cells": [{"cell_type": "code", "source": [1]}]}',
        b"[" * 100_000,
    ],
)
def test_a_page_that_cannot_be_read_is_kept_and_named(rooms, content):
    rooms.own.write_bytes(content)
    rooms.ship(notebook("new = 2"))
    assert rooms.update().unreadable == ["01_page.ipynb"]
    assert rooms.own.read_bytes() == content


def test_a_folder_or_a_dead_link_in_a_pages_place_is_kept(rooms):
    rooms.own.unlink()
    rooms.own.mkdir()
    assert rooms.update().unreadable == ["01_page.ipynb"]
    rooms.own.rmdir()
    if os.name == "posix":
        rooms.own.symlink_to(rooms.folder / "nowhere")
        assert rooms.update().unreadable == ["01_page.ipynb"]
        assert rooms.own.is_symlink()


def test_a_deleted_page_comes_back_and_the_learners_other_files_stay(rooms):
    rooms.own.unlink()
    (rooms.folder / "progress.json").write_text("{}")
    assert rooms.update().added == ["01_page.ipynb"]
    assert (rooms.folder / "progress.json").read_text() == "{}"


def test_pictures_are_replaced_unless_the_learner_changed_them(rooms):
    picture, own = rooms.workbook / "pond.svg", rooms.folder / "pond.svg"
    for shipped, replaced in (("<svg>1</svg>", []), ("<svg>2</svg>", ["pond.svg"])):
        picture.write_text(shipped)
        assert rooms.update().replaced == replaced
        assert own.read_text() == shipped
    own.write_text("<svg>mine</svg>")
    picture.write_text("<svg>3</svg>")
    assert rooms.update().kept == ["pond.svg"]
    assert own.read_text() == "<svg>mine</svg>"


def test_a_write_that_fails_leaves_the_old_file_and_no_rubbish(rooms, monkeypatch):
    def fails(*_):
        raise OSError(28, "No space left on device")

    before = rooms.own.read_bytes()
    rooms.ship(notebook("new = 2"))
    monkeypatch.setattr(os, "replace", fails)
    with pytest.raises(OSError, match="No space"):
        rooms.update()
    assert rooms.own.read_bytes() == before
    assert [path.name for path in rooms.folder.glob(".writing-*")] == []


def test_fingerprint_sees_code_only():
    same = copying.notebook_prints(notebook("x = 1"))
    assert copying.notebook_prints(notebook(["x", " = 1"], text="other")).code == same.code  # a source may be in lines
    assert copying.notebook_prints(notebook("x = 2")).code != same.code
    blank = json.loads(notebook("x = 1"))
    blank["cells"].append({"cell_type": "code", "source": " \n"})
    assert copying.notebook_prints(json.dumps(blank)).code == same.code
    split = json.loads(notebook("x = 1\ny = 2"))
    two = json.loads(notebook("x = 1"))
    two["cells"].append({"cell_type": "code", "source": "y = 2"})
    assert copying.notebook_prints(json.dumps(split)).code != copying.notebook_prints(json.dumps(two)).code


def test_the_learner_is_told():
    outcome = copying.Outcome(
        added=["18_new.ipynb"],
        replaced=["02_b.ipynb"],
        kept=["03_c.ipynb"],
        set_aside={"02_b.ipynb": "earlier/02_b.ipynb"},
        unreadable=["04_d.ipynb"],
    )
    said = copying.sentences(outcome, "my-workbook", first_time=False)
    assert said == [
        "New in your copy: 18_new.ipynb.",
        "Brought up to date: 02_b.ipynb.",
        "Your earlier 02_b.ipynb, with what you wrote in it, is kept as earlier/02_b.ipynb.",
        "Kept as you changed them (a changed page does not run by itself): 03_c.ipynb.",
        "Kept, although they cannot be read: 04_d.ipynb.",
    ]
    assert copying.sentences(copying.Outcome(added=["a"]), "my-workbook", True) == [
        "Your own copy of the workbook was made in my-workbook."
    ]
    assert copying.sentences(copying.Outcome(), "my-workbook", False) == []
