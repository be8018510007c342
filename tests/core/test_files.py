"""Writing and reading files of the reader's: whole or not at all, never one over another, never without an end."""

import os
import re
import signal
import subprocess
import sys
import time

import pytest

from pondheat.core import files
from pondheat.core.files import DECISION_SHEET, PAPER, SEASON_HOURS, NotRead, NotWritten, read_input, write_atomically

HOURS = b"time,water_temp,ice\n2026-01-01T00:00+00:00,8.1,0\n"
SHEET = b'timezone = "Europe/London"\n'
posix = pytest.mark.skipif(os.name != "posix", reason="links, pipes and signals as POSIX has them")


def refusal(path, content=HOURS, kind=SEASON_HOURS) -> str:
    """The sentence with which a file is not written; nothing in its folder has changed."""

    def state():
        return {one.name: one.read_bytes() for one in path.parent.iterdir() if one.is_file()}

    before = state()
    with pytest.raises(NotWritten) as refused:
        write_atomically(path, content, kind)
    assert state() == before
    assert str(path) in str(refused.value) and re.match(r".*[.]$", str(refused.value)), refused.value
    return str(refused.value)


def test_a_file_is_written_and_replaced(tmp_path):
    path = tmp_path / "made" / "hours.csv"
    write_atomically(path, HOURS, SEASON_HOURS)
    write_atomically(path, HOURS * 2, SEASON_HOURS)
    assert path.read_bytes() == HOURS * 2 and [one.name for one in path.parent.iterdir()] == ["hours.csv"]


@pytest.mark.parametrize("name", ["pond.toml", "./pond.toml", "other/../pond.toml"])
def test_what_was_read_is_never_written(tmp_path, monkeypatch, name):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "other").mkdir()
    (tmp_path / "pond.toml").write_bytes(SHEET)
    with files.one_run():
        read_input(tmp_path / "pond.toml")
        for kind in (None, SEASON_HOURS):
            assert "written over what this command reads" in refusal(tmp_path / name, kind=kind)
    with files.one_run(), pytest.raises(NotWritten, match="what this command reads"):
        files.check_targets([(tmp_path / name, SEASON_HOURS)], (tmp_path / "pond.toml",))  # before it is read


@posix
@pytest.mark.parametrize("link", [os.link, os.symlink])
def test_nor_under_another_name(tmp_path, link):
    own, other = tmp_path / "hours.csv", tmp_path / "hours-2.csv"
    own.write_bytes(HOURS)
    link(own, other)
    with files.one_run():
        read_input(own)
        assert f"({own} is the same file)" in refusal(other)
    with files.one_run():
        read_input(other)
        assert "what this command reads" in refusal(own)
    write_atomically(other, HOURS * 3, SEASON_HOURS)  # another run may, and a symbolic link is followed
    assert other.read_bytes() == HOURS * 3 and own.read_bytes() == (HOURS * 3 if link is os.symlink else HOURS)


def test_two_files_of_one_name(tmp_path):
    with files.one_run():
        write_atomically(tmp_path / "x.csv", HOURS, SEASON_HOURS)
        assert "two files would be written to this one name" in refusal(tmp_path / "x.csv")
    with pytest.raises(NotWritten, match="two files"):
        files.check_targets([(tmp_path / "y", SEASON_HOURS), (tmp_path / "." / "y", DECISION_SHEET)])


@pytest.mark.parametrize("name", ["pond.toml", "log.csv", "page.html", "notes"])
@pytest.mark.parametrize("kind", [SEASON_HOURS, DECISION_SHEET, PAPER])
def test_a_file_of_another_kind_is_left_alone(tmp_path, name, kind):
    (tmp_path / name).write_bytes(b"time,use [kWh]\n2026-01-01 00:00,1.2\n")
    assert f"is not {kind.name} from an earlier run" in refusal(tmp_path / name, kind=kind)
    (tmp_path / name).write_bytes(b"")
    write_atomically(tmp_path / name, HOURS, kind)  # an empty file holds nothing to lose


def test_an_ending_of_another_kind(tmp_path):
    assert "the name must end in .html" in refusal(tmp_path / "pond.toml", kind=DECISION_SHEET)
    assert "the name must end in .csv" in refusal(tmp_path / "hours.html", kind=SEASON_HOURS)
    write_atomically(tmp_path / "hours", HOURS, SEASON_HOURS)


def test_a_folder_and_a_write_protected_file(tmp_path):
    (tmp_path / "hours.csv").mkdir()
    assert "is a folder" in refusal(tmp_path / "hours.csv")
    (tmp_path / "old.csv").write_bytes(HOURS)
    (tmp_path / "old.csv").chmod(0o444)
    assert "write-protected" in refusal(tmp_path / "old.csv")


@pytest.mark.parametrize("step", ["mkstemp", "fsync", "replace"])
@pytest.mark.parametrize("there", [True, False])
def test_a_full_disk_leaves_everything_as_it_was(tmp_path, monkeypatch, step, there):
    if there:
        (tmp_path / "hours.csv").write_bytes(HOURS)

    def full(*_, **__):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(files.tempfile if step == "mkstemp" else files.os, step, full)
    said = refusal(tmp_path / "hours.csv", HOURS * 9)
    assert "no space left on device" in said and ("earlier file is as it was" in said) is there


@posix
def test_a_limit_of_the_system_is_a_sentence(tmp_path):
    """A real refusal in the middle of the data: the process may write no file of more than 100 kB."""
    code = (
        "import resource, signal, sys; from pathlib import Path; from pondheat.core.files import *\n"
        "signal.signal(signal.SIGXFSZ, signal.SIG_IGN); resource.setrlimit(resource.RLIMIT_FSIZE, (100_000,) * 2)\n"
        "try: write_atomically(Path(sys.argv[1]), b'x' * 10**6)\n"
        "except NotWritten as wrong: print(wrong)\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, tmp_path / "hours.csv"], capture_output=True, text=True, timeout=60
    )
    assert "hours.csv could not be written: file too large" in done.stdout, done.stderr
    assert list(tmp_path.iterdir()) == []


@posix
def test_killed_at_any_moment_the_old_file_or_the_new(tmp_path):
    """A process that does nothing but write is killed several times; the file is always one of the two, whole."""
    path = tmp_path / "hours.csv"
    code = (
        "import sys; from pathlib import Path; from pondheat.core.files import write_atomically\n"
        "path, n = Path(sys.argv[1]), 0\n"
        "while True:\n"
        "    n += 1\n"
        "    write_atomically(path, bytes([48 + n % 10]) * 3_000_000)\n"
        "    print('.', end='', flush=True)\n"
    )
    for moment in range(4):
        with subprocess.Popen([sys.executable, "-c", code, path], stdout=subprocess.PIPE) as writer:
            writer.stdout.read(2 + moment)
            time.sleep(0.003 * moment)
            writer.send_signal(signal.SIGKILL)
        content = path.read_bytes()
        assert len(content) == 3_000_000 and content == content[:1] * 3_000_000


@posix
def test_what_has_no_end_is_not_read(tmp_path):
    os.mkfifo(tmp_path / "pipe")
    for path in (tmp_path / "pipe", "/dev/zero", "/dev/tty"):
        if os.path.exists(path):
            with pytest.raises(NotRead, match="is a pipe or a device"):
                read_input(path)
    assert "is a pipe or a device" in refusal(tmp_path / "pipe")
    with pytest.raises(NotRead, match="is a folder"):
        read_input(tmp_path)


def test_a_file_too_large_is_not_read(tmp_path):
    with open(tmp_path / "large.csv", "wb") as file:
        file.truncate(files.LARGEST + 1)  # takes no room on the disk
    with pytest.raises(NotRead, match="larger than 300 MB.*split it into"):
        read_input(tmp_path / "large.csv", 1000 if os.name != "posix" else files.LARGEST)
    (tmp_path / "small.csv").write_bytes(bytes(1001))
    with pytest.raises(NotRead):
        read_input(tmp_path / "small.csv", 1000)
    assert read_input(tmp_path / "small.csv", 1001) == bytes(1001)


def test_a_file_that_is_not_there_is_told_with_the_name_most_like_it(tmp_path):
    (tmp_path / "my_pond.toml").touch()
    (tmp_path / "my_pnod.csv").touch()
    with pytest.raises(FileNotFoundError, match=r"my_pnod\.toml: no such file; did you mean .*my_pond\.toml\?$"):
        files.read_input(tmp_path / "my_pnod.toml")
    for path in (tmp_path / "x.toml", tmp_path / "nowhere" / "my_pnod.toml"):
        with pytest.raises(files.NotRead, match=r"no such file\.$"):
            files.read_input(path)
