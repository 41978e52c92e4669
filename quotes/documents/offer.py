"""The offer as the client reads it: one source for the page, the preview and the PDF, made from the snapshot alone."""

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from pathlib import Path

from inventory.ground.pictures import Picture, picture_as_svg
from inventory.ground.typesetting import typeset
from quotes.documents.offer_wording import OfferedFact, offered_facts
from quotes.documents.offered_views import NO_PICTURES, OfferedView, offered_views
from quotes.documents.wording import brief_cautions
from quotes.languages.catalogue import Catalogue
from quotes.seal.offered import Offer
from quotes.seal.sealed import SealedOption
from quotes.seal.snapshot import Letterhead, Snapshot

__all__ = ["OfferPaper", "OptionPaper", "differences", "offer_paper", "offer_pdf", "pictures_named"]

_TEMPLATE = Path(__file__).with_name("offer.typ")


@dataclass(frozen=True, slots=True, kw_only=True)
class OptionPaper:
    """One option: its price, how it looks, what it holds line by line, and how it is paid, as text."""

    name: str
    price: str
    tax: str
    views: list[OfferedView]
    facts: list[OfferedFact]
    deposit: list[tuple[str, str]]


@dataclass(frozen=True, slots=True, kw_only=True)
class PaperSection:
    """Paragraphs under a heading."""

    heading: str
    paragraphs: list[str]


@dataclass(frozen=True, slots=True, kw_only=True)
class OfferPaper:
    """All that an offer shows, as text in the client's language; the page of `page_words` is filled in where it is set.

    `across` stands across each page of a draft, and is empty once the offer is sealed. `logo` is the address of the
    workroom's logo, the picture itself in it; empty for none.
    """

    language: str
    paper: str
    across: str
    logo: str
    workroom: str
    address: list[str]
    contact: list[str]
    number: str
    quoted_on: str
    client: str
    title: str
    dates: list[tuple[str, str]]
    options: list[OptionPaper]
    sections: list[PaperSection]
    acceptance: PaperSection
    signatures: list[str]
    page_words: str


def offer_paper(
    snapshot: Snapshot, say: Catalogue, *, is_draft: bool, pictures: Mapping[str, Picture] = NO_PICTURES
) -> OfferPaper:
    """Return what the client reads, from the snapshot alone, in the language of the catalogue.

    Args:
        pictures: by their digests those that the offer names (`pictures_named`); one that is not there is not shown.

    Raises:
        ValueError: a snapshot that was sealed before offers said how they are put (`earlier_quote` prints it).
    """
    offer, head, quotation = snapshot.offer, snapshot.letterhead, snapshot.quotation
    if offer is None:
        raise ValueError("This snapshot is of an earlier form.")
    dates = [
        (say.text("We promise it for"), say.day(offer.promised)),
        (say.text("This offer holds until"), say.day(head.valid_until)),
    ]
    several = len(quotation.options) > 1
    return OfferPaper(
        language=say.language,
        paper=offer.paper,
        across=say.text("DRAFT") if is_draft else "",
        logo=pictures[offer.logo].address if offer.logo in pictures else "",
        workroom=head.workroom,
        address=head.address.splitlines(),
        contact=_contact(offer, say),
        number=_number(head, say),
        quoted_on=say.day(head.quoted_on),
        client=say.text("For {client}", client=head.client) if head.client else "",
        title=head.title,
        dates=[(words, day) for words, day in dates if day],
        options=[
            OptionPaper(
                name=option.name,
                price=say.money(option.gross, quotation.currency),
                tax=_tax_words(option, snapshot, say),
                views=offered_views(option, offer, say, pictures=pictures, key=f"option{index}"),
                facts=offered_facts(option, snapshot, offer, say),
                deposit=[
                    (_instalment_words(number, len(option.deposit), say), say.money(part, quotation.currency))
                    for number, part in enumerate(option.deposit)
                ],
            )
            for index, option in enumerate(quotation.options)
        ],
        sections=[section for section in _sections(snapshot, offer, say) if section.paragraphs],
        acceptance=PaperSection(
            heading=say.text("Acceptance"),
            paragraphs=[
                say.text("I accept the option that I name here, at its price and on these terms.")
                if several
                else say.text("I accept this offer at its price and on these terms.")
            ],
        ),
        signatures=[*([say.text("Option")] if several else []), say.text("Name"), say.text("Date and signature")],
        page_words=say.text("Page {page} of {pages}", page="{page}", pages="{pages}"),
    )


def differences(paper: OfferPaper) -> list[tuple[str, list[str]]]:
    """Return what the options of an offer differ in: what it is about, and each option's words, empty where it has none."""
    options = [{fact.about: fact.words for fact in option.facts} for option in paper.options]
    abouts = dict.fromkeys(about for facts in options for about in facts)
    rows = [(about, [facts.get(about, "") for facts in options]) for about in abouts]
    return [(about, words) for about, words in rows if len(set(words)) > 1]


def offer_pdf(
    snapshot: Snapshot, say: Catalogue, *, is_draft: bool, pictures: Mapping[str, Picture] = NO_PICTURES
) -> bytes:
    """Return the offer as a PDF; the same snapshot gives the same bytes. Takes and raises as `offer_paper`."""
    paper = asdict(offer_paper(snapshot, say, is_draft=is_draft, pictures=pictures))
    logo = pictures.get(snapshot.offer.logo) if snapshot.offer is not None else None
    data = {**paper, "logo": picture_as_svg(logo) if logo is not None else ""}
    return typeset(_TEMPLATE.read_bytes(), data, dated=snapshot.letterhead.quoted_on)


def pictures_named(snapshot: Snapshot) -> set[str]:
    """Return the digests of the pictures that an offer shows."""
    if snapshot.offer is None:
        return set()
    return {snapshot.offer.logo, *(row.swatch for row in snapshot.offer.materials)} - {""}


def _number(head: Letterhead, say: Catalogue) -> str:
    if head.number is None:
        return ""
    return say.text("Offer {number}, revision {revision}", number=head.number, revision=head.revision)


def _contact(offer: Offer, say: Catalogue) -> list[str]:
    who = offer.offerer
    lines = [
        who.legal_name,
        who.phone,
        who.email,
        who.registration_number and say.text("Registration {number}", number=who.registration_number),
        who.tax_number and say.text("Tax number {number}", number=who.tax_number),
    ]
    return [line for line in lines if line]


def _tax_words(option: SealedOption, snapshot: Snapshot, say: Catalogue) -> str:
    if not option.tax:
        return say.text("No tax is charged.")
    currency = snapshot.quotation.currency
    return say.text(
        "{net} and {tax} tax at {share}",
        net=say.money(option.net, currency),
        tax=say.money(option.tax, currency),
        share=say.percent(snapshot.rates.tax_share),
    )


def _instalment_words(index: int, count: int, say: Catalogue) -> str:
    if count == 1:
        return say.text("When you accept")
    if index == 0:
        return say.text("Deposit, when you accept")
    return (
        say.text("Balance, before hand-over")
        if index == count - 1
        else say.text("Instalment {number}", number=index + 1)
    )


def _sections(snapshot: Snapshot, offer: Offer, say: Catalogue) -> list[PaperSection]:
    cautions: dict[str, None] = {}
    for option in snapshot.quotation.options:
        cautions.update(dict.fromkeys(brief_cautions(option, reduction_mm=snapshot.reduction_mm)))
    usual = [
        say.text(
            "The first payment makes the order; cloth is cut when it has arrived, the measures are fresh and the toile is agreed."
        ),
        say.text("A change after cutting is priced first."),
        say.text(
            "What is made to your measures is commonly not returnable for a change of mind; a fault is always put right. "
            "The law of your place decides."
        ),
    ]
    return [
        PaperSection(heading=say.text("How to pay"), paragraphs=offer.offerer.payment_details.splitlines()),
        PaperSection(
            heading=say.text("Terms"), paragraphs=offer.terms.splitlines() if offer.terms else [" ".join(usual)]
        ),
        PaperSection(
            heading=say.text("For your comfort and safety"), paragraphs=[say.text(words) for words in cautions]
        ),
    ]
