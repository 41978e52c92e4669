"""Twenty backups while somebody writes, each restored.

Nothing outside is compared with: what the writer was told must be in the copy.
"""

from support_under_load import acknowledged_but_not_restored


def test_twenty_restored_copies_hold_every_act_acknowledged_before_each_began(world: dict[str, str]):
    rounds = acknowledged_but_not_restored(world, rounds=20)
    assert len(rounds) == 20
    assert [(missing, lost) for _, _, missing, lost in rounds] == [([], [])] * 20
    assert all(more > 0 for _, more, _, _ in rounds)
