"""What the cutter works from: the lay as it was quoted, on paper and for the plotter; the rule is the product's own."""

from io import StringIO

import ezdxf
import pytest
from django.contrib.auth.models import User
from django.test import Client as Browser
from django.urls import reverse

from quotes.desk.figures import commission_of
from quotes.desk.kept_lays import draw_next
from quotes.desk.quoting import change_draft
from quotes.models import DrawnLay, QuoteRevision


@pytest.fixture
def drawn(draft: QuoteRevision, books: User) -> QuoteRevision:
    draw_next(commission_of(draft.inputs, draft.pattern), at_once=9)
    return change_draft(revision=draft, change=lambda inputs: inputs, user=books)


def paper(revision: QuoteRevision, kind: str, cloth: str = "coutil-white") -> str:
    return reverse("quotes:lay-paper", args=[revision.quote_id, revision.number, 0, cloth, kind])


def test_the_sheet_leads_to_the_papers_of_each_lay(drawn: QuoteRevision, browser: Browser):
    sheet = browser.get(reverse("quotes:sheet", args=[drawn.quote_id, drawn.number, 0])).content.decode()
    for kind in ("pdf", "dxf", "svg"):
        assert paper(drawn, kind) in sheet
    assert "none can be " in sheet
    assert browser.get(paper(drawn, "pdf")).content.startswith(b"%PDF-")
    assert b"<svg" in browser.get(paper(drawn, "svg")).content


def test_the_plotter_file_has_every_piece_of_the_cloth(drawn: QuoteRevision, browser: Browser):
    document = ezdxf.read(StringIO(browser.get(paper(drawn, "dxf")).content.decode()))
    (need,) = [need for need in drawn.snapshot.quotation.options[0].takeoff.cloths if need.material == "coutil-white"]
    assert len(document.modelspace().query("INSERT")) == need.pieces


def test_a_lay_that_is_not_there_as_it_was_quoted_has_no_papers(drawn: QuoteRevision, browser: Browser):
    assert browser.get(paper(drawn, "doc")).status_code == 404
    assert browser.get(paper(drawn, "pdf", cloth="velvet")).status_code == 302
    for row in DrawnLay.objects.all():
        row.plan = {**row.plan, "length": row.plan["length"] + 1}
        row.save()
    answer = browser.get(paper(drawn, "pdf"), follow=True)
    assert "This lay is not kept as it was quoted." in answer.content.decode()
