"""Backups while somebody writes, twice; `make soak` does it twenty times.

Nothing outside is compared with: what the writer was told must be in the copy.
"""

from pathlib import Path

from support_keeping import command
from support_processes import migrated, said
from support_under_load import acknowledged_but_not_restored, watcher


def test_a_restored_copy_holds_every_act_acknowledged_before_it_began(world: dict[str, str]):
    for before, more, missing, lost in acknowledged_but_not_restored(world, rounds=2):
        assert before >= 20
        # Somebody wrote meanwhile, else the test says nothing.
        assert more > 0
        assert missing == []
        assert lost == []


def test_of_two_servers_on_one_folder_one_makes_the_days_copy(world: dict[str, str]):
    data = migrated(world)
    for watching in [watcher(world, looks=6) for _ in range(2)]:
        assert said(watching) == ""
    assert len(list((data / "backups").glob("*Z"))) == 1
    assert command(world, "backup", "--when-due") == (0, None)
    (data / "last-backup.json").unlink()
    code, made = command(world, "backup", "--when-due")
    assert (code, Path(made["where"]).parent) == (0, data / "backups")
    assert command(world, "backup", "--when-due", "--keep", "2")[1]["findings"][0]["code"] == "option.when-due"
