"""`quote COMMISSION.json`: every option of a commission, priced; no database where the file has its price list."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from inventory.ground.findings import refuse
from inventory.ground.materials import Material
from inventory.ground.reading import place_for, write_file
from inventory.ground.site.command import DaybookCommand
from quotes.commission.commission import Commission, Quotation
from quotes.commission.commission_file import read_commission
from quotes.commission.quote import no_lays, quote_commission
from quotes.construction.construction_json import construction_document
from quotes.desk.command_options import chosen_effort
from quotes.documents.offer import offer_pdf
from quotes.drawings.worn import worn_garments
from quotes.languages.catalogue import catalogue
from quotes.lay.lay_plan import Effort
from quotes.lay.laying import lay_all
from quotes.pattern.pattern_json import pattern_document
from quotes.seal.offered import Offer
from quotes.seal.sealed import SealedQuotation
from quotes.seal.sealing import offered_materials, sealed_quotation
from quotes.seal.snapshot import Drawings, Letterhead, Snapshot


def _studio_prices() -> tuple[Material, ...]:
    """The studio's own price list; only here is a database needed."""
    from django.db import DatabaseError

    from inventory.stock.price_list import price_list

    try:
        return price_list()
    except DatabaseError:
        raise refuse(
            "commission.no-price-list",
            "price_list",
            "The file has no price list, and the studio's books cannot be opened.",
            "Add a price_list to the file.",
        ) from None


class Command(DaybookCommand[SealedQuotation]):
    help = "Price every option of a commission file."

    def add_arguments(self, parser: ArgumentParser) -> None:
        super().add_arguments(parser)
        parser.add_argument("commission", help="A commission in JSON.")
        parser.add_argument("--pdf", help="Write the client's quote to this file.")
        parser.add_argument("--effort", default="normal", help="quick, normal, thorough, or none for the quick length.")

    def answer(self, **options: Any) -> SealedQuotation:
        effort = chosen_effort(options["effort"])
        path = Path(options["commission"])
        pdf = None if options["pdf"] is None else place_for(options["pdf"], "--pdf", taken=[path])
        commission = read_commission(path, studio_prices=_studio_prices)
        lay = no_lays if effort is Effort.NONE else lambda problems: lay_all(problems, effort)
        quotation = quote_commission(commission, lay=lay, effort=effort.value)
        if pdf:
            _write_pdf(pdf, commission, quotation)
        return sealed_quotation(quotation)

    def text(self, answer: SealedQuotation) -> str:
        lines: list[str] = []
        for option in answer.options:
            lines += [
                f"{option.name}: {option.gross} {answer.currency} ({option.net} net, {option.tax} tax), "
                f"earns {option.per_hour} an hour over {option.takeoff.labour.total_min / 60:.1f} h",
                *(
                    f"  {key:<12} {getattr(option, key):>10}"
                    for key in ("materials", "labour", "overhead", "contingency", "extras", "cost", "profit", "fee")
                ),
                f"  payments     {' + '.join(map(str, option.deposit))}",
                "",
            ]
        return "\n".join(lines)


def _write_pdf(path: Path, commission: Commission, quotation: Quotation) -> None:
    sealed = sealed_quotation(quotation)
    offer = Offer(materials=offered_materials(sealed, commission.price_list), worn=worn_garments(quotation))
    snapshot = Snapshot(
        letterhead=Letterhead(
            workroom="",
            address="",
            client=commission.client,
            title=commission.title,
            number=None,
            revision=None,
            quoted_on=None,
            valid_until=None,
            due=commission.due,
            length_unit="cm",
        ),
        rates=commission.rates,
        pattern=pattern_document(commission.pattern),
        constructions={option.name: construction_document(option.applied) for option in commission.options},
        quotation=sealed,
        drawings=Drawings(),
        reduction_mm=commission.pattern.reduction_mm,
        offer=offer,
    )
    write_file(path, offer_pdf(snapshot, catalogue(offer.language), is_draft=False), "--pdf")
