"""Takeoff and quotation as the JSON that the commands print and a snapshot keeps."""

from collections.abc import Sequence
from dataclasses import asdict
from decimal import Decimal
from typing import Any

from inventory.ground.findings import Finding, findings_document
from inventory.ground.money import Currency
from quotes.commission.commission import PricedOption, Quotation
from quotes.labour.operations import LabourEstimate
from quotes.pattern.panels import EdgeName, Panel
from quotes.takeoff.takeoff import MaterialLine, Reason, Takeoff

__all__ = ["basis_text", "quotation_document", "takeoff_document"]

Document = dict[str, Any]


def basis_text(reason: Reason) -> str:
    """Return a line's reason as one sentence, its parts joined."""
    parts = [reason.counted, reason.formula, reason.waste and f"waste: {reason.waste}", reason.rounding]
    return "; ".join(part for part in parts if part)


def takeoff_document(takeoff: Takeoff, labour: LabourEstimate, *, findings: Sequence[Finding] = ()) -> Document:
    """Return a takeoff with its labour; lengths mm, areas mm², minutes, counted stock as decimal strings."""
    pattern, work = takeoff.pattern, takeoff.work
    return {
        "pattern": {
            "name": pattern.name,
            "panels_per_half": pattern.panels_per_half,
            "closed_waist_mm": _mm(pattern.closed_waist_mm),
            "worn_waist_mm": _mm(takeoff.worn_waist_mm),
            "estimating_only": pattern.estimating_only,
            "panels": [_panel(panel, area) for panel, area in zip(pattern.panels, takeoff.cut_areas_mm2, strict=True)],
            "seams": [
                {
                    "number": seam.number,
                    "length_mm": _mm(seam.length_mm),
                    "other_length_mm": _mm(seam.other_length_mm),
                    "difference_mm": _mm(seam.difference_mm),
                }
                for seam in takeoff.seams
            ],
        },
        "construction": {
            "name": takeoff.construction.code,
            "title": takeoff.construction.title,
            "cloth_layers": len(takeoff.construction.layers),
        },
        "choices": {
            "front": takeoff.construction.front.value,
            "bones_per_seam": takeoff.construction.channels.bones_per_seam,
            "binding": takeoff.construction.binding.value,
            "flossing": takeoff.choices.flossing,
            "modesty_panel": takeoff.choices.modesty_panel,
            "toile": takeoff.choices.toile,
            "kept_pattern": takeoff.choices.kept_pattern,
            "fittings": takeoff.choices.fittings,
        },
        "work": {
            "pieces": work.pieces,
            "seams": work.seams,
            "seam_passes": work.seam_passes,
            "seam_mm": _mm(work.seam_mm),
            "pass_mm": _mm(work.pass_mm),
        },
        "pieces": [asdict(piece) for piece in takeoff.pieces],
        "cloths": [
            {
                "role": cloth.role,
                "material": cloth.material,
                "pieces": cloth.pieces,
                "area_mm2": _mm(cloth.area_mm2),
                "usable_width_mm": _mm(cloth.usable_width_mm),
                "lay_mm": _mm(cloth.lay_mm),
                "utilisation_share": round(cloth.utilisation_share, 4),
                "buy_mm": _mm(cloth.buy_mm),
            }
            for cloth in takeoff.cloths
        ],
        "bones": [
            {
                "where": run.where,
                "kind": run.kind,
                "channel_mm": _mm(run.channel_mm),
                "ideal_mm": _mm(run.ideal_mm),
                "length_mm": _mm(run.length_mm),
                "count": run.count,
            }
            for run in takeoff.bones
        ],
        "front": {
            "kind": takeoff.front.kind.value,
            "length_mm": _mm(takeoff.front.length_mm),
            "loops": takeoff.front.loops,
        },
        "grommets": {"per_side": takeoff.grommets.per_side, "sets": takeoff.grommets.sets},
        "tape_mm": _mm(takeoff.tape_mm),
        "binding_mm": _mm(takeoff.binding_mm),
        "casing_mm": _mm(takeoff.casing_mm),
        "cord_mm": _mm(takeoff.cord_mm),
        "thread_mm": _mm(takeoff.thread_mm),
        "lines": [_line(line) for line in takeoff.lines],
        "labour": {
            "operations": [
                {
                    "code": row.code,
                    "name": row.name,
                    "group": row.group,
                    "driver": row.driver,
                    "driver_quantity": round(row.driver_quantity, 4),
                    "minutes": round(row.minutes, 4),
                    "formula": row.formula,
                }
                for row in labour.operations
            ],
            "allowance_share": labour.allowance_share,
            "total_min": round(labour.total_min, 4),
            "low_min": round(labour.low_min, 4),
            "high_min": round(labour.high_min, 4),
            "range_rule": labour.range_rule,
        },
        "effort": takeoff.effort,
        "findings": findings_document((*findings, *takeoff.findings)),
    }


def quotation_document(quotation: Quotation) -> Document:
    """Return all options with their prices; money as decimal strings with the currency's decimals."""
    return {
        "currency": quotation.currency.code,
        "options": [_option(option, quotation.currency) for option in quotation.options],
        "findings": findings_document(quotation.findings),
    }


def _option(option: PricedOption, currency: Currency) -> Document:
    costing = option.costing

    def money(amount: Decimal) -> str:
        return f"{currency.round(amount):f}"

    return {
        "name": option.name,
        "takeoff": takeoff_document(option.takeoff, option.labour),
        "lines": [
            {
                "group": line.group,
                "code": line.code,
                "what": line.what,
                "quantity": _plain(line.quantity),
                "unit": line.unit,
                "rate": _plain(line.rate),
                "amount": money(line.amount),
            }
            for line in costing.lines
        ],
        **{
            key: money(getattr(costing, key))
            for key in (
                "materials",
                "labour",
                "overhead",
                "contingency",
                "extras",
                "cost",
                "profit",
                "discount",
                "rush",
                "fee",
                "net",
                "tax",
                "gross",
            )
        },
        "deposit": [money(part) for part in costing.deposit],
        "per_hour": money(costing.per_hour),
        "binding_rule": costing.binding_rule,
    }


def _panel(panel: Panel, cut_area_mm2: float) -> Document:
    return {
        "number": panel.number,
        "net_area_mm2": _mm(panel.net_area_mm2),
        "cut_area_mm2": _mm(cut_area_mm2),
        "front_mm": _mm(panel.edge_mm(EdgeName.FRONT)),
        "back_mm": _mm(panel.edge_mm(EdgeName.BACK)),
        "top_mm": _mm(panel.edge_mm(EdgeName.TOP)),
        "bottom_mm": _mm(panel.edge_mm(EdgeName.BOTTOM)),
        "waist_mm": _mm(panel.waist_width_mm),
    }


def _line(line: MaterialLine) -> Document:
    return {
        "code": line.code,
        "what": line.what,
        "material": line.material or line.kind.value,
        "quantity": _plain(line.quantity),
        "unit": line.unit.value,
        "buy_quantity": _plain(line.buy_quantity),
        "basis": basis_text(line.reason),
        "reason": asdict(line.reason),
        **(
            {}
            if line.overruled is None
            else {"overruled": _plain(line.overruled), "overrule_reason": line.overrule_reason}
        ),
    }


def _mm(value: float) -> float:
    """A length or area to a ten-thousandth, without a minus on zero."""
    return round(value, 4) + 0.0


def _plain(value: Decimal) -> str:
    return f"{value:f}"
