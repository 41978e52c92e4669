"""Start asks what decides the price. The rules are the product's own; half an hour's check of a pattern that is there
and what drafting takes are the trade's default times, common practice.
"""

from dataclasses import replace
from pathlib import Path
from uuid import uuid4

import pytest
from django.contrib.auth.models import User
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client as Browser
from django.utils import timezone
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from support_patterns import block_b
from support_start import start_as_shown

from inventory.ground.codec import Document
from inventory.ground.findings import Refused
from quotes.clients.clients import keep_measures
from quotes.desk.quoting import start_quote
from quotes.models import Client, KeptPattern, PatternRevision, Quote, QuoteRevision
from quotes.patterns.kept_patterns import keep_block, pattern_of_block

PATTERNS = Path(__file__).parents[3] / "fixtures" / "patterns"
CLOTHS = ["coutil-white", "coutil-black", "coutil-satin-bottle", "brocade-quince"]


def start(browser: Browser, pattern: PatternRevision, **said: str) -> QuoteRevision:
    first = {"title": "Overbust in brocade", "new_client": "Odile Farrant", "pattern": str(pattern.pattern.pk)}
    answer = browser.post("/quotes/new/", start_as_shown(browser, **{**first, **said}))
    assert answer.status_code == 302, answer.context["forms"].made.errors
    return QuoteRevision.objects.latest("pk")


def test_no_cloth_is_taken_that_nobody_chose(pattern: PatternRevision, browser: Browser):
    said = start_as_shown(browser, title="x", new_client="y", pattern=pattern.pattern.pk)
    assert "cloth_outer" not in said
    page = browser.get("/quotes/new/", follow=True).content.decode()
    assert 'type="radio" name="cloth_outer"' in page
    answer = browser.post("/quotes/new/", said)
    assert answer.status_code == 422
    assert "cloth_outer" in answer.context["forms"].made.errors
    assert not QuoteRevision.objects.exists()


def test_from_the_second_quote_on_all_but_the_cloth_that_shows_begins_as_in_the_last(
    pattern: PatternRevision, browser: Browser
):
    start(browser, pattern, cloth_outer="coutil-black", cloth_inner="coutil-black", front="zip")
    said = start_as_shown(browser)
    assert (said["cloth_inner"], said["front"]) == ("coutil-black", "zip")
    assert "cloth_outer" not in said


def test_another_construction_asks_for_its_own_layers_and_keeps_what_was_said(
    pattern: PatternRevision, browser: Browser
):
    asked = {"construction": "three-layer", "cloth_outer": "brocade-quince", "front": "zip"}
    made = browser.get("/quotes/new/", asked, follow=True).context["forms"].made
    assert [name for name in made.fields if name.startswith("cloth_")] == ["cloth_outer", "cloth_inner", "cloth_lining"]
    assert (made["cloth_outer"].value(), made["front"].value()) == ("brocade-quince", "zip")


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


def test_a_file_is_kept_and_quoted_by_one_press(books: User, browser: Browser):
    said = start_as_shown(
        browser, title="Underbust in black", new_client="Odile Farrant", pattern_from="file", cloth_outer="coutil-black"
    )
    refused = browser.post("/quotes/new/", {**said, "file": SimpleUploadedFile("p.json", b"{}")})
    assert refused.status_code == 422
    assert "Underbust in black" in refused.content.decode()
    assert not KeptPattern.objects.exists()
    file = SimpleUploadedFile("underbust.json", (PATTERNS / "underbust.json").read_bytes())
    assert browser.post("/quotes/new/", {**said, "file": file}).status_code == 302
    draft = QuoteRevision.objects.get()
    assert (draft.pattern.pattern.name, draft.pattern.source_name) == ("Underbust in black", "underbust.json")
    assert draft.snapshot.quotation.options[0].takeoff.choices.kept_pattern


def test_measures_are_drafted_and_quoted_by_one_press(books: User, browser: Browser):
    client = Client.objects.create(name="Odile Farrant")
    takes = {code: [length] for code, length in (("waist", 720.0), ("underbust", 780.0), ("full-hip", 940.0))}
    keep_measures(client=client, taken_on=timezone.localdate(), unit="cm", notes="", takes_mm=takes, user=books)
    page = browser.get(f"/quotes/new/?client={client.pk}", follow=True)
    measures = page.context["forms"].measures
    shown = {field.html_name: value for field in measures if (value := field.value()) is not None}
    assert shown["measures-waist_girth"] == "72"
    said = start_as_shown(browser, title="Underbust", client=client.pk, pattern_from="measures", **shown)
    for name in ("Underbust", "Underbust (2)"):
        answer = browser.post("/quotes/new/", {**said, "key": uuid4(), "cloth_outer": "coutil-black"})
        assert answer.status_code == 302
        draft = QuoteRevision.objects.latest("pk")
        assert (draft.pattern.pattern.name, draft.quote.client) == (name, client)
        assert not draft.snapshot.quotation.options[0].takeoff.choices.kept_pattern


def test_a_client_without_measures_leaves_those_that_were_typed(books: User, browser: Browser):
    client = Client.objects.create(name="Odile Farrant")
    assert browser.get(f"/quotes/new/?client={client.pk}", headers={"HX-Request": "true"})["HX-Reswap"] == "none"


@pytest.mark.parametrize(
    ("language", "names"),
    [
        ("en", ["Herringbone coutil, black, zip", "Herringbone coutil, black, busk"]),
        ("de", ["Herringbone coutil, black, Reißverschluss", "Herringbone coutil, black, Planchette"]),
    ],
)
def test_a_default_name_follows_its_choices_until_the_maker_names_it(
    pattern: PatternRevision, browser: Browser, language: str, names: list[str]
):
    client = Client.objects.create(name="Odile Farrant", language=language)
    draft = start(browser, pattern, client=client.pk, cloth_outer="coutil-black", front="zip")
    address = f"/quotes/{draft.quote.pk}/1/options/0/"

    def named(**said: str) -> str:
        shown = browser.get(address).context["form"]
        sent = {field.html_name: field.value() for field in shown if field.value() not in (None, False)}
        assert browser.post(address, {**sent, **said}).status_code == 302
        draft.refresh_from_db()
        return draft.snapshot.quotation.options[0].name

    assert draft.snapshot.quotation.options[0].name == names[0]
    assert named(front="busk") == names[1]
    assert named(name="Stage piece", front="zip") == "Stage piece"
    assert named(front="busk") == "Stage piece"
