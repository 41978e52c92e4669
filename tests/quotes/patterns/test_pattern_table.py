"""The pattern table, from a drawing to a kept pattern. Figures by closed form: boxes of 80 × 240 mm, two or four a half."""

import json
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.core.files.uploadedfile import SimpleUploadedFile
from django.http import HttpResponse
from django.test import Client as Browser
from django.utils import timezone
from pytest_django import DjangoAssertNumQueries
from support_table import lay_down, say, sent_by

from quotes.models import KeptPattern, PatternHandIn, PatternRevision
from quotes.pattern.pattern_json import pattern_from
from quotes.patterns import hand_ins

PATTERNS = Path(__file__).parents[3] / "fixtures" / "patterns"


def boxes(*heights: float, width: float = 80.0, units: str = "mm") -> bytes:
    """A JSON pattern of boxes that stand on one level, their waists 120 above it."""
    panels = [
        {
            "number": number,
            "outline": [[x, y] for x, y in ((0, 0), (width, 0), (width, height), (0, height))],
            "waist": 0.5 * min(heights),
        }
        for number, height in enumerate(heights, start=1)
    ]
    return json.dumps({"name": "Boxes", "units": units, "panels": panels}).encode()


def shown(browser: Browser, address: str) -> dict[str, Any]:
    """What the page sends when it is left as it is shown."""
    return sent_by(browser.get(address))


def keep(browser: Browser, address: str, **said: Any) -> HttpResponse:
    return browser.post(f"{address}keep/", {**shown(browser, address), **said})


def kept() -> PatternRevision:
    return PatternRevision.objects.latest("pk")


@pytest.mark.parametrize(
    "name", ["underbust.dxf", "underbust.svg", "underbust.csv", "underbust.json", "underbust-block.json"]
)
def test_a_file_that_needs_nothing_is_kept_at_one_press(browser: Browser, name: str):
    address = lay_down(browser, (PATTERNS / name).read_bytes(), name)
    answer = keep(browser, address)
    assert answer.status_code == 302
    revision = kept()
    assert answer["Location"] == f"/patterns/{revision.pattern_id}/"
    assert (revision.number, revision.source_name, revision.pattern.name) == (1, name, name.partition(".")[0])
    assert revision.panels.panels_per_half == 6
    if "block" not in name:
        assert revision.panels.closed_waist_mm == pytest.approx(605.0, abs=0.3)


def test_what_the_table_keeps_is_what_the_older_form_keeps(browser: Browser):
    data = (PATTERNS / "overbust.svg").read_bytes()
    browser.post("/patterns/new/", {"name": "Older", "file": SimpleUploadedFile("overbust.svg", data)})
    older = kept()
    keep(browser, lay_down(browser, data, "overbust.svg"), name="Table")
    assert {**kept().document, "name": ""} == {**older.document, "name": ""}
    assert kept().findings == older.findings


def test_the_page_shows_each_piece_the_waist_and_the_seams(browser: Browser):
    address = lay_down(browser, boxes(240.0, 240.0, 240.0, 242.0), "boxes.json")
    page = browser.get(address).content.decode()
    assert "closed waist <b>64.0 cm</b>" in page
    assert [f'id="outline-{index}"' in page for index in (1, 2, 3, 4, 5)] == [True, True, True, True, False]
    assert "known-square" in page
    assert page.count("drawing-unrolled") == 3
    assert "-2.0 mm" in page
    assert "The edges differ by 2.00 mm" in page


def test_a_wrong_unit_is_caught_and_mended_by_one_choice(browser: Browser):
    """Boxes of 80 × 240 points taken for millimetres would be 1814 mm round at the waist, in points 640."""
    address = lay_down(browser, boxes(*[240.0 * 72 / 25.4] * 4, width=80.0 * 72 / 25.4), "boxes.json")
    first = browser.get(address)
    assert not first.context["page"].can_keep
    assert keep(browser, address).status_code == 422
    assert not KeptPattern.objects.exists()
    choices = {row.choice.data["value"]: row.waist for row in first.context["page"].scales}
    points = next(value for value, waist in choices.items() if waist == "closed waist 64.0 cm")
    answer = say(browser, address, scale=points)
    assert answer.context["page"].can_keep
    assert keep(browser, address).status_code == 302
    assert kept().panels.closed_waist_mm == pytest.approx(640.0)


def test_outlines_change_places_and_are_left_out(browser: Browser):
    address = lay_down(browser, boxes(240.0, 240.0, 240.0), "boxes.json")
    answer = say(browser, address, number_1=2)
    assert [field.value() for field in numbers(answer)] == [2, 1, 3]
    answer = say(browser, address, number_3=0)
    assert [field.value() for field in numbers(answer)] == [2, 1, 0]
    keep(browser, address)
    assert kept().panels.panels_per_half == 2


def numbers(answer: HttpResponse) -> list[Any]:
    form = answer.context["form"]  # type: ignore[attr-defined]
    return [form[name] for name in form.fields if name.startswith("number_")]


def test_a_waist_is_moved_and_stays_where_it_was_put(browser: Browser):
    address = lay_down(browser, boxes(240.0, 240.0), "boxes.json")
    answer = say(browser, address, waist_1="13", waist_2="13")
    assert [panel.waist_mm for panel in pattern_shown(answer)] == [130.0, 130.0]
    answer = say(browser, address, ease=["1"])
    assert [panel.waist_mm for panel in pattern_shown(answer)] == [130.0, 130.0]
    keep(browser, address)
    assert [panel.waist_mm for panel in kept().panels.panels] == [130.0, 130.0]
    assert kept().panels.ease == frozenset({1})


def pattern_shown(answer: HttpResponse) -> Any:
    pattern = answer.context["form"].look.pattern  # type: ignore[attr-defined]
    assert pattern is not None
    return pattern.panels


def test_a_cut_line_with_its_allowances(browser: Browser):
    address = lay_down(browser, boxes(240.0, 240.0, 240.0, 240.0), "boxes.json")
    answer = say(browser, address, line="cut")
    assert not answer.context["page"].can_keep
    answer = say(browser, address, allowance="1")
    assert answer.context["page"].closed_waist == "48.0 cm"
    answer = say(
        browser,
        address,
        allowance="",
        allowance_front="1",
        allowance_back="0.5",
        allowance_top="0.5",
        allowance_bottom="0",
    )
    assert answer.context["page"].closed_waist == "52.0 cm"
    refused = browser.post(address, {**shown(browser, address), "allowance_top": ""}, headers={"HX-Request": "true"})
    assert refused.status_code == 422
    assert "Say the allowance of the other edges too" in refused.content.decode()


def test_what_was_said_without_looking_is_shown_before_it_is_kept(browser: Browser):
    address = lay_down(browser, boxes(240.0, 240.0, 240.0), "boxes.json")
    answer = keep(browser, address, number_3=0)
    assert (answer.status_code, answer["Location"]) == (302, address)
    assert not KeptPattern.objects.exists()
    assert keep(browser, address).status_code == 302
    assert kept().panels.panels_per_half == 2


def test_it_begins_again_as_proposed(browser: Browser):
    address = lay_down(browser, boxes(240.0, 240.0, 240.0), "boxes.json")
    say(browser, address, number_3=0)
    answer = say(browser, address, do="start-over")
    assert [field.value() for field in numbers(answer)] == [1, 2, 3]


def test_the_next_revision_of_a_kept_pattern(browser: Browser, maker: User):
    keep(browser, lay_down(browser, boxes(240.0, 240.0), "boxes.json"), name="Boxes")
    address = lay_down(
        browser, boxes(240.0, 240.0, 240.0), "boxes.json", address=f"/patterns/{kept().pattern_id}/hand-in/"
    )
    assert b"the next revision of Boxes" in browser.get(address).content
    keep(browser, address)
    assert [(revision.number, revision.created_by) for revision in KeptPattern.objects.get().revisions.all()] == [
        (2, maker),
        (1, maker),
    ]


def test_whom_it_fits_is_kept_with_it(browser: Browser):
    address = lay_down(browser, boxes(240.0, 240.0, 240.0, 240.0), "boxes.json")
    assert b"Say the lacing gap too" in keep(browser, address, body_waist="76").content
    keep(browser, address, body_waist="76", lacing_gap="5")
    assert kept().panels.reduction_mm == pytest.approx(760.0 - 640.0 - 50.0)


def test_a_kept_drawing_leads_to_its_pattern_and_is_held_no_longer(browser: Browser):
    address = lay_down(browser, boxes(240.0, 240.0), "boxes.json")
    keep(browser, address)
    assert PatternHandIn.objects.get().document == {}
    for answer in (browser.get(address), browser.post(address, {}), browser.post(f"{address}keep/", {})):
        assert (answer.status_code, answer["Location"]) == (302, f"/patterns/{kept().pattern_id}/")
    assert PatternRevision.objects.count() == 1


def test_a_name_that_is_taken_is_refused_at_its_field(browser: Browser):
    keep(browser, lay_down(browser, boxes(240.0, 240.0), "boxes.json"), name="Taken")
    answer = keep(browser, lay_down(browser, boxes(240.0, 240.0), "boxes.json"), name="Taken")
    assert answer.status_code == 422
    assert "is kept already" in answer.content.decode()
    assert (
        browser.get(lay_down(browser, boxes(240.0, 240.0), "boxes.json")).context["keeping"]["name"].value() == "boxes"
    )


@pytest.mark.parametrize(
    ("name", "data", "words"),
    [
        ("hostile.svg", (PATTERNS / "broken" / "entity-bomb.svg"), "entit"),
        ("words.txt", b"Panel 1", "no kind of pattern file"),
        ("empty.svg", b" ", "empty"),
        ("list.json", b"[1, 2]", "must hold an object"),
    ],
)
def test_what_is_no_pattern_file_is_refused_in_words(browser: Browser, name: str, data: bytes | Path, words: str):
    content = data.read_bytes() if isinstance(data, Path) else data
    answer = browser.post("/patterns/table/", {"file": SimpleUploadedFile(name, content)})
    assert answer.status_code == 422
    assert words in answer.content.decode()
    assert not PatternHandIn.objects.exists()


def test_a_drawing_of_too_many_points_is_refused(browser: Browser, monkeypatch: pytest.MonkeyPatch):
    """The limit is lower in the test; the file is read in this process for that."""
    monkeypatch.setattr("quotes.pattern.table.lying.MOST_POINTS", 7)
    monkeypatch.setattr("quotes.pattern.table.lying.confined", lambda call, *given, name, mend: call(*given))
    answer = browser.post("/patterns/table/", {"file": SimpleUploadedFile("boxes.json", boxes(240.0, 240.0))})
    assert answer.status_code == 422
    assert "has 8 points" in answer.content.decode()


def test_drawings_that_nobody_kept_go_after_a_while(browser: Browser, monkeypatch: pytest.MonkeyPatch):
    lay_down(browser, boxes(240.0, 240.0), "boxes.json")
    PatternHandIn.objects.update(made_at=timezone.now() - timedelta(days=hand_ins.KEPT_DAYS, hours=1))
    lay_down(browser, boxes(240.0, 240.0), "boxes.json")
    assert PatternHandIn.objects.count() == 1
    monkeypatch.setattr(hand_ins, "MOST_OPEN", 2)
    lay_down(browser, boxes(240.0, 240.0), "boxes.json")
    last = lay_down(browser, boxes(240.0, 240.0), "boxes.json")
    assert PatternHandIn.objects.count() == 2
    assert browser.get(last).status_code == 200


def test_looking_again_asks_little_of_the_database(
    browser: Browser, django_assert_max_num_queries: DjangoAssertNumQueries
):
    """Session, user, workroom and the drawing without its document, which is read once."""
    address = lay_down(browser, boxes(240.0, 240.0), "boxes.json")
    browser.get(address)
    with django_assert_max_num_queries(6):
        browser.get(address)


@pytest.mark.parametrize(
    "said",
    [
        {"number_1": "99"},
        {"corners": "1:0,0;nan,0;1,1;0,1"},
        {"corners": "1:0,0"},
        {"waist_1": "much"},
        {"allowance": "-3"},
        {"scale": "7"},
        {"ease": ["8"]},
    ],
)
def test_nonsense_is_answered_by_422(browser: Browser, said: dict[str, Any]):
    address = lay_down(browser, boxes(240.0, 240.0), "boxes.json")
    for place in (address, f"{address}keep/"):
        assert browser.post(place, {**shown(browser, address), **said}).status_code == 422
    assert not KeptPattern.objects.exists()


def test_a_pattern_reads_back_as_it_was_shown(browser: Browser):
    address = lay_down(browser, boxes(240.0, 240.0), "boxes.json")
    panels = pattern_shown(browser.get(address))
    keep(browser, address)
    assert pattern_from(kept().document).panels == panels


ODD = b"""<svg xmlns="http://www.w3.org/2000/svg" width="400mm" height="300mm" viewBox="0 0 400 300">
<path id="panel-1" d="M20 20 L80 20 L100 60 L90 150 L95 240 L70 270 L20 270 Z"/>
<path id="panel-2" d="M150 20 L240 20 L230 150 L245 270 L150 270 L160 150 Z"/></svg>"""
"""Panel 1 turns six times about alike; nobody can tell which four are its corners."""


def test_corners_that_cannot_be_told_are_picked_at_the_piece(browser: Browser):
    address = lay_down(browser, ODD, "odd.svg")
    page = browser.get(address)
    assert [piece.number for piece in page.context["page"].pieces if piece.must_pick] == [1]
    assert b"Press its four corners below" in page.content
    say(browser, address, corners="1:20,-270;70,-270;80,-20;20,-20")
    answer = say(browser, address, ease=["1"])
    assert answer.context["page"].can_keep
    keep(browser, address)
    panel = kept().document["panels"][0]
    assert panel["bottom"][0] == pytest.approx([20, -270])
    assert panel["bottom"][-1] == pytest.approx([70, -270])
