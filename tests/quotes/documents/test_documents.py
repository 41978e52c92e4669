"""The documents of a quote: made from the snapshot alone, complete, safe to open.

Sources: PDF text as a general-purpose PDF library reads it; formula injection as the OWASP cheat sheet on CSV injection
describes it (from memory); the cautions are common practice.
"""

import json
from io import BytesIO
from typing import Any

import openpyxl
import pytest
from pypdf import PdfReader
from support_snapshots import sealed

from inventory.ground.wording import day_text, money_text, percent_text, unit_cost_text
from quotes.documents.earlier_quote import earlier_quote, earlier_quote_pdf
from quotes.documents.internal_sheet import internal_workbook
from quotes.seal.snapshot import SNAPSHOT, Snapshot, fingerprint


def pdf_text(document: Snapshot) -> str:
    pages = PdfReader(BytesIO(earlier_quote_pdf(document))).pages
    return " ".join(" ".join(page.extract_text().split()) for page in pages)


def cells(document: Snapshot) -> list[Any]:
    book = openpyxl.load_workbook(BytesIO(internal_workbook(document)))
    return [cell for sheet in book for row in sheet.iter_rows() for cell in row if cell.value is not None]


def test_the_client_reads_what_is_included_paid_and_warned_of():
    text = pdf_text(sealed())
    for words in (
        "Tansy Lane Workroom",
        "For Odile Farrant",
        "Underbust in bottle green",
        "Quote 7, revision 2",
        "4 January 2027",
        "This offer holds until 25 January 2027",
        "Ready by 6 March 2027",
        "Three layers, flossed",
        "A steel busk in front",
        "An open-ended zip in front",
        "24 grommets with washers and lacing cord",
        "Deposit, when you accept",
        "Balance, before hand-over",
        "a garment, not a medical device",
        "nickel",
    ):
        assert words in text, words


def test_prices_on_the_pdf_are_those_of_the_snapshot():
    document = sealed()
    text = pdf_text(document)
    for option in document.quotation.options:
        assert money_text(option.gross, "EUR") in text
        assert money_text(option.deposit[0], "EUR") in text


def test_nothing_of_the_workrooms_own_figures_reaches_the_client():
    text = pdf_text(sealed())
    assert "margin" not in text.lower()
    assert "profit" not in text.lower()


def test_the_same_snapshot_gives_the_same_bytes():
    document = sealed()
    assert earlier_quote_pdf(document) == earlier_quote_pdf(document)
    written = SNAPSHOT.written(document)
    assert fingerprint(written) == fingerprint(json.loads(json.dumps(written)))


def test_a_changed_cent_changes_the_seal():
    document = SNAPSHOT.written(sealed())
    other = json.loads(json.dumps(document))
    other["quotation"]["options"][0]["gross"] = "0.01"
    assert fingerprint(document) != fingerprint(other)


@pytest.mark.parametrize("name", ["水野 澄子", "#strong[Odile] $x^2$ @ref", "Odile \\ *Farrant* _O_", '<b>"Odile"</b>'])
def test_names_are_set_as_they_are_and_never_break_the_document(name: str):
    document = sealed(client=name, title=name)
    assert earlier_quote(document).client == name
    assert earlier_quote_pdf(document).startswith(b"%PDF-")


def test_markup_in_a_name_is_text():
    assert "For #strong[Odile] *x*" in pdf_text(sealed(client="#strong[Odile] *x*"))


def test_the_sheet_has_every_line_of_every_option():
    document = sealed()
    values = {str(cell.value) for cell in cells(document)}
    for option in document.quotation.options:
        assert option.name in values
        for line in option.lines:
            assert line.what in values, line.code
        for run in option.takeoff.bones:
            assert run.where in values


@pytest.mark.parametrize("start", ["=", "+", "-", "@"])
def test_text_that_looks_like_a_formula_is_inert(start: str):
    name = f"{start}1+cmd|' /C calc'!A0"
    document = sealed({"options.0.name": name, "extras.0.what": name})
    found = [cell for cell in cells(document) if name in str(cell.value)]
    assert found
    assert all(cell.data_type != "f" for cell in found)


def test_only_cautions_that_apply_are_given():
    closed = {f"options.{index}.choices": {"front": "closed", "toile": False} for index in range(3)}
    gentle = earlier_quote(sealed()).cautions
    assert any("nickel" in caution for caution in gentle)
    assert not any("100 mm" in caution or "large reduction" in caution.lower() for caution in gentle)
    assert earlier_quote(sealed(closed)).cautions


def test_amounts_days_and_shares_in_words():
    """British English by CLDR; ISO 4217 for decimals."""
    assert money_text("1030.20", "EUR") == "€1,030.20"
    assert money_text("121500", "JPY") == "JP¥121,500"
    assert day_text("2027-01-04") == "4 January 2027"
    assert (percent_text("0.21"), percent_text("1"), percent_text("0.045")) == ("21 %", "100 %", "4.5 %")
    assert (unit_cost_text("41.5", "EUR"), unit_cost_text("0.008", "EUR")) == ("€41.50", "€0.008")
