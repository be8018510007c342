"""Damaged files of every kind through the command `read`: a thousand here, five thousand at a time in tests/long."""

import damaged_files


def test_damaged_files_of_every_kind(tmp_path):
    found = damaged_files.outcomes(1000, 41, tmp_path)
    assert min(found.values()) > 1, found  # the generator reaches every outcome


def test_whole_files_are_read_without_a_repair(tmp_path):
    for name, (text, options) in damaged_files.bases().items():
        (tmp_path / "file.csv").write_text(text, encoding="utf-8")
        code, found, told = damaged_files.read_as_json(tmp_path / "file.csv", options)
        if name == "sheet":
            assert code == 2 and "is a pond sheet" in told
        else:
            assert code == 0 and not found.get("repairs"), (name, found)
