"""Several processes hammer one lot at once, on a database of their own: SQLite in a file, or PostgreSQL where it is named.

Nothing outside is compared with: the sums of what each process was told must be the sums in the books.
"""

import json
import random
from uuid import UUID

from support_processes import migrated, python, said

STOCK = 10_000
PROCESSES = 4
ACTS = 40
MAKE = """
import django; django.setup()
from uuid import uuid4
from inventory.models import StockItem, StockMaterial
from inventory.stock.ledger import Act, Arrival, receive
cord = StockMaterial.objects.create(code="cord", name="Cord", kind="cord", unit_cost_millionths=1)
item = StockItem.objects.create(material=cord, code="cord")
arrival = Arrival(item=item, quantity=%d, value_minor=99_999)
print(receive(Act(key=uuid4(), by=None), [arrival]).movements.get().lot_id)
"""
TELL = """
import django; django.setup()
import json
from inventory.models import Movement, Posting, StockItem
item = StockItem.objects.get()
issued = list(Movement.objects.filter(quantity__lt=0).values_list("posting__key", "quantity"))
print(json.dumps([item.on_hand, item.value_minor, [[str(key), -quantity] for key, quantity in issued]]))
"""


def test_no_oversell_no_lost_update_no_double_post(world: dict[str, str]):
    migrated(world)
    lot = said(python(world, "-c", MAKE % STOCK)).strip()
    chance = random.Random(7)
    shared = [f"{UUID(int=chance.getrandbits(128))}:{chance.randint(1, 60)}" for _ in range(ACTS // 4)]
    wishes = []
    for _ in range(PROCESSES):
        own = [f"{UUID(int=chance.getrandbits(128))}:{chance.randint(40, 200)}" for _ in range(ACTS)]
        # Each process also sends the forms that all the others send.
        mine = [*own, *shared]
        chance.shuffle(mine)
        wishes.append(mine)
    running = [python(world, "tests/support_hammer.py", lot, *mine) for mine in wishes]
    answers = [said(process).split() for process in running]
    told = {
        wish: answer
        for mine, given in zip(wishes, answers, strict=True)
        for wish, answer in zip(mine, given, strict=True)
        if answer == "done"
    }
    assert {answer for given in answers for answer in given} == {"done", "ledger.not-enough"}
    on_hand, value, issued = json.loads(said(python(world, "-c", TELL)))
    assert sorted(f"{key}:{quantity}" for key, quantity in issued) == sorted(told)
    assert on_hand == STOCK - sum(quantity for _, quantity in issued) >= 0
    assert (value == 0) == (on_hand == 0)
    assert json.loads(said(python(world, "manage.py", "audit", "--json")))["differences"] == []
