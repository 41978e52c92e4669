"""From priced options to sealed figures: every figure rounded once, as the commands print it and a snapshot keeps it."""

from collections.abc import Sequence
from dataclasses import fields, replace
from decimal import Decimal

from inventory.ground.findings import Finding
from inventory.ground.materials import Material
from inventory.ground.money import Currency
from quotes.commission.commission import PricedOption, Quotation
from quotes.labour.operations import LabourEstimate
from quotes.pattern.panels import EdgeName, Panel
from quotes.pricing.costing import CostLine
from quotes.seal.offered import OfferedMaterial
from quotes.seal.sealed import (
    SealedChoices,
    SealedCloth,
    SealedConstruction,
    SealedLine,
    SealedOption,
    SealedPanel,
    SealedPattern,
    SealedQuotation,
    SealedSeam,
    SealedTakeoff,
    SealedWork,
)
from quotes.takeoff.takeoff import MaterialLine, Reason, Takeoff

__all__ = ["basis_text", "offered_materials", "sealed_quotation", "sealed_takeoff"]


def basis_text(reason: Reason) -> str:
    """Return a line's reason as one sentence, its parts joined."""
    parts = [reason.counted, reason.formula, reason.waste and f"waste: {reason.waste}", reason.rounding]
    return "; ".join(part for part in parts if part)


def sealed_takeoff(takeoff: Takeoff, labour: LabourEstimate, *, findings: Sequence[Finding] = ()) -> SealedTakeoff:
    """Return a takeoff with its labour; lengths, areas and minutes to a ten-thousandth."""
    pattern, work, construction, choices = takeoff.pattern, takeoff.work, takeoff.construction, takeoff.choices
    return SealedTakeoff(
        pattern=SealedPattern(
            name=pattern.name,
            panels_per_half=pattern.panels_per_half,
            closed_waist_mm=_rounded(pattern.closed_waist_mm),
            worn_waist_mm=_rounded(takeoff.worn_waist_mm),
            estimating_only=pattern.estimating_only,
            panels=tuple(
                _panel(panel, area) for panel, area in zip(pattern.panels, takeoff.cut_areas_mm2, strict=True)
            ),
            seams=tuple(
                SealedSeam(
                    number=seam.number,
                    length_mm=_rounded(seam.length_mm),
                    other_length_mm=_rounded(seam.other_length_mm),
                    difference_mm=_rounded(seam.difference_mm),
                )
                for seam in takeoff.seams
            ),
        ),
        construction=SealedConstruction(
            name=construction.code, title=construction.title, cloth_layers=construction.thicknesses
        ),
        choices=SealedChoices(
            front=construction.front.value,
            bones_per_seam=construction.channels.bones_per_seam,
            binding=construction.binding.value,
            flossing=choices.flossing,
            modesty_panel=choices.modesty_panel,
            toile=choices.toile,
            kept_pattern=choices.kept_pattern,
            fittings=choices.fittings,
        ),
        work=SealedWork(
            pieces=work.pieces,
            seams=work.seams,
            seam_passes=work.seam_passes,
            seam_mm=_rounded(work.seam_mm),
            pass_mm=_rounded(work.pass_mm),
        ),
        pieces=takeoff.pieces,
        cloths=tuple(
            SealedCloth(
                role=cloth.role,
                material=cloth.material,
                pieces=cloth.pieces,
                area_mm2=_rounded(cloth.area_mm2),
                usable_width_mm=_rounded(cloth.usable_width_mm),
                lay_mm=_rounded(cloth.lay_mm),
                utilisation_share=_rounded(cloth.utilisation_share),
                buy_mm=_rounded(cloth.buy_mm),
                lay_effort=cloth.lay.effort.value if cloth.lay else "",
                lay_above_share=_rounded(cloth.lay.above_lower_bound_share) if cloth.lay else None,
                is_folded=cloth.is_folded,
            )
            for cloth in takeoff.cloths
        ),
        bones=tuple(
            replace(
                run,
                channel_mm=_rounded(run.channel_mm),
                ideal_mm=_rounded(run.ideal_mm),
                length_mm=_rounded(run.length_mm),
                cut_from_mm=_rounded(run.cut_from_mm),
            )
            for run in takeoff.bones
        ),
        front=replace(takeoff.front, length_mm=_rounded(takeoff.front.length_mm)),
        grommets=takeoff.grommets,
        tape_mm=_rounded(takeoff.tape_mm),
        binding_mm=_rounded(takeoff.binding_mm),
        casing_mm=_rounded(takeoff.casing_mm),
        cord_mm=_rounded(takeoff.cord_mm),
        thread_mm=_rounded(takeoff.thread_mm),
        lines=tuple(_line(line) for line in takeoff.lines),
        labour=replace(
            labour,
            operations=tuple(
                replace(
                    operation,
                    driver_quantity=_rounded(operation.driver_quantity),
                    minutes=_rounded(operation.minutes),
                )
                for operation in labour.operations
            ),
            total_min=_rounded(labour.total_min),
            low_min=_rounded(labour.low_min),
            high_min=_rounded(labour.high_min),
        ),
        effort=takeoff.effort,
        findings=(*findings, *takeoff.findings),
    )


def sealed_quotation(quotation: Quotation) -> SealedQuotation:
    """Return all options with their prices; money with the currency's decimals."""
    return SealedQuotation(
        currency=quotation.currency.code,
        options=tuple(_option(option, quotation.currency) for option in quotation.options),
        findings=quotation.findings,
    )


def offered_materials(quotation: SealedQuotation, price_list: Sequence[Material]) -> tuple[OfferedMaterial, ...]:
    """Return what the materials of all options' lines are called, in the order of the list."""
    taken = {line.material for option in quotation.options for line in option.takeoff.lines}
    return tuple(
        OfferedMaterial(code=row.code, name=row.title, colour=row.colour, tone=row.shown_tone, swatch=row.swatch)
        for row in price_list
        if row.code in taken
    )


def _option(option: PricedOption, currency: Currency) -> SealedOption:
    costing = option.costing
    amounts = {
        entry.name: currency.round(getattr(costing, entry.name))
        for entry in fields(costing)
        if entry.type in (Decimal, "Decimal")
    }
    return SealedOption(
        name=option.name,
        takeoff=sealed_takeoff(option.takeoff, option.labour),
        lines=tuple(_cost_line(line, currency) for line in costing.lines),
        **amounts,
        deposit=tuple(currency.round(part) for part in costing.deposit),
        binding_rule=costing.binding_rule,
    )


def _cost_line(line: CostLine, currency: Currency) -> CostLine:
    return replace(line, amount=currency.round(line.amount))


def _panel(panel: Panel, cut_area_mm2: float) -> SealedPanel:
    return SealedPanel(
        number=panel.number,
        net_area_mm2=_rounded(panel.net_area_mm2),
        cut_area_mm2=_rounded(cut_area_mm2),
        front_mm=_rounded(panel.edge_mm(EdgeName.FRONT)),
        back_mm=_rounded(panel.edge_mm(EdgeName.BACK)),
        top_mm=_rounded(panel.edge_mm(EdgeName.TOP)),
        bottom_mm=_rounded(panel.edge_mm(EdgeName.BOTTOM)),
        waist_mm=_rounded(panel.waist_width_mm),
    )


def _line(line: MaterialLine) -> SealedLine:
    return SealedLine(
        code=line.code,
        what=line.what,
        material=line.material or line.kind.value,
        quantity=line.quantity,
        unit=line.unit.value,
        buy_quantity=line.buy_quantity,
        basis=basis_text(line.reason),
        reason=line.reason,
        needed=line.needed,
        roles=line.roles,
        size_mm=_rounded(line.size_mm),
        form=line.form,
        overruled=line.overruled,
        overrule_reason=line.overrule_reason,
    )


def _rounded(value: float) -> float:
    """A length, area, share or time to a ten-thousandth, without a minus on zero."""
    return round(value, 4) + 0.0
