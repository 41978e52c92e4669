"""The offer: what it names is what was costed; in three languages, on two papers; a draft says so.

Sources: PDF text as a general-purpose PDF library reads it; sizes of paper: ISO 216 and ANSI/ASME Y14.1.
"""

from dataclasses import replace
from datetime import date
from io import BytesIO
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pypdf import PdfReader
from support_commissions import commission
from support_snapshots import sealed

from quotes.commission.quote import quote_commission
from quotes.documents.offer import OptionPaper, offer_paper, offer_pdf
from quotes.drawings.worn import worn_garments
from quotes.languages.catalogue import LANGUAGES, Catalogue, catalogue
from quotes.seal.offered import Offer, Offerer
from quotes.seal.sealing import offered_materials
from quotes.seal.snapshot import SNAPSHOT, Snapshot, offer_fingerprint

WHO = Offerer(phone="+00 12 34", email="tansy@example.org", tax_number="T 55", payment_details="Bank of Marl, 12 34 56")


def offered(changes: dict[str, object] | None = None, **offer: object) -> Snapshot:
    """The example commission as it is put to its client."""
    snapshot = sealed(changes)
    asked = commission(changes)
    materials = offered_materials(snapshot.quotation, asked.price_list)
    worn = worn_garments(quote_commission(asked))
    put = Offer(offerer=WHO, promised=date(2027, 3, 1), materials=materials, worn=worn)
    return replace(snapshot, offer=replace(put, **offer))


def pdf(snapshot: Snapshot, *, language: str = "en", is_draft: bool = False) -> PdfReader:
    return PdfReader(BytesIO(offer_pdf(snapshot, catalogue(language), is_draft=is_draft)))


def text(reader: PdfReader) -> str:
    return " ".join(" ".join(page.extract_text().split()) for page in reader.pages)


def said(option: OptionPaper) -> dict[str, str]:
    return {fact.about: fact.words for fact in option.facts}


@pytest.mark.parametrize("language", LANGUAGES)
def test_page_and_pdf_say_the_same_in_each_language(language: str):
    snapshot = offered()
    paper = offer_paper(snapshot, catalogue(language), is_draft=False)
    printed = text(pdf(snapshot, language=language)).replace("\u00a0", " ").replace("\u202f", " ")
    assert len(paper.options) == len(snapshot.quotation.options) > 1
    for words in (
        paper.number,
        paper.title,
        *(day for row in paper.dates for day in row),
        *(words for option in paper.options for words in (option.name, option.price, *said(option).values())),
        *(section.heading for section in paper.sections),
        "Bank of Marl, 12 34 56",
        paper.acceptance.paragraphs[0],
    ):
        assert " ".join(words.replace("\u202f", " ").split()) in printed, words


def test_nothing_that_the_program_says_is_outside_the_catalogue():
    """Every message is marked by a catalogue that only marks; what is left unmarked is the maker's own or a figure."""

    class Marking(Catalogue):
        def text(self, message: str, **facts: object) -> str:
            return f"‹{message.format(**facts)}›"

        def count(self, one: str, many: str, number: int, **facts: object) -> str:
            return f"‹{many.format(number=number, **facts)}›"

    english = catalogue("en")
    snapshot = offered()
    paper = offer_paper(snapshot, Marking("en", english.locale, english.translations), is_draft=True)
    assert snapshot.offer is not None
    own = {row.name for row in snapshot.offer.materials}
    assert all(words.startswith("‹") for words, _ in paper.dates)
    assert all(words.startswith("‹") for words in (paper.number, paper.client, paper.across, *paper.signatures))
    for option in paper.options:
        assert option.tax.startswith("‹")
        assert all(words.startswith("‹") for words, _ in option.deposit)
        for fact in option.facts:
            assert fact.about.startswith("‹")
            assert fact.words.startswith("‹") or any(name in fact.words for name in own), fact
    assert all(section.heading.startswith("‹") for section in paper.sections)
    template = Path(__file__).parents[3] / "quotes" / "documents" / "offer.typ"
    marked = template.read_text(encoding="utf-8")
    assert not [words for words in ("Quote ", "Page", "page of", "Ready", "Deposit", "Accept") if f"[{words}" in marked]


FRONTS = ["busk", "zip", "closed"]
CHECKED_MIN = 30
"""A pattern that is there is checked for half an hour: the trade's default times, common practice."""


@settings(max_examples=15, deadline=None)
@given(st.sampled_from(FRONTS), st.booleans(), st.booleans(), st.integers(0, 3))
def test_what_an_offer_names_is_what_its_lines_cost(front: str, kept: bool, toile: bool, fittings: int):
    asked = commission(None)
    cloths = [row for row in asked.price_list if row.kind.value == "cloth"]
    rows = []
    for number, outer in enumerate(cloths):
        rows.append(
            {
                "name": f"Option {number}",
                "construction": "two-layer",
                "cloths": {"outer": outer.code, "inner": cloths[0].code},
                "choices": {"front": front, "kept_pattern": kept, "toile": toile, "fittings": fittings},
            }
        )
    snapshot = offered({"options": rows})
    paper = offer_paper(snapshot, catalogue("en"), is_draft=False)
    for outer, option, page in zip(cloths, snapshot.quotation.options, paper.options, strict=True):
        facts = said(page)
        lines = {line.needed.family: line for line in option.takeoff.lines}
        assert facts["Cloth outside"].startswith(outer.title)
        paid = {line.material for line in option.lines_of("material")}
        assert outer.code in paid
        names = {row.code: row.title for row in asked.price_list}
        if front == "closed":
            assert facts["Front"] == "closed"
            assert not {"busk", "zip"} & set(lines)
        else:
            assert facts["Front"].endswith(f": {names.get(lines[front].material, lines[front].material)}")
        assert names[lines["grommet"].material] in facts["Lacing"]
        assert names[lines["cord"].material] in facts["Lacing"]
        assert facts["Lacing"].startswith(f"{option.takeoff.grommets.sets} ")
        minutes = {row.code: row.minutes for row in option.takeoff.labour.operations}
        assert (facts["Pattern"] == "drafted for you") == (not kept)
        assert (minutes.get("DRAFT", 0) == 0) == kept
        assert minutes.get("CHECK", 0) == (CHECKED_MIN if kept else 0)


def test_a_draft_says_so_across_and_a_sealed_offer_does_not():
    assert "DRAFT" in text(pdf(offered(), is_draft=True))
    assert "DRAFT" not in text(pdf(offered()))


@pytest.mark.parametrize(("paper", "size"), [("a4", (595, 842)), ("us-letter", (612, 792))])
def test_paper_is_of_its_size(paper: str, size: tuple[int, int]):
    box = pdf(offered(paper=paper)).pages[0].mediabox
    assert (round(box.width), round(box.height)) == size


@pytest.mark.parametrize("language", LANGUAGES)
def test_an_offer_is_archival_accessible_and_in_its_language(language: str):
    made = offer_pdf(offered(), catalogue(language), is_draft=True)
    assert b"pdfaid" in made
    assert b"pdfuaid" in made
    assert PdfReader(BytesIO(made)).trailer["/Root"]["/Lang"].startswith(language)


def test_the_wish_stays_inside_and_the_promise_is_printed():
    printed = text(pdf(offered()))
    assert "1 March 2027" in printed
    assert "6 March 2027" not in printed
    assert "promise" not in text(pdf(offered(promised=None)))


def test_own_terms_take_the_place_of_the_usual_ones():
    printed = text(pdf(offered(terms="Half before, half after.\nNo rush work in June.")))
    assert "No rush work in June." in printed
    assert "A change after cutting" not in printed


def test_the_seal_keeps_the_offer_and_another_name_of_a_cloth_moves_its_fingerprint():
    snapshot = offered()
    assert SNAPSHOT.read(SNAPSHOT.written(snapshot)) == snapshot
    assert snapshot.offer is not None
    renamed = tuple(replace(row, name=f"{row.name}!") for row in snapshot.offer.materials)
    assert offer_fingerprint(replace(snapshot, offer=replace(snapshot.offer, materials=renamed))) != offer_fingerprint(
        snapshot
    )
    later = replace(snapshot.offer, promised=date(2027, 5, 1))
    assert offer_fingerprint(replace(snapshot, offer=later)) == offer_fingerprint(snapshot)


@pytest.mark.parametrize("name", ["水野 澄子", "#strong[Odile] $x^2$ @ref", '<b>"Odile"</b>', "{client} %s"])
def test_what_people_type_is_set_as_it_is(name: str):
    snapshot = offered()
    snapshot = replace(snapshot, letterhead=replace(snapshot.letterhead, client=name, title=name))
    assert offer_paper(snapshot, catalogue("en"), is_draft=False).client == f"For {name}"
    assert offer_pdf(snapshot, catalogue("de"), is_draft=False).startswith(b"%PDF-")


def test_an_offer_shows_each_option_as_it_was_sealed_and_says_in_words_what_it_shows():
    snapshot = offered()
    paper = offer_paper(snapshot, catalogue("fr"), is_draft=False)
    for option in paper.options:
        assert [view.caption for view in option.views] == ["devant", "dos"]
        assert all(view.shows.startswith(option.name) for view in option.views)
    printed = pdf(snapshot, language="fr")
    figures = [shape for shape in structure(printed) if shape.get("/S") == "/Figure"]
    assert [shape["/Alt"] for shape in figures] == [view.shows for option in paper.options for view in option.views]
    assert snapshot.offer is not None
    plain = replace(snapshot, offer=replace(snapshot.offer, worn=()))
    assert not [view for option in offer_paper(plain, catalogue("fr"), is_draft=False).options for view in option.views]
    assert offer_fingerprint(plain) != offer_fingerprint(snapshot)


def structure(reader: PdfReader) -> list[dict[str, str]]:
    """The elements of a tagged PDF in the order of reading (ISO 32000-1, 14.7)."""
    found, ways = [], [reader.trailer["/Root"]["/StructTreeRoot"]]
    while ways:
        element = ways.pop()
        found.append(element)
        children = element.get("/K", [])
        children = children if isinstance(children, list) else [children]
        ways += [
            child
            for child in reversed([one.get_object() for one in children])
            if isinstance(child, dict) and "/S" in child
        ]
    return found
