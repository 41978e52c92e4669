"""What a folder says of itself is all that is in it: nothing is passed over, and nothing is waited for."""

import os
from pathlib import Path

import pytest

from studio.keeping.manifest import files_in


def test_files_are_named_with_their_folders(tmp_path: Path):
    (tmp_path / "photographs").mkdir()
    (tmp_path / "photographs" / "a.jpg").write_bytes(b"abc")
    (found,) = files_in(tmp_path)
    assert (found.name, found.bytes) == ("photographs/a.jpg", 3)
    # The digest of "abc" in FIPS 180-2, appendix B.1.
    assert found.sha256 == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"


@pytest.mark.parametrize("kind", ["link to a folder", "link to nothing", "pipe"])
def test_what_is_no_file_is_refused(tmp_path: Path, kind: str):
    copy = tmp_path / "copy"
    copy.mkdir()
    match kind:
        case "link to a folder":
            (copy / "odd").symlink_to(tmp_path)
        case "link to nothing":
            (copy / "odd").symlink_to(tmp_path / "nowhere")
        case _:
            os.mkfifo(copy / "odd")
    with pytest.raises(OSError, match="odd"):
        files_in(copy)
