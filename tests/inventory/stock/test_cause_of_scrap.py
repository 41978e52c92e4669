"""Scrap that was posted before its cause had a field takes it from its words, and from nothing that only looks like it."""

from importlib import import_module

import pytest
from django.apps import apps
from django.db import connection
from support_shelf import act, item, stocked

from inventory.guards import TRIGGERS
from inventory.models import Posting
from inventory.stock import ledger

CASES = {
    "own-slip: panel 3 cut upside down": "own-slip",
    "fit": "fit",
    "Fit: the toile was too small": "",
    "client:wanted another colour": "client",
    "CLIENT: see the letter": "",
    "fitting: a pin hole": "",
    "the cloth-fault: again": "",
}


@pytest.mark.django_db
def test_the_cause_is_the_word_before_the_colon_letter_by_letter() -> None:
    lot = stocked(item("cord"), 5000, 500)
    for words in CASES:
        ledger.scrap(act(words), lot=lot, quantity=100)
    with connection.cursor() as cursor:
        for trigger in TRIGGERS:
            if trigger.vendor in ("", connection.vendor):
                cursor.execute(trigger.drop_sql(connection.vendor))
    import_module("inventory.migrations.0009_cause_of_scrap").cause_of_each(apps, connection.schema_editor())
    assert dict(Posting.objects.filter(kind="scrap").values_list("why", "cause")) == CASES
