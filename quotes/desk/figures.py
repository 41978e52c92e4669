"""Working a quote's figures out: from its inputs, its pattern and the studio's prices of the day to a snapshot."""

from datetime import date
from functools import partial

from inventory.ground.codec import Document
from inventory.ground.findings import Finding, Severity
from inventory.ground.units import LengthUnit
from inventory.stock.price_list import price_list
from quotes.commission.commission import Commission, Quotation
from quotes.commission.commission_file import commission_from
from quotes.commission.quote import LayKey, open_lays, quote_commission
from quotes.construction.construction_json import construction_document
from quotes.desk.kept_lays import LAY_EFFORT, kept_lays
from quotes.drawings.half import half_drawing
from quotes.drawings.lay import lay_drawing
from quotes.drawings.worn import worn_garments
from quotes.lay.folding import folded
from quotes.models import PatternRevision, QuoteRevision, Workroom
from quotes.needs.reserving import reference_of
from quotes.pattern.drawing import Reading
from quotes.pattern.fit import FIT_CODES
from quotes.seal.offered import Offer, OfferedMaterial, Offerer
from quotes.seal.sealing import offered_materials, sealed_quotation
from quotes.seal.snapshot import Drawings, LayDrawing, Letterhead, Snapshot
from quotes.seal.worn import WornGarment
from quotes.takeoff.cut_pieces import cut_pieces_of
from quotes.workroom.settings import constructions, losses, standard_times, workroom

__all__ = ["commission_of", "quotation_of", "work_out"]


def commission_of(inputs: Document, pattern: PatternRevision, *, reference: str = "") -> Commission:
    """Return the commission of a draft, with the studio's own prices, minutes, losses and constructions. Raises Refused.

    Args:
        reference: how the shelf names the work: what is kept for it is free for it.
    """
    panels = pattern.panels
    return commission_from(
        inputs,
        studio_prices=partial(price_list, reference),
        # Of a pattern that was handed in the takeoff itself says how it fits; only a draft's levels know more.
        pattern=Reading(pattern=panels, findings=_of_fit(pattern) if panels.estimating_only else ()),
        constructions=constructions(),
        times=standard_times(),
        losses=losses(),
    )


def quotation_of(commission: Commission) -> Quotation:
    """Return the priced options of a commission. Raises Refused where it cannot be made or priced.

    Lays that were drawn before are used; a cloth without one takes the quick length.
    """
    return quote_commission(commission, lay=kept_lays, effort=LAY_EFFORT.value)


def _of_fit(pattern: PatternRevision) -> tuple[Finding, ...]:
    """What was found doubtful, or proposed, of how a pattern fits when it was kept."""
    return tuple(
        Finding(**{**row, "severity": Severity(row["severity"])})
        for row in pattern.findings
        if row["code"] in FIT_CODES
    )


def work_out(
    inputs: Document,
    pattern: PatternRevision,
    *,
    revision: QuoteRevision | None = None,
    quoted_on: date | None = None,
    valid_until: date | None = None,
    promised: date | None = None,
    language: str = "",
) -> Snapshot:
    """Return the snapshot that a draft comes to today, put in `language`, the workroom's where that is empty.

    Raises:
        Refused: it cannot be made or priced.
    """
    commission = commission_of(inputs, pattern, reference=reference_of(revision.quote) if revision is not None else "")
    quotation = quotation_of(commission)
    sealed = sealed_quotation(quotation)
    room = workroom()
    unit = LengthUnit(room.length_unit)
    first = quotation.options[0].takeoff
    opened = open_lays(commission)
    lays = [
        LayDrawing(
            option=option.name,
            role=cloth.role,
            svg=lay_drawing(
                cloth.lay,
                marked=marked,
                unit=unit,
                partners=folded(opened[LayKey(index, cloth.material)]).partners if cloth.is_folded else None,
            ),
        )
        for index, (asked, option) in enumerate(zip(commission.options, quotation.options, strict=True))
        for marked in (cut_pieces_of(commission.pattern, asked.applied),)
        for cloth in option.takeoff.cloths
        if cloth.lay is not None
    ]
    return Snapshot(
        letterhead=Letterhead(
            workroom=room.name,
            address=room.shelf.address,
            client=commission.client,
            title=commission.title,
            number=revision.quote.number if revision is not None else None,
            revision=revision.number if revision is not None else None,
            quoted_on=quoted_on,
            valid_until=valid_until,
            due=commission.due,
            length_unit=unit.value,
        ),
        rates=commission.rates,
        pattern=pattern.document,
        constructions={option.name: construction_document(option.applied) for option in commission.options},
        quotation=sealed,
        drawings=Drawings(
            half=half_drawing(commission.pattern, unit=unit, construction=first.construction), lays=tuple(lays)
        ),
        reduction_mm=commission.pattern.reduction_mm,
        offer=_offer(
            room,
            language=language,
            promised=promised,
            materials=offered_materials(sealed, commission.price_list),
            worn=worn_garments(quotation),
        ),
    )


def _offer(
    room: Workroom,
    *,
    language: str,
    promised: date | None,
    materials: tuple[OfferedMaterial, ...],
    worn: tuple[WornGarment, ...],
) -> Offer:
    """How the workroom puts it to the client."""
    spoken = language or room.language
    return Offer(
        language=spoken,
        paper=room.paper,
        promised=promised,
        offerer=Offerer(
            legal_name=room.legal_name,
            email=room.email,
            phone=room.phone,
            registration_number=room.registration_number,
            tax_number=room.tax_number,
            payment_details=room.payment_details,
        ),
        terms=room.terms.get(spoken, ""),
        logo=room.logo_id or "",
        materials=materials,
        worn=worn,
    )
