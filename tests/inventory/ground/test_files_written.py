"""Files that a command's option names: written whole or not at all."""

import errno
import os
from pathlib import Path

import pytest

from inventory.ground.findings import Refused
from inventory.ground.reading import write_file


def test_a_disk_that_is_full_leaves_the_old_file_and_nothing_beside_it(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    def half(path: Path, data: bytes) -> int:
        with path.open("wb") as file:
            file.write(data[: len(data) // 2])
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    old = tmp_path / "lay.svg"
    old.write_bytes(b"old")
    monkeypatch.setattr(Path, "write_bytes", half)
    for name in ("lay.svg", "new.svg"):
        with pytest.raises(Refused) as refusal:
            write_file(tmp_path / name, b"a new one", "--svg")
        assert [(found.code, found.where) for found in refusal.value.findings] == [("option.svg", "--svg")]
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == {"lay.svg": b"old"}


def test_an_old_file_gives_way_where_it_is_and_keeps_who_may_read_it(tmp_path: Path):
    old, link = tmp_path / "lay.svg", tmp_path / "link.svg"
    old.write_bytes(b"old")
    old.chmod(0o640)
    link.symlink_to(old)
    write_file(link, b"new", "--svg")
    assert (old.read_bytes(), old.stat().st_mode & 0o777, link.is_symlink()) == (b"new", 0o640, True)


def test_a_device_takes_what_it_is_given():
    write_file(Path(os.devnull), b"new", "--svg")
    assert Path(os.devnull).is_char_device()


def test_a_pipe_takes_what_it_is_given():
    reading, writing = os.pipe()
    write_file(Path(f"/dev/fd/{writing}"), b"new", "--svg")
    assert os.read(reading, 9) == b"new"
    os.close(reading)
    os.close(writing)


@pytest.mark.parametrize("name", ["", "no/lay.svg", "x" * 300, "folder"])
def test_what_cannot_be_written_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "folder").mkdir()
    with pytest.raises(Refused):
        write_file(Path(name), b"new", "--svg")
    assert {path.name for path in tmp_path.iterdir()} == {"folder"}
