"""The data folder is its owner's alone. Source: POSIX file modes (IEEE 1003.1, sys/stat.h); the rule is the product's own."""

import os
import stat
import subprocess
import sys
from pathlib import Path

from support_processes import PROJECT

from studio.private_files import keep_private

PHOTOGRAPH = """
import django; django.setup()
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
default_storage.save("jobs/toile.jpg", ContentFile(b"pixels"))
"""


def opened(folder: Path) -> dict[str, str]:
    """What in a folder others than its owner have a right to, the folder too."""
    modes = {str(path.relative_to(folder)): path.lstat().st_mode for path in (folder, *folder.rglob("*"))}
    return {name: oct(mode) for name, mode in modes.items() if mode & 0o077 and not stat.S_ISLNK(mode)}


def put(path: Path) -> Path:
    """An empty file in a folder of its own, both of which all may read."""
    path.parent.mkdir()
    path.touch()
    path.chmod(0o644)
    path.parent.chmod(0o755)
    return path


def test_what_commands_and_uploads_write_is_the_owners_alone(tmp_path: Path):
    data = tmp_path / "books"
    put(data / "copy-of-last-week.sqlite3")
    environment = {**os.environ, "STUDIO_DATA": str(data), "DJANGO_SETTINGS_MODULE": "studio.settings"}
    environment.pop("DATABASE_URL", None)
    for command in (["manage.py", "migrate", "--verbosity", "0"], ["-c", PHOTOGRAPH]):
        subprocess.run([sys.executable, *command], env=environment, cwd=PROJECT, umask=0o022, check=True, timeout=120)
    assert {"studio.sqlite3", "secret-key", "photographs/jobs/toile.jpg"} <= {
        str(path.relative_to(data)) for path in data.rglob("*")
    }
    assert opened(data) == {}


def test_what_a_link_leads_to_stays_as_it_is(tmp_path: Path):
    outside = put(tmp_path / "outside" / "a.txt").parent
    data = tmp_path / "data"
    data.mkdir()
    (data / "link").symlink_to(outside)
    (data / "gone").symlink_to(tmp_path / "nowhere")
    before = opened(outside)
    assert set(before) == {".", "a.txt"}
    kept = os.umask(0o022)
    try:
        keep_private(data)
    finally:
        os.umask(kept)
    assert opened(outside) == before
    assert opened(data) == {}
