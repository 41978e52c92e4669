"""A restore that is killed between its moves is taken back by whatever starts next; the folder never lacks its books.

Nothing outside is compared with but what stood there before and after. A kill is SIGKILL (signal(7)), which no process sees.
"""

import json
import os
import shutil
import signal
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path

import pytest
from support_keeping import command, copied, tell
from support_processes import PROJECT, is_postgresql, migrated, python, said

from inventory.ground.findings import Refused
from studio.keeping.folders import locked
from studio.keeping.replacing import IN_USE, being_replaced, take_back_broken_off

PROGRAM = str(PROJECT / "tests" / "support_restore_killed.py")
NAMED = """
from inventory.models import StockMaterial
StockMaterial.objects.create(code="%s", name="Cord", kind="cord", unit_cost_millionths=1)
print(0)
"""
NAMES = """
from inventory.models import StockMaterial
print(json.dumps(sorted(StockMaterial.objects.values_list("code", flat=True))))
"""
STEPS_OF_POSTGRESQL = 40
JOURNAL = ".journal-of-restore"


@pytest.fixture
def copy(world: dict[str, str], tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A copy of books; since then they and all files beside them changed."""
    data = migrated(world)
    tell(world, NAMED % "cord")
    (data / "photographs").mkdir(exist_ok=True)
    (data / "photographs" / "first.png").write_bytes(b"first")
    (data / "time-zone").write_text("Europe/Lisbon\n")
    where = copied(world, tmp_path_factory.mktemp("elsewhere"))
    tell(world, NAMED % "later")
    (data / "photographs" / "later.png").write_bytes(b"later")
    (data / "time-zone").write_text("Asia/Tokyo\n")
    (data / "secret-key").write_text("another")
    return where


def held(data: Path) -> dict[str, bytes]:
    """All that a data folder holds, by name; without locks, what SQLite makes anew beside its file, and its head.

    The head of 100 bytes says how the file is written to (sqlite.org/fileformat.html, 1.3), which each start sets.
    """
    return {
        str(path.relative_to(data)): path.read_bytes()[100 if path.name == "studio.sqlite3" else 0 :]
        for path in data.rglob("*")
        if path.is_file() and path.suffix != ".lock" and not path.name.endswith(("-wal", "-shm"))
    }


def must_come_back_at_each_step(left: Path, before: dict[str, bytes], monkeypatch: pytest.MonkeyPatch) -> None:
    """Taking back may be broken off too, after any of its own moves, and is then done again."""
    for most in range(20):
        folder = left.parent.parent / f"{left.name}-{most}"
        shutil.copytree(left, folder)
        moves = iter(range(most))

        def renamed(source: Path, target: Path, moves: Iterator[int] = moves) -> None:
            if next(moves, None) is None:
                raise KeyboardInterrupt
            os.rename(source, target)

        with monkeypatch.context() as patched, suppress(KeyboardInterrupt):
            patched.setattr(Path, "rename", renamed)
            take_back_broken_off(folder, url="")
            return
        take_back_broken_off(folder, url="")
        assert without_new(held(folder)) == before
        shutil.rmtree(folder)
    pytest.fail("Taking back never comes to an end.")


def without_new(files: dict[str, bytes]) -> dict[str, bytes]:
    """What a folder holds, but for the copy that a restore had made ready."""
    return {name: content for name, content in files.items() if not name.startswith(".restoring-")}


@pytest.mark.skipif(is_postgresql(), reason="The database of SQLite is a file among those that are moved.")
def test_at_each_step_what_was_there_comes_back(
    world: dict[str, str],
    copy: Path,
    tmp_path_factory: pytest.TempPathFactory,
    monkeypatch: pytest.MonkeyPatch,
):
    data = Path(world["STUDIO_DATA"])
    at_each = tmp_path_factory.mktemp("steps")
    before = held(data)
    steps = int(said(python(world, PROGRAM, str(copy), str(at_each))))
    folders = sorted(at_each.iterdir())
    assert steps == len(folders) > 8
    lacking = 0
    for folder in folders:
        lacking += not {"studio.sqlite3", "secret-key", "time-zone"} <= {path.name for path in folder.iterdir()}
        must_come_back_at_each_step(folder, before, monkeypatch)
        take_back_broken_off(folder, url="")
        assert without_new(held(folder)) == before
    # Else nothing was there to be taken back.
    assert lacking > 4
    after = held(data)
    assert after["secret-key"] != before["secret-key"]
    assert after["studio.sqlite3"] != before["studio.sqlite3"]


@pytest.mark.skipif(is_postgresql(), reason="The database of SQLite is a file among those that are moved.")
@pytest.mark.parametrize(("step", "starts"), [(4, "doctor"), (8, "serve"), (10, "restore")])
def test_a_kill_between_the_moves(step: int, starts: str, world: dict[str, str], copy: Path):
    data = Path(world["STUDIO_DATA"])
    before = held(data)
    process = python(world, PROGRAM, str(copy), str(step))
    process.communicate(timeout=120)
    assert process.returncode == -signal.SIGKILL
    assert (data / JOURNAL).exists()
    assert held(data).keys() != before.keys()
    if starts == "restore":
        # It takes back what was broken off, and begins anew.
        code, _ = command(world, "restore", copy)
        assert (code, tell(world, NAMES)) == (0, ["cord"])
        return
    arguments = ["serve", "--port", "99999"] if starts == "serve" else [starts]
    _, err = python(world, "manage.py", *arguments).communicate(timeout=120)
    assert f"warn: {data}: A restore was broken off; the books are as they were before it." in err
    assert held(data) == before
    assert tell(world, NAMES) == ["cord", "later"]
    assert command(world, "audit")[1]["differences"] == []


@pytest.mark.skipif(not is_postgresql(), reason="Databases take each other's names on a server alone.")
def test_a_kill_between_the_names_of_databases(world: dict[str, str], copy: Path):
    data = Path(world["STUDIO_DATA"])
    before = held(data)
    for step in range(1, STEPS_OF_POSTGRESQL):
        process = python(world, PROGRAM, str(copy), str(step))
        process.communicate(timeout=120)
        assert process.returncode == -signal.SIGKILL
        if step > 1 and not (data / JOURNAL).exists():
            break
        assert tell(world, NAMES) == ["cord", "later"]
        assert without_new(held(data)) == before
    # What was broken off now is the tidying up that comes after the last move.
    assert step > 9
    assert tell(world, NAMES) == ["cord"]


def test_nothing_starts_while_the_moves_are_under_way(tmp_path: Path):
    (tmp_path / JOURNAL).write_text(json.dumps({}))
    with (
        locked(tmp_path / IN_USE, alone=True, refusal=being_replaced(tmp_path)),
        pytest.raises(Refused, match="are being replaced"),
    ):
        take_back_broken_off(tmp_path, url="")


@pytest.mark.parametrize("text", ["", "{}", "[]", '{"databases": 3}', "\xff"])
def test_a_journal_that_cannot_be_read_is_told_and_stays(text: str, world: dict[str, str]):
    data = Path(world["STUDIO_DATA"])
    (data / JOURNAL).write_text(text)
    process = python(world, "manage.py", "audit")
    out, err = process.communicate(timeout=60)
    assert (process.returncode, out) == (1, "")
    assert "what it wrote down of its moves cannot be read." in err
    assert len(err.splitlines()) == 1
    assert (data / JOURNAL).exists()
    assert not (data / "secret-key").exists()
