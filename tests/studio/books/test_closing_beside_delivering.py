"""A month is closed while pieces are delivered in it: each piece is in it with its figures frozen, or was refused.

Common practice of bookkeeping, no source. On SQLite in a file, or PostgreSQL where it is named.
"""

import json

from support_processes import python, said


def test_a_piece_is_in_the_closed_month_or_refused(world: dict[str, str]):
    said(python(world, "manage.py", "migrate", "--verbosity", "0"))
    told = json.loads(said(python(world, "tests/support_month_end.py")))
    delivered = [answer == "done" for answer in told["delivered"]]
    assert set(told["delivered"]) <= {"done", "books.month-closed"}
    assert [stage == "delivered" for stage in told["stages"]] == delivered
    assert told["closed"].count("done") == told["rows"] == 1
    assert told["accounts"] == sum(delivered)
    assert told["open accounts"] == 0
    assert json.loads(said(python(world, "manage.py", "audit", "--json")))["differences"] == []
