"""Keeping patterns: whole or not at all, revised, used again."""

from dataclasses import replace
from pathlib import Path

import pytest
from django.contrib.auth.models import User
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.utils import timezone
from support_patterns import block_a
from support_pdf import draw_panels, drawn_panels, one_page
from support_start import start_as_shown

from inventory.ground.findings import Refused
from quotes.clients.clients import keep_measures
from quotes.models import Client as Known
from quotes.models import KeptPattern, PatternRevision
from quotes.pattern.block import Block
from quotes.pattern.drawing import ReadOptions
from quotes.pattern.pattern_json import pattern_from
from quotes.patterns.kept_patterns import keep_block, pattern_of_upload, save_pattern

PATTERNS = Path(__file__).parents[3] / "fixtures" / "patterns"

START = {"cloth_outer": "coutil-white", "cloth_inner": "coutil-white"}


def upload(name: str) -> SimpleUploadedFile:
    return SimpleUploadedFile(Path(name).name, (PATTERNS / name).read_bytes())


def keep(name: str, maker: User, **others: object) -> PatternRevision:
    kept = others.pop("kept", None) or KeptPattern(name=str(others.pop("name", "From a file")))
    said = {"pattern": kept, **others}
    return save_pattern(pattern_of_upload(upload=upload(name), options=ReadOptions(), user=maker, **said))  # type: ignore[arg-type]


@pytest.mark.parametrize(
    "name", ["underbust.dxf", "underbust.svg", "underbust.csv", "underbust.xlsx", "underbust.json"]
)
def test_a_pattern_is_kept_from_any_kind_of_file(maker: User, name: str):
    revision = keep(name, maker)
    pattern = pattern_from(revision.document)
    assert (revision.number, revision.source_name, pattern.panels_per_half) == (1, name, 6)
    assert pattern.closed_waist_mm == pytest.approx(605.0, abs=0.3)


def test_a_pattern_is_kept_from_a_pdf(maker: User):
    panels = drawn_panels()
    file = SimpleUploadedFile("underbust.pdf", one_page(lambda canvas: draw_panels(canvas, panels)))
    made = pattern_of_upload(pattern=KeptPattern(name="From tiles"), upload=file, options=ReadOptions(), user=maker)
    assert pattern_from(save_pattern(made).document).closed_waist_mm == pytest.approx(605.0, abs=0.3)


def test_a_refused_file_keeps_nothing(maker: User):
    with pytest.raises(Refused):
        keep("broken/crossed-outline.json", maker)
    assert not KeptPattern.objects.exists()


def test_a_name_is_kept_once(maker: User):
    keep("underbust.json", maker)
    with pytest.raises(Refused) as caught:
        keep("overbust.json", maker)
    assert [found.code for found in caught.value.findings] == ["pattern.name-taken"]
    assert PatternRevision.objects.count() == 1


def test_the_next_revision_leaves_the_one_before(maker: User):
    first = keep("underbust.json", maker)
    second = keep("overbust.json", maker, kept=first.pattern)
    first.refresh_from_db()
    assert (first.number, second.number) == (1, 2)
    assert pattern_from(first.document).panels_per_half == 6
    assert pattern_from(second.document).panels_per_half == 7
    assert first.pattern.revisions.first() == second


def test_the_fit_said_beside_a_file_is_kept(maker: User):
    revision = keep("underbust.json", maker, body_waist_mm=720.0, gap_mm=50.0)
    pattern = pattern_from(revision.document)
    assert pattern.gap_mm == 50
    assert pattern.reduction_mm == pytest.approx(720 - 50 - pattern.closed_waist_mm)


def test_a_pattern_larger_than_the_body_is_refused(maker: User):
    with pytest.raises(Refused) as caught:
        keep("underbust.json", maker, body_waist_mm=600.0, gap_mm=50.0)
    assert [found.code for found in caught.value.findings] == ["pattern.larger-than-body"]


def test_a_large_reduction_is_warned_of(maker: User):
    revision = keep("underbust.json", maker, body_waist_mm=780.0, gap_mm=50.0)
    assert "pattern.large-reduction" in [row["code"] for row in revision.findings]


def test_a_block_is_good_for_estimating_only(maker: User):
    revision = keep_block(block=block_a(), user=maker)
    assert pattern_from(revision.document).estimating_only


def test_a_gap_said_alone_is_kept_and_the_reduction_proposed(maker: User):
    pattern = pattern_from(keep("underbust.json", maker, gap_mm=60.0).document)
    assert (pattern.gap_mm, pattern.reduction_mm) == (60, None)


def test_a_file_that_takes_nothing_in_is_told(maker: User):
    first = keep("underbust.json", maker)
    body_waist = pattern_from(first.document).closed_waist_mm + 50
    revision = keep("underbust.json", maker, kept=first.pattern, body_waist_mm=body_waist, gap_mm=50.0)
    assert "pattern.nothing-taken-in" in [row["code"] for row in revision.findings]


def unsaid() -> Block:
    """The underbust with nothing said of what is taken in at the waist."""
    levels = tuple(replace(level, take_in_mm=None) if level.height_mm == 0 else level for level in block_a().levels)
    return replace(block_a(), levels=levels)


def test_a_block_of_which_nothing_is_said_is_kept_with_its_proposal(maker: User):
    """A tenth of 720 mm (published drafting tutorial)."""
    revision = keep_block(block=unsaid(), user=maker)
    assert pattern_from(revision.document).reduction_mm == pytest.approx(72)
    assert "72 mm are proposed, 10 % of 720 mm" in revision.findings[0]["message"]


MEASURES = {
    "name": "Draft",
    "panels_per_half": "6",
    "lacing_gap": "5",
    "underbust_girth": "78",
    "underbust_height": "13",
    "waist_girth": "72",
    "bottom_girth": "94",
    "bottom_height": "15",
    **{f"top_{place}": "12" for place in ("front", "side", "back")},
    **{f"bottom_{place}": "13" for place in ("front", "side", "back")},
}


@pytest.mark.parametrize(("said", "reduction_mm"), [("", 72), ("0", 0), ("8", 80)])
def test_the_form_proposes_what_is_left_empty_and_takes_what_is_said(
    browser: Client, books: User, said: str, reduction_mm: float
):
    assert b"Left empty at the waist, 10 % of it is proposed" in browser.get("/patterns/measures/").content
    answer = browser.post("/patterns/measures/", {**MEASURES, "waist_take_in": said})
    revision = PatternRevision.objects.get(pattern__name="Draft")
    assert pattern_from(revision.document).reduction_mm == pytest.approx(reduction_mm)
    shown = browser.get(answer["Location"]).content.decode()
    assert ("72 mm are proposed, 10 % of 720 mm" in shown) == (said == "")


def test_a_clients_draft_starts_from_a_proposal_and_its_quote_tells_the_doubts(browser: Client, books: User):
    client = Known.objects.create(name="Odile Farrant")
    takes = {code: [length] for code, length in (("waist", 720.0), ("underbust", 780.0), ("full-hip", 940.0))}
    keep_measures(client=client, taken_on=timezone.localdate(), unit="cm", notes="", takes_mm=takes, user=books)
    address = f"/patterns/measures/?client={client.pk}"
    shown = browser.get(address)
    assert shown.context["form"]["waist_take_in"].value() == "7.2"
    assert "72.0 cm: put what the wearer wants" in shown.content.decode()
    browser.post(address, {**MEASURES, "waist_take_in": "", "underbust_take_in": "20"})
    draft = KeptPattern.objects.get(name="Draft")
    said = start_as_shown(browser, title="Belt", client=client.pk, pattern=draft.pk, **START)
    answer = browser.post("/quotes/new/", said, follow=True)
    words = answer.content.decode()
    assert words.count("72 mm are proposed, 10 % of 720 mm") == 1
    assert words.count("200 mm (25.6 %) is taken in here") == 1


def test_a_file_without_a_fit_shows_its_proposal(browser: Client, books: User):
    revision = keep("underbust.json", books)
    shown = browser.get(f"/patterns/{revision.pattern.pk}/").content.decode()
    assert "10 % of the body waist are taken as a proposal" in shown
