"""Backups while somebody writes, twice; `make soak` does it twenty times.

Nothing outside is compared with: what the writer was told must be in the copy.
"""

from support_under_load import acknowledged_but_not_restored


def test_a_restored_copy_holds_every_act_acknowledged_before_it_began(world: dict[str, str]):
    for before, more, missing, lost in acknowledged_but_not_restored(world, rounds=2):
        assert before >= 20
        # Somebody wrote meanwhile, else the test says nothing.
        assert more > 0
        assert missing == []
        assert lost == []
