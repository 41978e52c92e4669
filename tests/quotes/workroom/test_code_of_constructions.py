"""A construction's short name is held to one rule by the form, the model and the database; a bad row stops no quote.

Source of the rule: `quotes/construction/construction.schema.json`, which every construction is read against.
"""

from collections.abc import Iterator
from importlib import import_module
from pathlib import Path

import pytest
from django.apps import apps
from django.core.exceptions import ValidationError
from django.db import IntegrityError, connection, transaction
from django.test import Client as Browser
from django.urls import reverse

from inventory.ground.reading import data_beside
from quotes.construction import construction_json
from quotes.construction.construction import CODE
from quotes.models import KeptConstruction, QuoteRevision
from quotes.workroom.settings import constructions

BAD = ("My-two-layer", "my_two_layer", "-mine", "", "MINE")
GOOD = ("my-two-layer", "2-layers", "m")


def test_the_rule_is_the_one_of_the_schema():
    schema = data_beside(Path(construction_json.__file__), "construction.schema.json")
    assert schema["properties"]["code"]["pattern"] == CODE


def kept(code: str) -> KeptConstruction:
    row = KeptConstruction.objects.get(code="two-layer")
    return KeptConstruction(code=code, title="Mine", document={**row.document, "code": code})


@pytest.mark.django_db
@pytest.mark.parametrize("code", BAD)
def test_form_model_and_database_refuse_a_code_that_cannot_be_read(books: object, browser: Browser, code: str):
    path = reverse("quotes:construction-copy", args=["two-layer"])
    answer = browser.post(path, {"title": "Mine", "code": code})
    assert answer.status_code == 422
    assert len(answer.context["form"].errors["code"]) == 1
    with pytest.raises(ValidationError):
        kept(code).full_clean()
    with pytest.raises(IntegrityError, match="construction_code_is_one"), transaction.atomic():
        kept(code).save()
    assert not KeptConstruction.objects.filter(title="Mine").exists()


@pytest.mark.django_db
@pytest.mark.parametrize("code", GOOD)
def test_a_code_that_can_be_read_is_taken(books: object, browser: Browser, code: str):
    path = reverse("quotes:construction-copy", args=["two-layer"])
    assert browser.post(path, {"title": "Mine", "code": code}).status_code == 302
    assert constructions()[code].title == "Mine"


@pytest.mark.django_db
def test_an_end_of_line_is_no_part_of_a_code(books: object, browser: Browser):
    answer = browser.post(
        reverse("quotes:construction-copy", args=["two-layer"]), {"title": "Mine", "code": "mine\n"}, follow=True
    )
    assert answer.status_code == 200
    assert "mine" in constructions()


def test_one_row_that_cannot_be_read_is_skipped_and_named(draft: QuoteRevision, browser: Browser):
    bad = kept("worn-out")
    bad.document = {**bad.document, "layers": []}
    bad.save()
    assert "worn-out" not in constructions()
    assert "two-layer" in constructions()
    start = browser.get(reverse("quotes:new"), follow=True)
    option = browser.get(reverse("quotes:option-add", args=[draft.quote.pk, draft.number]))
    listed = browser.get(reverse("quotes:constructions"))
    for page in (start, option, listed):
        assert page.status_code == 200
        assert "Mine (worn-out)</span> This construction cannot be read" in page.content.decode()
    shown = browser.get(reverse("quotes:construction", args=["worn-out"]), follow=True)
    assert "Mine cannot be read" in shown.content.decode()
    copied = browser.post(reverse("quotes:construction-copy", args=["worn-out"]), {"title": "Again", "code": "again"})
    assert copied.status_code == 422
    assert not KeptConstruction.objects.filter(code="again").exists()


@pytest.fixture
def unguarded(books: object) -> Iterator[None]:
    """The table as it was before the database knew the rule."""
    is_sqlite = connection.vendor == "sqlite"
    with connection.cursor() as cursor:
        cursor.execute(
            "PRAGMA ignore_check_constraints = ON"
            if is_sqlite
            else "ALTER TABLE quotes_keptconstruction DROP CONSTRAINT construction_code_is_one"
        )
        yield
        if is_sqlite:
            cursor.execute("PRAGMA ignore_check_constraints = OFF")


def test_codes_of_before_are_written_anew_and_can_be_read(unguarded: None):
    for code in ("mine", "Mine", "MINE", "_"):
        kept(code).save()
    assert not {"Mine", "MINE", "_"} & set(constructions())
    import_module("quotes.migrations.0009_code_of_constructions").mend_codes(apps, None)
    assert {"mine", "mine-2", "mine-3", "own"} <= set(constructions())
