"""A writer that posts receipts until it is ended, and says each key once its act is acknowledged; a program of its own.

Every act comes with a photograph of a material. Arguments: none. Prints a line per act: its key and the photograph's name.
"""

import sys
from itertools import count
from uuid import uuid4

import django


def main() -> None:
    django.setup()
    from django.core.files.base import ContentFile

    from inventory.models import StockItem, StockMaterial
    from inventory.stock.ledger import Act, Arrival, receive

    for number in count():
        key = uuid4()
        code = f"cord-{number}"
        cord = StockMaterial.objects.create(code=code, name=code, kind="cord", unit_cost_millionths=1)
        cord.photo.save(f"{code}.png", ContentFile(key.bytes))
        item = StockItem.objects.create(material=cord, code=code)
        receive(Act(key=key, by=None), [Arrival(item=item, quantity=10, value_minor=7)])
        sys.stdout.write(f"{key} {cord.photo.name}\n")
        sys.stdout.flush()


if __name__ == "__main__":
    main()
