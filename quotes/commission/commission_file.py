"""Reading a commission: the file, its pattern, its options, its rates and prices, with every fault named at once."""

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from functools import partial
from pathlib import Path
from typing import TypeVar

from inventory.ground.codec import Document
from inventory.ground.confined import read_json_file
from inventory.ground.findings import Finding, Refused, refuse, stop, stops
from inventory.ground.materials import Material
from inventory.ground.money import Currency, currency_of
from inventory.ground.reading import calendar_day, data_beside, decimal_at
from inventory.ground.schema import schema_findings
from inventory.ground.units import LengthUnit
from quotes.commission.commission import Commission, Option, Overrule
from quotes.commission.price_list import read_price_list
from quotes.construction.choices import read_choices
from quotes.construction.construction import Construction
from quotes.construction.construction_json import read_construction
from quotes.construction.shipped import shipped, shipped_codes
from quotes.labour.operations import StandardTimes
from quotes.labour.standard import default_times
from quotes.pattern.block import draw_block
from quotes.pattern.block_json import read_block
from quotes.pattern.drawing import Reading, ReadOptions
from quotes.pattern.readers import read_pattern
from quotes.pricing.costing import Extra, Rates
from quotes.pricing.rates import read_rates
from quotes.takeoff.chosen_materials import shelf_of
from quotes.takeoff.losses import Losses, default_losses

__all__ = ["commission_from", "read_commission"]

PriceList = Callable[[], Sequence[Material]]
T = TypeVar("T")


def read_commission(path: Path, *, studio_prices: PriceList) -> Commission:
    """Return the commission in a file.

    Args:
        studio_prices: asked for the studio's own materials where the file has no price list.

    Raises:
        Refused: every fault that could be found, each with its path inside the file.
    """
    document = read_json_file(path, _in_form)
    return commission_from(document, folder=path.parent, studio_prices=studio_prices)


def commission_from(
    document: object,
    *,
    folder: Path | None = None,
    studio_prices: PriceList,
    pattern: Reading | None = None,
    constructions: Mapping[str, Construction] | None = None,
    times: StandardTimes | None = None,
    losses: Losses | None = None,
) -> Commission:
    """Return the commission that parsed data describes.

    Args:
        folder: where its pattern file lies; None allows no file.
        pattern: given where the pattern is kept elsewhere; the document then names none.
        constructions: by code, instead of the shipped ones.
        times: the studio's standard minutes, instead of the default table.
        losses: what the studio uses beyond the drawing, instead of the defaults.
    """
    checked = {"pattern": {"block": {}}, **document} if pattern is not None and isinstance(document, dict) else document
    _in_form(checked)
    assert isinstance(document, dict)
    faults: list[Finding] = []
    unit = LengthUnit(document["units"])
    collect = _Collector(faults)
    currency = collect(lambda: _currency(document["currency"]))
    due = collect(lambda: calendar_day(document["due"], "due", "commission.due")) if "due" in document else None
    reading = pattern or collect(lambda: _pattern(document["pattern"], unit, folder))
    extras: tuple[Extra, ...] | None = None
    rates: Rates | None = None
    if currency is not None:
        rates = collect(lambda: read_rates(document["rates"], currency))
        extras = collect(lambda: _extras(document.get("extras", []), currency))
    prices = collect(
        lambda: read_price_list(document["price_list"], unit) if "price_list" in document else tuple(studio_prices())
    )
    options = {
        index: option
        for index, row in enumerate(document["options"])
        if (option := collect(partial(_option, row, f"options[{index}]", constructions))) is not None
    }
    for name, count in Counter(row["name"].strip() for row in document["options"]).items():
        if count > 1:
            faults.append(
                stop(
                    "commission.option-twice",
                    "options",
                    f"{count} options are named {name!r}.",
                    "Give each its own name.",
                )
            )
    if prices is not None:
        for index, option in options.items():
            _, shelf_findings = shelf_of(
                option.applied, option.choices, option.cloths, prices, where=f"options[{index}]"
            )
            faults += stops(shelf_findings)
    if faults or currency is None or reading is None or rates is None or prices is None or extras is None:
        raise Refused(faults)
    return Commission(
        title=document["title"],
        client=document.get("client", ""),
        due=due,
        currency=currency,
        pattern=reading.pattern,
        pattern_findings=reading.findings,
        options=tuple(options.values()),
        rates=rates,
        extras=extras,
        price_list=prices,
        times=times or default_times(),
        losses=losses or default_losses(),
    )


def _in_form(document: object) -> object:
    """The document, whose form is that of the schema. Raises Refused."""
    faults = schema_findings(document, data_beside(__file__, "commission.schema.json"), code="commission")
    if faults:
        raise Refused(faults)
    return document


class _Collector:
    """Runs a reader and keeps its findings, so that one pass names all faults."""

    def __init__(self, faults: list[Finding]) -> None:
        self._faults = faults

    def __call__(self, read: Callable[[], T]) -> T | None:
        try:
            return read()
        except Refused as refusal:
            self._faults += stops(refusal.findings)
            return None


def _currency(code: str) -> Currency:
    try:
        return currency_of(code)
    except ValueError as error:
        raise refuse("commission.currency", "currency", str(error), "Write a code such as EUR, GBP or JPY.") from None


def _pattern(row: Document, unit: LengthUnit, folder: Path | None) -> Reading:
    if "block" in row:
        block = read_block(row["block"], unit=unit, where="pattern.block", name="Estimating block")
        return draw_block(block, where="pattern.block")
    name = row["file"]
    if folder is None:
        raise refuse("commission.no-file", "pattern.file", "No pattern file can be named here.", "Give a block.")
    inside = folder.resolve()
    path = (inside / name).resolve() if "\0" not in name else inside
    if Path(name).is_absolute() or not path.is_relative_to(inside) or path == inside:
        raise refuse(
            "commission.file-outside",
            "pattern.file",
            f"{name[:80]!r} does not lie in the commission's folder.",
            "Put the pattern beside the commission and name it without a path.",
        )
    try:
        return read_pattern(path, ReadOptions())
    except Refused as refusal:
        raise Refused(
            [
                stop(found.code, f"pattern.file, {found.where}", found.message, found.hint)
                for found in stops(refusal.findings)
            ]
        ) from None


def _extras(rows: Sequence[Document], currency: Currency) -> tuple[Extra, ...]:
    extras, faults = [], []
    for index, row in enumerate(rows):
        place = f"extras[{index}].amount"
        amount = decimal_at(row["amount"], place)
        if isinstance(amount, Finding):
            faults.append(amount)
        elif amount < 0:
            faults.append(stop("commission.extra", place, f"An extra of {amount} is below zero.", "Use a discount."))
        elif not currency.is_exact(amount):
            faults.append(
                stop(
                    "money.too-many-decimals",
                    place,
                    f"{amount} has more decimals than {currency.code} has ({currency.digits}).",
                    "Round it.",
                )
            )
        else:
            extras.append(Extra(what=row["what"], amount=currency.round(amount)))
    if faults:
        raise Refused(faults)
    return tuple(extras)


def _option(row: Document, where: str, constructions: Mapping[str, Construction] | None) -> Option:
    said = row["construction"]
    if isinstance(said, dict):
        construction = read_construction(said, f"{where}.construction")
    else:
        known = constructions if constructions is not None else {code: shipped(code) for code in shipped_codes()}
        if said not in known:
            raise refuse(
                "commission.unknown-construction",
                f"{where}.construction",
                f"There is no construction {said[:60]!r}.",
                f"Known are {', '.join(known)}.",
            )
        construction = known[said]
    overrules = []
    for index, overrule in enumerate(row.get("overrules", [])):
        quantity = decimal_at(overrule["quantity"], f"{where}.overrules[{index}].quantity")
        if isinstance(quantity, Finding):
            raise Refused([quantity])
        overrules.append(Overrule(line=overrule["line"], quantity=quantity, reason=overrule["reason"]))
    folded = frozenset(row.get("folded", []))
    if no_cloths := sorted(folded - set(row["cloths"].values())):
        raise refuse(
            "commission.folded-cloth",
            f"{where}.folded",
            f"{', '.join(no_cloths)[:60]} is no cloth of this option.",
            "Name materials of its `cloths`.",
        )
    return Option(
        name=row["name"].strip(),
        construction=construction,
        cloths=dict(row["cloths"]),
        choices=read_choices(row["choices"], f"{where}.choices"),
        folded=folded,
        overrules=tuple(overrules),
    )
