"""A folder made before pages 04 and 05 changed places: answers are found again, and no work is lost."""

import json
import os
import re
from pathlib import Path

import pytest
from usual_cases import some_of

from pondheat.core import renumbering
from pondheat.core.places import WORKBOOK
from pondheat.core.renumbering import KEYS, NUMBERING, PAGES, former_files, present_keys
from pondheat.front_door import copying
from pondheat.lesson import progress
from pondheat.lesson.questions import BANK
from pondheat.lesson.reasons import REASONS
from pondheat.show.pages import PREDICT, ComeBack, SoFar

FOGGY, OPEN = "04_moist_air.ipynb", "05_open_surface.ipynb"
FIRST = ("04_moist_air", "05_open_surface")  # that changed places in the first renumbering
NOW = {f"{former}.ipynb": f"{PAGES[former]}.ipynb" for former in FIRST}
PRESENT = dict(zip(KEYS[0], present_keys(dict.fromkeys(KEYS[0]), 1)))  # by key before the first renumbering
ANSWERS = {
    "1.1": "right",
    "4.1": "right",
    "4.2": "misconception",
    "5.1": "wrong unit",
    "5.2": "right",
    "5.3": "not yet",
    "why-05-a": "right",
    "why-05-b": "misconception",
    "predict-04_moist_air": "misconception",
    "predict-05_open_surface": "right",
    "6.1": "right",
}
MISSES = {"predict-04_moist_air": 2, "4.2": 1, "7.2": 1}
SHEET = '# mine\n[pond]\nlength = "4 m"\n'


def before(text, former, present):
    """A page's code as it was under its former number."""
    back = {new: old for old, new in PRESENT.items()}
    text = text.replace(present, former)
    return re.sub(r"\d\.\d", lambda number: back.get(number[0], number[0]), text)


class Before:
    """A learner's folder as the version before left it, with the list of what was ever shipped."""

    def __init__(self, folder: Path, tutor=False):
        self.folder, self.tutor = folder, tutor
        self.known = copying.read_shipped_list()
        copying.update_copy(WORKBOOK, folder, self.known, tutor)
        manifest = json.loads((folder / copying.MANIFEST).read_text(encoding="utf-8"))
        for name, former in [(now, one) for now in manifest for one in former_files(now) if Path(one).stem in FIRST]:
            text = (folder / name).read_text(encoding="utf-8")
            if name.endswith(".ipynb"):
                page = json.loads(text)
                for cell in page["cells"]:
                    cell["source"] = before("".join(cell["source"]), Path(former).stem, Path(name).stem)
                text = json.dumps(page)
            (folder / name).unlink()
            (folder / former).write_text(text, encoding="utf-8")
            prints = copying.file_fingerprints(folder / former)
            del manifest[name]
            manifest[former] = {"code": prints.code, "text": prints.text}
            if name.endswith(".ipynb"):
                self.known[name] = [*self.known[name], prints.code]
        (folder / copying.MANIFEST).write_text(json.dumps(manifest), encoding="utf-8")
        (folder / progress.NAME).write_text(json.dumps({"answers": ANSWERS, "misses": MISSES}), encoding="utf-8")
        (folder / "my_pond.toml").write_text(SHEET, encoding="utf-8")

    def edit(self, name, kind, source):
        """The learner adds a cell to a page; returns the page's bytes."""
        page = json.loads((self.folder / name).read_text(encoding="utf-8"))
        page["cells"].append({"cell_type": kind, "id": "mine", "metadata": {}, "source": source})
        (self.folder / name).write_text(json.dumps(page), encoding="utf-8")
        return (self.folder / name).read_bytes()

    def start(self):
        return copying.update_copy(WORKBOOK, self.folder, self.known, self.tutor)

    def files(self):
        return {
            path.relative_to(self.folder).as_posix(): path.read_bytes()
            for path in self.folder.rglob("*")
            if path.is_file()
        }


@pytest.fixture
def folder(tmp_path):
    return Before(tmp_path / "my-workbook ö")


def is_new(folder, name):
    return (folder.folder / name).read_bytes() == (WORKBOOK / name).read_bytes()


def guesses(page):
    """Whether a page begins with a guess."""
    return "PredictFirst(" in (WORKBOOK / f"{page}.ipynb").read_text(encoding="utf-8")


def test_the_table_names_pages_and_keys_that_are_there():
    assert all((WORKBOOK / f"{present}.ipynb").is_file() for present in PAGES.values())
    assert not any((WORKBOOK / f"{former}.ipynb").exists() for former in PAGES)
    assert all(len(set(table.values())) == len(table) for table in KEYS)
    page = {key: question.notebook for key, question in BANK.items()}
    page |= {one.key: one.notebook for one in REASONS} | {
        f"{PREDICT}{name}": name for name in PAGES.values() if guesses(name)
    }
    moved = {key for key, notebook in page.items() if notebook in PAGES.values()}
    now = {key for later, table in enumerate(KEYS, 2) for key in present_keys(dict.fromkeys(table.values()), later)}
    assert now == moved  # every key of a page that moved, and no other


def test_the_extension_follows_the_same_table():
    script = (copying.SHIPPED_LIST.parent / "open.js").read_text(encoding="utf-8")
    assert json.loads(re.search(r"const RENUMBERED = (\{.+?\});", script)[1]) == PAGES


def test_pages_that_were_not_changed_move_and_are_brought_up_to_date(folder):
    result = folder.start()
    assert result == copying.CopyResult(moved=NOW, replaced=sorted(NOW.values()))
    assert is_new(folder, NOW[FOGGY]) and is_new(folder, NOW[OPEN])
    assert not any((folder.folder / former).exists() for former in NOW)
    assert not (folder.folder / copying.EARLIER).exists()
    said = copying.messages(result, folder.folder, first_time=False)
    assert said[0] == (
        "Pages were renumbered, and your answers go with them: 05_open_surface.ipynb is now 04_open_surface.ipynb, "
        "04_moist_air.ipynb is now 05_moist_air.ipynb."
    )
    assert len(said) == 2  # and that they were brought up to date


def test_a_second_start_changes_nothing(folder):
    folder.edit(FOGGY, "code", "mine = 1")
    folder.start()
    progress.load(folder.folder).note("7.2", "right")
    found, answers = folder.files(), progress.load(folder.folder).answers
    assert folder.start() == copying.CopyResult()
    assert folder.files() == found and progress.load(folder.folder).answers == answers


@pytest.mark.parametrize("kinds", [("code", "markdown"), ("markdown", "code"), ("code", "code")])
def test_pages_that_the_learner_changed_are_kept_as_they_were(folder, kinds):
    mine = {name: folder.edit(name, kind, "mine = 1") for name, kind in zip(NOW, kinds)}
    result = folder.start()
    assert result.moved == {name: f"{copying.EARLIER}/{name}" for name in NOW}
    for name, content in mine.items():
        assert (folder.folder / copying.EARLIER / name).read_bytes() == content
        assert is_new(folder, NOW[name]) and not (folder.folder / name).exists()
    said = " ".join(copying.messages(result, folder.folder, first_time=False))
    assert f"{FOGGY} is now {copying.EARLIER}/{FOGGY}" in said and "just as you left them" in said


@pytest.mark.parametrize("damaged", [b"", b"{", b"\xff\xfe"])
def test_an_unreadable_page_is_kept_too(folder, damaged):
    (folder.folder / OPEN).write_bytes(damaged)
    folder.start()
    assert (folder.folder / copying.EARLIER / OPEN).read_bytes() == damaged and is_new(folder, NOW[OPEN])


def test_without_a_manifest_every_page_is_taken_for_a_changed_one(folder):
    mine = (folder.folder / FOGGY).read_bytes()
    (folder.folder / copying.MANIFEST).unlink()
    folder.start()
    assert (folder.folder / copying.EARLIER / FOGGY).read_bytes() == mine and is_new(folder, NOW[FOGGY])


def test_nothing_is_overwritten(folder):
    """Neither a page that is kept already, nor a file of the learner's at the new name, nor any other of his."""
    mine = {name: folder.edit(name, "code", "mine = 1") for name in NOW}
    own = {f"{copying.EARLIER}/{FOGGY}": b"kept long ago", NOW[OPEN]: b"a file of mine", "my_pond.toml": SHEET.encode()}
    (folder.folder / copying.EARLIER).mkdir()
    for name, content in own.items():
        (folder.folder / name).write_bytes(content)
    result = folder.start()
    found = folder.files()
    assert {name: found[name] for name in own} == own and result.unreadable == [NOW[OPEN]]
    assert found[f"{copying.EARLIER}/04_moist_air-2.ipynb"] == mine[FOGGY]
    assert found[f"{copying.EARLIER}/{OPEN}"] == mine[OPEN]


def test_a_page_that_was_not_changed_does_not_move_onto_another_file(folder):
    former = (folder.folder / FOGGY).read_bytes()
    (folder.folder / NOW[FOGGY]).write_bytes(b"a file of mine")
    assert folder.start().moved[FOGGY] == f"{copying.EARLIER}/{FOGGY}"
    assert (folder.folder / NOW[FOGGY]).read_bytes() == b"a file of mine"
    assert (folder.folder / copying.EARLIER / FOGGY).read_bytes() == former


@pytest.mark.skipif(os.name != "posix", reason="makes a symbolic link")
def test_a_link_or_a_folder_of_the_learner_s_stays_where_it_is(folder):
    (folder.folder / FOGGY).rename(folder.folder / "mine.ipynb")
    (folder.folder / FOGGY).symlink_to("mine.ipynb")
    (folder.folder / OPEN).unlink()
    (folder.folder / OPEN).mkdir()
    assert folder.start().moved == {}
    assert (folder.folder / FOGGY).is_symlink() and (folder.folder / OPEN).is_dir()
    assert is_new(folder, NOW[FOGGY]) and is_new(folder, NOW[OPEN])


def test_a_tutor_s_notes_move_as_well(tmp_path):
    folder = Before(tmp_path, tutor=True)
    changed = folder.folder / "tutor" / "04_moist_air.md"
    changed.write_text(f"{changed.read_text(encoding='utf-8')}My note.\n", encoding="utf-8")
    mine = changed.read_bytes()
    moved = folder.start().moved
    assert moved["tutor/05_open_surface.md"] == "tutor/04_open_surface.md"
    assert (folder.folder / moved["tutor/04_moist_air.md"]).read_bytes() == mine and not changed.exists()
    assert is_new(folder, "tutor/04_open_surface.md") and is_new(folder, "tutor/05_moist_air.md")
    assert folder.start() == copying.CopyResult()


class Killed(BaseException):
    """The process ends here."""


@pytest.mark.parametrize("edited", some_of([((),), ((FOGGY,),), ((FOGGY, OPEN),)], 2))
def test_a_start_that_was_killed_at_any_step_is_finished_by_the_next(tmp_path, monkeypatch, edited):
    """Steps are renamings and replacings, each whole or not at all; killed before or just after each of them."""
    made = Before(tmp_path / "whole")
    for name in edited:
        made.edit(name, "code", "mine = 1")
    untouched = made.files()
    made.start()
    wanted = made.files()
    renames, replaces = Path.rename, os.replace

    def killing(step, after):
        left = [step]

        def counted(act):
            def run(*args):
                left[0] -= 1
                if left[0] < 0 and not after:
                    raise Killed
                done = act(*args)
                if left[0] < 0:
                    raise Killed
                return done

            return run

        return counted

    steps = 0
    for after in (False, True):
        for step in range(20):
            folder = Before(tmp_path / f"{after}{step}")
            for name in edited:
                folder.edit(name, "code", "mine = 1")
            assert folder.files() == untouched
            with monkeypatch.context() as patched:
                counted = killing(step, after)
                patched.setattr(Path, "rename", counted(renames))
                patched.setattr(os, "replace", counted(replaces))
                try:
                    folder.start()
                except Killed:
                    steps += 1
                else:
                    break
            folder.start()
            left_over = {name: content for name, content in folder.files().items() if "/.writing-" not in f"/{name}"}
            assert left_over == wanted, (step, after)
    assert steps >= 2 * 4  # two moves, at least one page written, and the list of what was copied


# --- answers ---


def wanted_of(stored):
    return {PRESENT.get(key, key): outcome for key, outcome in stored.items()}


def test_each_answer_is_found_under_its_present_key(folder):
    folder.start()
    found = progress.load(folder.folder)
    assert found.message == "" and len(found.answers) == len(ANSWERS) and len(found.misses) == len(MISSES)
    assert found.answers["5.1"] == ANSWERS["4.1"] and found.answers["4.1"] == ANSWERS["5.1"]
    assert found.answers == wanted_of(ANSWERS) and found.misses == wanted_of(MISSES)
    assert ComeBack("07_covers", folder.folder).missed == "05_moist_air"
    shown = SoFar(folder.folder).value
    assert 'aria-label="1 of 3 right">◐●◐</span>' in shown and 'aria-label="1 of 2 right">●◐</span>' in shown


def test_answers_are_renumbered_once_however_often_they_are_read_and_written(folder):
    for _ in range(3):
        folder.start()
        kept = progress.load(folder.folder)
        assert kept.answers == wanted_of(ANSWERS) and kept.misses == wanted_of(MISSES)
        kept.note("1.1", "right")
    stored = json.loads((folder.folder / progress.NAME).read_text(encoding="utf-8"))
    assert stored == {"answers": wanted_of(ANSWERS), "misses": wanted_of(MISSES), "numbering": NUMBERING}


def test_a_second_renumbering_goes_on_from_the_first(monkeypatch):
    """A key that the first one freed may be another question's key by the second."""
    monkeypatch.setattr(renumbering, "KEYS", ({"4.1": "5.1", "5.1": "4.1"}, {"4.1": "6.1", "9.1": "4.1"}))
    assert present_keys({"4.1": 1, "5.1": 2, "9.1": 3}, 1) == {"5.1": 1, "6.1": 2, "4.1": 3}
    assert present_keys({"4.1": 1, "5.1": 2, "9.1": 3}, 2) == {"6.1": 1, "5.1": 2, "4.1": 3}
    assert present_keys({"4.1": 1}, 3) == {"4.1": 1}


def test_answers_that_could_not_be_written_are_still_those_of_before(folder, monkeypatch):
    def full(*_):
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as patched:
        patched.setattr(os, "replace", full)
        kept = progress.load(folder.folder)
        kept.note("7.1", "right")
        assert "couldn't be saved" in kept.message
    assert progress.load(folder.folder).answers == wanted_of(ANSWERS)


def test_a_newer_numbering_is_left_alone_and_a_nonsensical_one_is_damage(folder):
    path = folder.folder / progress.NAME
    path.write_text(json.dumps({"answers": {"4.1": "right"}, "misses": {}, "numbering": NUMBERING + 1}))
    assert progress.load(folder.folder).answers == {"4.1": "right"}
    path.write_text(json.dumps({"answers": {"4.1": "right"}, "misses": {}, "numbering": "two"}))
    assert "progress-damaged.json" in progress.load(folder.folder).message


def test_no_two_keys_become_one():
    assert present_keys(dict.fromkeys([*PRESENT, "1.1"], 1), 1) == dict.fromkeys([*PRESENT.values(), "1.1"], 1)
