"""Cloths of an option laid single or folded: what either takes and costs, so that it is a choice with figures."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from inventory.ground.codec import Document
from inventory.ground.units import LengthUnit, format_length
from inventory.ground.wording import money_text
from quotes.commission.commission import Commission, PricedOption
from quotes.commission.quote import open_lays
from quotes.desk.figures import commission_of, quotation_of
from quotes.desk.kept_lays import lay_key
from quotes.lay.folding import folded
from quotes.lay.lay_plan import LayProblem
from quotes.models import QuoteRevision
from quotes.takeoff.folds import can_be_folded

__all__ = ["FoldChoice", "Way", "fold_choices", "lays_of_both", "with_folds"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Way:
    """A way to lay a cloth: its length, what the cloth then costs and the option's price; `is_drawn` where its lay is kept."""

    is_folded: bool
    is_chosen: bool
    is_drawn: bool
    length: str
    cost: str
    gross: str


@dataclass(frozen=True, slots=True, kw_only=True)
class FoldChoice:
    """A cloth that can be laid either way. `twice` are the pieces that the fold gives once too often."""

    cloth: str
    roles: str
    ways: tuple[Way, Way]
    twice: str


def fold_choices(revision: QuoteRevision, index: int) -> list[FoldChoice]:
    """Return the cloths of an option that can be laid folded. Raises Refused for a draft that cannot be made or priced."""
    commission = _alone(commission_of(revision.inputs, revision.pattern), index)
    choices = []
    for cloth, problem in _foldable(commission).items():
        priced = [_priced(commission, cloth, is_folded=is_folded) for is_folded in (False, True)]
        needs = [
            need for need in priced[0].takeoff.cloths if need.material == cloth and not need.role.startswith("toile")
        ]
        choices.append(
            FoldChoice(
                cloth=cloth,
                roles=" and ".join(need.role for need in needs),
                ways=(
                    _way(priced[0], cloth, commission, is_folded=False),
                    _way(priced[1], cloth, commission, is_folded=True),
                ),
                twice=", ".join(
                    found.where.removeprefix("piece ")
                    for found in folded(problem).findings
                    if found.code == "lay.odd-piece"
                ),
            )
        )
    return choices


def lays_of_both(revision: QuoteRevision, index: int) -> dict[str, tuple[str, LayProblem]]:
    """Return the lays of either way of all cloths of an option, with their words, by the keys that they are kept by."""
    commission = _alone(commission_of(revision.inputs, revision.pattern), index)
    found: dict[str, tuple[str, LayProblem]] = {}
    for cloth, problem in _foldable(commission).items():
        for words, laid in ((f"{cloth}, single", problem), (f"{cloth}, folded", folded(problem).problem)):
            key = lay_key(laid)
            # Like cuts are one search.
            found[key] = (f"{found[key][0]}; {words}" if key in found else words, laid)
    return found


def with_folds(inputs: Document, index: int, cloth: str, *, is_folded: bool) -> Document:
    """Return the inputs of a draft with a cloth of an option laid folded, or single."""
    options = list(inputs["options"])
    others = [code for code in options[index].get("folded", []) if code != cloth]
    options[index] = {**options[index], "folded": [*others, cloth] if is_folded else others}
    return {**inputs, "options": options}


def _alone(commission: Commission, index: int) -> Commission:
    return replace(commission, options=(commission.options[index],))


def _foldable(commission: Commission) -> Mapping[str, LayProblem]:
    cloths: Sequence[str] = list(commission.options[0].cloths.values())
    return {
        key.cloth: problem
        for key, problem in open_lays(commission).items()
        if key.cloth in cloths and can_be_folded(problem)
    }


def _priced(commission: Commission, cloth: str, *, is_folded: bool) -> PricedOption:
    (option,) = commission.options
    wanted = option.folded | {cloth} if is_folded else option.folded - {cloth}
    return quotation_of(replace(commission, options=(replace(option, folded=wanted),))).options[0]


def _way(priced: PricedOption, cloth: str, commission: Commission, *, is_folded: bool) -> Way:
    (option,) = commission.options
    needs = [need for need in priced.takeoff.cloths if need.material == cloth and need.pieces]
    costs = [line.amount for line in priced.costing.lines if line.material == cloth and line.code.startswith("cloth.")]
    currency = commission.currency.code
    return Way(
        is_folded=is_folded,
        is_chosen=(cloth in option.folded) == is_folded,
        is_drawn=any(need.lay is not None for need in needs),
        length=format_length(sum(need.lay_mm for need in needs), LengthUnit.METRE),
        cost=money_text(sum(costs, Decimal(0)), currency),
        gross=money_text(priced.costing.gross, currency),
    )
