"""Start asks what decides the price. The rules are the product's own; half an hour's check of a pattern that is there
and what drafting takes are the trade's default times, common practice.
"""

from dataclasses import replace
from uuid import uuid4

import pytest
from django.contrib.auth.models import User
from django.test import Client as Browser
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from support_patterns import block_b

from inventory.ground.codec import Document
from inventory.ground.findings import Refused
from quotes.desk.quoting import start_quote
from quotes.models import Client, KeptPattern, PatternRevision, Quote, QuoteRevision
from quotes.patterns.kept_patterns import keep_block, pattern_of_block

CLOTHS = ["coutil-white", "coutil-black", "coutil-satin-bottle", "brocade-quince"]


def start(browser: Browser, pattern: PatternRevision, **said: str) -> QuoteRevision:
    first = {
        "title": "Overbust in brocade",
        "new_client": "Odile Farrant",
        "pattern": str(pattern.pattern.pk),
        "cloth_inner": "coutil-white",
        "front": "busk",
    }
    answer = browser.post("/quotes/new/", {**first, **said})
    assert answer.status_code == 302, answer.context["form"].errors
    return QuoteRevision.objects.latest("pk")


def test_no_cloth_is_taken_that_nobody_chose(pattern: PatternRevision, browser: Browser):
    page = browser.get("/quotes/new/").content.decode()
    assert 'type="radio" name="cloth_outer"' in page
    assert "checked" not in page.split('name="cloth_outer"', 1)[1].split('name="cloth_inner"', 1)[0]
    answer = browser.post(
        "/quotes/new/",
        {
            "title": "x",
            "new_client": "y",
            "pattern": pattern.pattern.pk,
            "front": "busk",
            "cloth_inner": "coutil-white",
        },
    )
    assert answer.status_code == 422
    assert "cloth_outer" in answer.context["form"].errors
    assert not QuoteRevision.objects.exists()


@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.sampled_from(CLOTHS), st.sampled_from(CLOTHS), st.sampled_from(["busk", "zip", "closed"]), st.booleans())
def test_what_was_chosen_is_what_is_costed(
    pattern: PatternRevision, browser: Browser, outer: str, inner: str, front: str, is_drafted: bool
):
    work = "drafted" if is_drafted else "checked"
    draft = start(browser, pattern, cloth_outer=outer, cloth_inner=inner, front=front, pattern_work=work)
    option = draft.snapshot.quotation.options[0]
    of_role = {role: line.material for line in option.takeoff.lines for role in line.roles}
    assert (of_role["outer"], of_role["inner"]) == (outer, inner)
    assert {outer, inner} <= {line.material for line in option.lines_of("material")}
    assert option.takeoff.front.kind == front
    minutes = {row.code: row.minutes for row in option.takeoff.labour.operations}
    assert (minutes.get("DRAFT", 0) > 0) == is_drafted
    assert minutes.get("CHECK", 0) == (0 if is_drafted else 30)
    assert option.name.endswith(f", {front}")


def test_a_block_from_measures_is_drafted_unless_it_is_said_otherwise(books: User, browser: Browser):
    block = keep_block(block=block_b(), user=books)
    assert (
        not start(browser, block, cloth_outer="coutil-black").snapshot.quotation.options[0].takeoff.choices.kept_pattern
    )


def test_a_quote_is_started_once_by_its_key(pattern: PatternRevision, books: User, two_layers: Document):
    key = uuid4()

    def started() -> QuoteRevision:
        block = pattern_of_block(block=replace(block_b(), name="Overbust"), user=books)
        client = Client(name="Odile Farrant")
        return start_quote(
            client=client, title="Overbust", due=None, pattern=block, options=[two_layers], user=books, key=key
        )

    assert started() == started()
    assert (Quote.objects.count(), Client.objects.count()) == (1, 1)
    assert list(KeptPattern.objects.exclude(pk=pattern.pattern.pk).values_list("name", flat=True)) == ["Overbust"]


def test_nothing_of_a_refused_start_is_kept(books: User, two_layers: Document):
    option = {**two_layers, "cloths": {"outer": "no-such-cloth", "inner": "coutil-white"}}
    block = pattern_of_block(block=block_b(), user=books)
    with pytest.raises(Refused, match="no-such-cloth"):
        start_quote(
            client=Client(name="Odile Farrant"), title="x", due=None, pattern=block, options=[option], user=books
        )
    assert not any(model.objects.exists() for model in (Client, KeptPattern, PatternRevision, Quote, QuoteRevision))
