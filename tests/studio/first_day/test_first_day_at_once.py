"""Several open one workroom at once: one of them does. On SQLite in a file, or PostgreSQL where it is named."""

import json

import pytest
from django.contrib.auth.models import User
from support_processes import migrated, python, said

from inventory.ground.findings import Refused
from inventory.models import StockMaterial
from quotes.models import YearlyCost
from quotes.workroom.settings import workroom
from studio.first_day.forms import RoomForm, WishForm
from studio.first_day.opening import open_workroom
from studio.first_day.starter_list import starter_list

NAMES = ("nell", "bess", "kit")
TELL = """
import django; django.setup()
import json
from django.contrib.auth.models import User
from inventory.models import StockMaterial
from quotes.models import YearlyCost
from quotes.workroom.settings import workroom
counts = [StockMaterial.objects.count(), YearlyCost.objects.count()]
print(json.dumps([workroom().name, [user.username for user in User.objects.all()], counts]))
"""


def test_of_three_who_open_it_at_once_one_does(world: dict[str, str]):
    migrated(world)
    running = [python(world, "tests/support_first_day.py", name) for name in NAMES]
    for process in running:
        assert process.stdout is not None
        assert process.stdout.readline() == "ready\n"
    for process in running:
        assert process.stdin is not None
        process.stdin.write("\n")
        process.stdin.flush()
    answers = dict(zip(NAMES, [said(process) for process in running], strict=True))
    first = [name for name, answer in answers.items() if answer == "/quotes/new/"]
    assert len(first) == 1
    # Who comes while it is being opened is refused, who comes after is led to the login.
    assert {answers[name] for name in NAMES if name not in first} <= {"422", "/login/"}
    assert json.loads(said(python(world, "-c", TELL))) == [
        f"Workroom of {first[0]}",
        first,
        [len(starter_list().materials), 1],
    ]


@pytest.mark.django_db
def test_whoever_filled_in_the_page_meanwhile_is_told():
    """The page of the second was right when it was read: only the use case can find that it is over."""
    room = RoomForm(
        {"name": "x", "currency": "EUR", "length_unit": "cm", "time_zone": "Europe/Paris", "language": "en"}
    )
    hours = {"productive_weeks": "46", "hours_per_week": "35", "productive_percent": "60"}
    wishes = WishForm({"currency": "EUR", "income": "24000", "income_per": "year", "overhead": "650", **hours})
    assert room.is_valid()
    assert wishes.is_valid()
    opening = room.opening(wishes.wish)
    open_workroom(opening, User(username="nell"))
    with pytest.raises(Refused) as refusal:
        open_workroom(opening, User(username="bess"))
    assert [found.code for found in refusal.value.findings] == ["first-day.over"]
    assert User.objects.get().username == "nell"
    assert (YearlyCost.objects.count(), StockMaterial.objects.count(), workroom().name) == (1, 0, "x")
