"""The learner's copy: what is added, replaced and kept; nothing of the learner's is ever lost."""

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


class Folders:
    """A shipped workbook and a learner's folder, with one page in it."""

    def __init__(self, place):
        self.workbook, self.folder = place / "workbook", place / "my workbook ö"
        self.page, self.own = self.workbook / "01_page.ipynb", self.folder / "01_page.ipynb"
        self.known = {}
        self.ship(notebook("old = 1"))

    def ship(self, text):
        self.workbook.mkdir(exist_ok=True)
        self.page.write_text(text, encoding="utf-8")
        self.known = copying.with_present_notebooks(self.known, self.workbook)

    def update(self):
        return copying.update_copy(self.workbook, self.folder, self.known)


@pytest.fixture
def folders(tmp_path):
    made = Folders(tmp_path)
    made.update()
    return made


def test_first_copy_holds_pages_pictures_cards_and_glossary_but_not_the_tutors_notes(tmp_path):
    folders = Folders(tmp_path)
    for name in (
        "cards/card.html",
        "glossary.md",
        "pictures/pond.svg",
        "tutor/01_page.md",
        ".ipynb_checkpoints/01_page.ipynb",
        "x.txt",
    ):
        (folders.workbook / name).parent.mkdir(exist_ok=True)
        (folders.workbook / name).write_text("x")
    result = folders.update()
    assert result.added == ["01_page.ipynb", "cards/card.html", "glossary.md", "pictures/pond.svg"]
    assert folders.own.read_bytes() == folders.page.read_bytes()
    found = {path.relative_to(folders.folder).as_posix() for path in folders.folder.rglob("*") if path.is_file()}
    assert found == {*result.added, copying.MANIFEST}  # nothing half-written is left


def test_a_second_update_changes_nothing(folders):
    before = {path: path.stat().st_mtime_ns for path in folders.folder.rglob("*.ipynb")}
    assert folders.update() == copying.CopyResult()
    assert {path: path.stat().st_mtime_ns for path in folders.folder.rglob("*.ipynb")} == before


def test_outputs_and_metadata_do_not_count_as_changes(folders):
    printed = {"output_type": "stream", "name": "stdout", "text": "x"}
    folders.own.write_text(notebook("old = 1", outputs=[printed], kernel=1))
    folders.ship(notebook("new = 2"))
    assert folders.update().replaced == ["01_page.ipynb"]
    assert "new = 2" in folders.own.read_text()
    assert not (folders.folder / copying.EARLIER).exists()


def test_changed_code_is_kept_and_named_even_if_there_is_a_newer_version(folders):
    folders.own.write_text(notebook("mine = 3"))
    assert folders.update().kept == ["01_page.ipynb"]
    folders.ship(notebook("new = 2"))
    assert folders.update().kept == ["01_page.ipynb"]
    assert "mine = 3" in folders.own.read_text()


def test_the_learners_text_is_saved_before_the_page_is_replaced(folders):
    folders.own.write_text(notebook("old = 1", text="# A page\nMy own pond loses more."))
    assert folders.update() == copying.CopyResult()  # nothing newer: the note stays where it is
    folders.ship(notebook("new = 2"))
    result = folders.update()
    assert result.replaced == ["01_page.ipynb"]
    assert result.set_aside == {"01_page.ipynb": "earlier/01_page.ipynb"}
    assert "My own pond" in (folders.folder / "earlier" / "01_page.ipynb").read_text()
    folders.own.write_text(notebook("new = 2", text="A second note."))
    folders.ship(notebook("newest = 3"))
    assert folders.update().set_aside == {"01_page.ipynb": "earlier/01_page-2.ipynb"}
    assert "My own pond" in (folders.folder / "earlier" / "01_page.ipynb").read_text()


def test_new_text_with_the_same_code_replaces_the_page(folders):
    folders.ship(notebook("old = 1", text="# A better page"))
    assert folders.update().replaced == ["01_page.ipynb"]
    assert "better" in folders.own.read_text() and not (folders.folder / copying.EARLIER).exists()


@pytest.mark.parametrize("manifest", [None, "", "{", "[1]", '{"01_page.ipynb": {"code": 1}}'])
def test_without_a_readable_manifest_every_shipped_version_is_still_known(folders, manifest):
    if manifest is None:
        (folders.folder / copying.MANIFEST).unlink()
    else:
        (folders.folder / copying.MANIFEST).write_text(manifest)
    folders.ship(notebook("new = 2"))
    folders.ship(notebook("newest = 3"))
    assert folders.update().replaced == ["01_page.ipynb"]
    assert "newest = 3" in folders.own.read_text()
    assert "old = 1" in (folders.folder / "earlier" / "01_page.ipynb").read_text()


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
def test_an_unreadable_page_is_kept_and_named(folders, content):
    folders.own.write_bytes(content)
    folders.ship(notebook("new = 2"))
    assert folders.update().unreadable == ["01_page.ipynb"]
    assert folders.own.read_bytes() == content


def test_a_folder_or_a_broken_link_instead_of_a_page_is_kept(folders):
    folders.own.unlink()
    folders.own.mkdir()
    assert folders.update().unreadable == ["01_page.ipynb"]
    folders.own.rmdir()
    if os.name == "posix":
        folders.own.symlink_to(folders.folder / "nowhere")
        assert folders.update().unreadable == ["01_page.ipynb"]
        assert folders.own.is_symlink()


def test_a_deleted_page_comes_back_and_the_learners_other_files_stay(folders):
    folders.own.unlink()
    (folders.folder / "progress.json").write_text("{}")
    assert folders.update().added == ["01_page.ipynb"]
    assert (folders.folder / "progress.json").read_text() == "{}"


def test_pictures_are_replaced_unless_the_learner_changed_them(folders):
    picture, own = folders.workbook / "pond.svg", folders.folder / "pond.svg"
    for shipped, replaced in (("<svg>1</svg>", []), ("<svg>2</svg>", ["pond.svg"])):
        picture.write_text(shipped)
        assert folders.update().replaced == replaced
        assert own.read_text() == shipped
    own.write_text("<svg>mine</svg>")
    picture.write_text("<svg>3</svg>")
    assert folders.update().kept == ["pond.svg"]
    assert own.read_text() == "<svg>mine</svg>"


def test_a_failed_write_leaves_the_old_file_and_no_temporary_one(folders, monkeypatch):
    def fails(*_):
        raise OSError(28, "No space left on device")

    before = folders.own.read_bytes()
    folders.ship(notebook("new = 2"))
    monkeypatch.setattr(os, "replace", fails)
    with pytest.raises(OSError, match="no space left on device. The earlier file is as it was"):
        folders.update()
    assert folders.own.read_bytes() == before
    assert [path.name for path in folders.folder.glob(".writing-*")] == []


def test_the_code_fingerprint_depends_on_code_only():
    same = copying.notebook_fingerprints(notebook("x = 1"))
    assert copying.notebook_fingerprints(notebook(["x", " = 1"], text="other")).code == same.code
    assert copying.notebook_fingerprints(notebook("x = 2")).code != same.code
    blank = json.loads(notebook("x = 1"))
    blank["cells"].append({"cell_type": "code", "source": " \n"})
    assert copying.notebook_fingerprints(json.dumps(blank)).code == same.code
    split = json.loads(notebook("x = 1\ny = 2"))
    two = json.loads(notebook("x = 1"))
    two["cells"].append({"cell_type": "code", "source": "y = 2"})
    assert copying.notebook_fingerprints(json.dumps(split)).code != copying.notebook_fingerprints(json.dumps(two)).code


def test_messages():
    result = copying.CopyResult(
        added=["18_new.ipynb"],
        replaced=["02_b.ipynb"],
        kept=["03_c.ipynb"],
        set_aside={"02_b.ipynb": "earlier/02_b.ipynb"},
        unreadable=["04_d.ipynb"],
    )
    said = copying.messages(result, "my-workbook", first_time=False)
    assert said == [
        "New in your copy: 18_new.ipynb.",
        "Brought up to date: 02_b.ipynb.",
        "Your earlier 02_b.ipynb, with what you wrote in it, is kept as earlier/02_b.ipynb.",
        "Kept as you changed them (a changed page does not run by itself): 03_c.ipynb.",
        "Kept, although they cannot be read: 04_d.ipynb.",
    ]
    assert copying.messages(copying.CopyResult(added=["a"]), "my-workbook", True) == [
        "Your own copy of the workbook was made in my-workbook."
    ]
    assert copying.messages(copying.CopyResult(), "my-workbook", False) == []
