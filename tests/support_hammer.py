"""One process of several that take from the same lot at once; started by test_ledger_concurrency with its own keys.

Arguments: the lot, then one `key:quantity` each. Prints `done` or the code of the refusal per act.
"""

import sys
from uuid import UUID

import django


def main(lot: int, wishes: list[str]) -> None:
    django.setup()
    from inventory.ground.findings import Refused
    from inventory.models import Lot
    from inventory.stock.ledger import Act, issue

    for wish in wishes:
        key, quantity = wish.split(":")
        try:
            issue(Act(key=UUID(key), by=None), lot=Lot.objects.get(pk=lot), quantity=int(quantity), job="Q1")
        except Refused as refusal:
            sys.stdout.write(f"{refusal.findings[0].code}\n")
        else:
            sys.stdout.write("done\n")


if __name__ == "__main__":
    main(int(sys.argv[1]), sys.argv[2:])
