"""A problem of cutting lengths from what lies there and what is sold, and the plan that answers it.

Words: a *want* is a length that is needed so many times; a *stock* is like pieces, or one coil or roll (*bulk*); a
*fit* says that a stock may serve a want, and what a piece of it takes; the *kerf* is what a cut itself takes away; a
*rest* is what is left of a piece, kept from a length on, else *waste*. Lengths are whole hundredths of a millimetre,
money decimals of one currency.
"""

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from decimal import Decimal

__all__ = ["Cut", "CutPlan", "CutProblem", "Fit", "Stock", "Want", "millimetres"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Stock:
    """Like pieces, or one coil or roll.

    Attributes:
        length: of one piece; of bulk what is on it, None where it has no end.
        count: how many pieces there are; None for any number, as on offer. Bulk is one.
        cost: of a whole piece; for bulk, of a unit of the length that is taken.
        rest_worth: what a unit of the length of a kept rest is worth.
        keep_length: rests from here on go back as stock; shorter ones are waste.
        is_bulk: it is charged by the length that is taken, kerfs too, and its rest stays on it.
    """

    code: str
    length: int | None
    count: int | None = 1
    cost: Decimal
    rest_worth: Decimal = Decimal(0)
    keep_length: int = 0
    is_bulk: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Want:
    """A length, and how many pieces of it are needed."""

    code: str
    length: int
    count: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Fit:
    """A stock may serve a want.

    Attributes:
        cost: of one piece beside its stock, such as minutes and tips.
        as_it_is: a whole piece serves uncut: without kerf or rest, at its whole cost, however long the want.
        setup: the first piece under this name costs what `CutProblem.setups` says, once; "" for nothing.
    """

    stock: str
    want: str
    cost: Decimal = Decimal(0)
    as_it_is: bool = False
    setup: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class CutProblem:
    """What is there, what is wanted, and what may serve what.

    A stock and a want have one fit at most for cutting, and one as it is.

    Raises:
        ValueError: on making one that contradicts itself; the caller has looked at what people typed before.
    """

    stocks: tuple[Stock, ...]
    wants: tuple[Want, ...]
    fits: tuple[Fit, ...]
    kerf: int = 0
    setups: Mapping[str, Decimal] = field(default_factory=dict)

    def __post_init__(self) -> None:
        _once("stock", (stock.code for stock in self.stocks))
        _once("want", (want.code for want in self.wants))
        _once("fit", ((fit.stock, fit.want, fit.as_it_is) for fit in self.fits))
        if self.kerf < 0 or any(cost < 0 for cost in self.setups.values()):
            raise ValueError("The kerf and what set-ups cost are zero or more.")
        for stock in self.stocks:
            _check_stock(stock)
        for want in self.wants:
            if want.length <= 0 or want.count < 0:
                raise ValueError(f"Want {want.code}: the length is above zero, the count zero or more.")
        stocks, wants = {stock.code: stock for stock in self.stocks}, {want.code for want in self.wants}
        for fit in self.fits:
            if fit.stock not in stocks or fit.want not in wants or fit.setup not in {"", *self.setups}:
                raise ValueError(
                    f"Fit of {fit.stock} and {fit.want}: it names a stock, want or set-up that is not there."
                )
            if fit.cost < 0:
                raise ValueError(f"Fit of {fit.stock} and {fit.want}: the cost is zero or more.")
            if fit.as_it_is and stocks[fit.stock].is_bulk:
                raise ValueError(f"Fit of {fit.stock} and {fit.want}: bulk does not serve as it is.")


def _check_stock(stock: Stock) -> None:
    if stock.is_bulk and stock.count != 1:
        raise ValueError(f"Stock {stock.code}: a coil or roll is one.")
    if stock.length is None and not stock.is_bulk:
        raise ValueError(f"Stock {stock.code}: only bulk is without end.")
    if min(stock.length or 0, stock.count or 0, stock.keep_length) < 0 or min(stock.cost, stock.rest_worth) < 0:
        raise ValueError(f"Stock {stock.code}: length, count, cost and worth are zero or more.")


def _once(what: str, keys: Iterable[object]) -> None:
    for key, times in Counter(keys).items():
        if times > 1:
            raise ValueError(f"There are {times} times the {what} {key}.")


@dataclass(frozen=True, slots=True, kw_only=True)
class Cut:
    """What is made of one piece of a stock, `times` pieces alike; of bulk, all that is taken from it.

    Attributes:
        pieces: each want’s code with how many pieces of it come of one piece of the stock.
        rest: what is left of each; on bulk what stays on it, None where it has no end.
    """

    stock: str
    times: int
    pieces: tuple[tuple[str, int], ...]
    rest: int | None
    is_as_it_is: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class CutPlan:
    """Cuts that serve every want. Costs that differ by less than a hundred-thousandth count as alike.

    Attributes:
        cost: stocks, fits and set-ups, less what kept rests are worth; added in decimals, not by the solver.
        waste: kerfs, and rests too short to be kept.
        different_cuts: different ways in which pieces of stock are used; bulk has none.
        bound: no plan costs less.
        is_optimal: it is proven that none costs less than this one.
        is_tidiest: proven too: as cheap, none wastes less, and wasting as little, none has fewer different cuts.
    """

    cuts: tuple[Cut, ...]
    cost: Decimal
    waste: int
    different_cuts: int
    bound: Decimal
    is_optimal: bool
    is_tidiest: bool


def millimetres(length: int) -> str:
    """A length in words.

    >>> millimetres(24050), millimetres(30000)
    ('240.5 mm', '300 mm')
    """
    return f"{(Decimal(length) / 100).normalize():f} mm"
