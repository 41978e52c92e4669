"""The cut list: which lot is cut how, what stays on it, which rests go back, and what is missing.

What is wanted of a material is planned at once (`inventory.cutting`): first as little as possible is missing, then what
is used up weighs least. Weights are lengths of the cheapest form: a rest weighs less than what is whole, since it serves
fewer lengths; a coil, roll or box that was not begun weighs more, and so does a later one. A piece is never joined.
"""

from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from math import ceil

from inventory.cutting import Cut, CutPlan, CutProblem, Fit, Stock, Want, cut_plan
from inventory.ground.bone_forms import BoneForm
from inventory.ground.findings import Refused
from studio.cutting.wanted import TENTHS, Wanted

__all__ = ["CutLot", "Lying", "MaterialCuts", "Missing", "Pieces", "Rules", "Share", "Totals", "cut_list", "totals"]

SECONDS = 5.0
_HUNDREDTHS = 10
"""Hundredths of a millimetre in a tenth: what the cutting room reckons in."""
_NOWHERE = "nowhere"


@dataclass(frozen=True, slots=True, kw_only=True)
class Lying:
    """What of a lot is free: a coil or roll, or so many like bones. Lengths in tenths of a millimetre.

    Attributes:
        form: of bones; empty for tapes and cords.
        length: of a roll what is free on it, else of one bone.
        weight: what a unit of its length costs, as a multiple of the cheapest form of its material.
        is_open: it was begun; `is_rest` it is itself what was left of something longer.
        keep: rests from this length on go back; a roll keeps any.
    """

    lot: int
    material: str
    form: str
    length: int
    count: int = 1
    is_roll: bool = False
    weight: Decimal = Decimal(1)
    is_open: bool = False
    is_rest: bool = False
    keep: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Rules:
    """What is reckoned with besides lengths.

    Attributes:
        kerf: what a cut itself takes, in tenths of a millimetre.
        rest_share: what a length of a rest weighs of the same length of what it is left of.
        opening: as how much length it counts that another lot is begun, in tenths of a millimetre.
        lost_share: what of coils and rolls is used beyond the pieces, as their quotes reckon; never less than the cuts.
    """

    kerf: int
    rest_share: Decimal
    opening: int
    lost_share: Decimal = Decimal(0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Share:
    """So many pieces for one place of a job."""

    job: str
    where: str
    count: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Pieces:
    """Like pieces of a lot, and whose they are."""

    length: int
    count: int
    shares: tuple[Share, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class CutLot:
    """What is made of a lot: of a coil or roll all that comes off it, of bones `times` that are cut alike.

    Attributes:
        pieces: longest first, of all `times` together.
        used: of a roll, its pieces with what is lost in cutting them; of one bone, its whole length.
        rest: of a roll what of it is still free, else what is left of each bone.
        goes_back: whether the rest is kept.
    """

    lot: int
    times: int
    pieces: tuple[Pieces, ...]
    is_roll: bool
    is_as_it_is: bool
    used: int
    rest: int
    goes_back: bool

    @property
    def wasted(self) -> int:
        """What comes to nothing: cuts, and rests that are not kept."""
        if self.is_as_it_is:
            return 0
        kept = self.rest * self.times if self.goes_back and not self.is_roll else 0
        return self.used * self.times - kept - sum(piece.length * piece.count for piece in self.pieces)


@dataclass(frozen=True, slots=True, kw_only=True)
class Missing:
    """Pieces for which nothing is there.

    Attributes:
        longest: the longest that lies there for it; 0 for nothing.
        one_lot: what all of a job's pieces of the material come to, where no one lot holds it; 0 else.
    """

    length: int
    count: int
    shares: tuple[Share, ...]
    longest: int
    one_lot: int = 0
    is_cut: bool = True

    @property
    def words(self) -> str:
        """What is missing and why.

        >>> Missing(length=2410, count=2, shares=(), longest=2300).words
        '2 × 241 mm: nothing there is long enough; the longest is 230 mm.'
        """
        what = f"{self.count} × {self.length / TENTHS:g} mm"
        if self.one_lot:
            return f"{what}: it shows, and no one lot holds the {self.one_lot / TENTHS:g} mm that are wanted of it."
        if not self.longest:
            return f"{what}: nothing of it is there."
        if self.is_cut and self.longest < self.length:
            return f"{what}: nothing there is long enough; the longest is {self.longest / TENTHS:g} mm."
        return f"{what}: what is there does not reach for all."


@dataclass(frozen=True, slots=True, kw_only=True)
class MaterialCuts:
    """The cut list of one material. `is_optimal`: proven that nothing weighs less."""

    material: str
    lots: tuple[CutLot, ...]
    missing: tuple[Missing, ...]
    is_optimal: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Totals:
    """What a list comes to: wasted and taken off coils and rolls, in tenths of a millimetre; bones taken, pieces missing."""

    wasted: int
    off_rolls: int
    bones: int
    missing: int


@dataclass(frozen=True, slots=True, kw_only=True)
class _Group:
    """Wants that anything serves alike."""

    length: int
    form: str
    is_cut: bool
    lot: int | None

    @property
    def code(self) -> str:
        return f"{self.length} {self.form} {self.is_cut} {self.lot}"


def cut_list(wanted: Sequence[Wanted], lying: Sequence[Lying], *, rules: Rules) -> MaterialCuts:
    """Return the cut list of one material.

    Args:
        wanted: of one material, in the order of the jobs; of like pieces the first get theirs first.
        lying: the material’s lots in the order in which they are taken.
    """
    groups: dict[_Group, list[Wanted]] = defaultdict(list)
    homeless = []
    for want, lot in _homes(wanted, lying, rules):
        if want.one_lot and lot is None:
            homeless.append(want)
        else:
            groups[_Group(length=want.length, form=want.form, is_cut=want.is_cut, lot=lot)].append(want)
    counts = {group: sum(want.count for want in of) for group, of in groups.items()}
    short = _short(counts, lying, rules)
    served = {group: count - short[group] for group, count in counts.items()}
    queues = {
        group: [Share(job=want.job, where=want.where, count=want.count) for want in of] for group, of in groups.items()
    }
    plan = cut_plan(_problem(served, lying, rules), seconds=SECONDS) if any(served.values()) else None
    by_code = {group.code: group for group in groups}
    stocks = {str(stock.lot): stock for stock in lying}
    cuts = tuple(_cut_lot(cut, stocks[cut.stock], by_code, queues, rules) for cut in _ordered(plan, stocks))
    missing = [
        Missing(
            length=group.length,
            count=number,
            shares=_drawn(queues[group], number),
            longest=max((stock.length for stock in lying if _may(stock, group)), default=0),
            is_cut=group.is_cut,
        )
        for group, number in short.items()
        if number
    ]
    missing += [_homeless(want, homeless) for want in homeless]
    return MaterialCuts(
        material=wanted[0].material,
        lots=cuts,
        missing=tuple(sorted(missing, key=lambda row: -row.length)),
        is_optimal=plan is None or plan.is_optimal,
    )


def totals(lists: Sequence[MaterialCuts]) -> Totals:
    """Return what cut lists come to together."""
    lots = [lot for of in lists for lot in of.lots]
    return Totals(
        wasted=sum(lot.wasted for lot in lots),
        off_rolls=sum(lot.used for lot in lots if lot.is_roll),
        bones=sum(lot.times for lot in lots if not lot.is_roll),
        missing=sum(row.count for of in lists for row in of.missing),
    )


def _homes(wanted: Sequence[Wanted], lying: Sequence[Lying], rules: Rules) -> list[tuple[Wanted, int | None]]:
    """Each want with the one lot that it must come from: kept from it, or the first that holds all that its job wants."""
    left = {stock.lot: stock.length * stock.count for stock in lying}
    homes: dict[str, int | None] = {}
    for job in dict.fromkeys(want.job for want in wanted if want.one_lot):
        of_job = [want for want in wanted if want.job == job and want.one_lot]
        needed = sum((want.length + rules.kerf) * want.count for want in of_job) - rules.kerf
        chosen = next((want.lot for want in of_job if want.lot is not None), None)
        candidates = [stock.lot for stock in lying if chosen in (None, stock.lot)]
        homes[job] = next((lot for lot in candidates if left[lot] >= needed), None)
        if (home := homes[job]) is not None:
            left[home] -= needed + rules.kerf
    return [(want, homes[want.job] if want.one_lot else None) for want in wanted]


def _homeless(want: Wanted, homeless: Sequence[Wanted]) -> Missing:
    return Missing(
        length=want.length,
        count=want.count,
        shares=(Share(job=want.job, where=want.where, count=want.count),),
        longest=0,
        one_lot=sum(other.length * other.count for other in homeless if other.job == want.job),
    )


def _may(stock: Lying, group: _Group) -> bool:
    """Whether a lot is of a kind that may serve, however long it is."""
    if group.lot not in (None, stock.lot):
        return False
    if not group.is_cut:
        return stock.form == group.form and not stock.is_roll and stock.length == group.length
    return stock.form != BoneForm.TIPPED or (group.form == BoneForm.TIPPED and stock.length > group.length)


def _fits(counts: Mapping[_Group, int], lying: Sequence[Lying]) -> list[Fit]:
    return [
        Fit(
            stock=str(stock.lot),
            want=group.code,
            as_it_is=not stock.is_roll and stock.length == group.length,
            setup=str(stock.lot),
        )
        for group in counts
        for stock in lying
        if _may(stock, group) and stock.length >= group.length
    ]


def _wants(counts: Mapping[_Group, int]) -> tuple[Want, ...]:
    return tuple(
        Want(code=group.code, length=group.length * _HUNDREDTHS, count=count) for group, count in counts.items()
    )


def _short(counts: Mapping[_Group, int], lying: Sequence[Lying], rules: Rules) -> Counter[_Group]:
    """How many of each group nothing serves, as few as can be: nothing costs anything but what comes from nowhere."""
    problem = _problem(counts, lying, rules)
    try:
        cut_plan(problem, seconds=SECONDS)
        return Counter()
    except Refused:
        nowhere = Stock(code=_NOWHERE, length=None, cost=Decimal(0), is_bulk=True)
        free = tuple(replace(stock, cost=Decimal(0), rest_worth=Decimal(0)) for stock in problem.stocks)
        fits = tuple(replace(fit, setup="") for fit in problem.fits)
        plan = cut_plan(
            CutProblem(
                stocks=(*free, nowhere),
                wants=problem.wants,
                fits=(*fits, *(Fit(stock=_NOWHERE, want=group.code, cost=Decimal(1)) for group in counts)),
                kerf=problem.kerf,
            ),
            seconds=SECONDS,
        )
    found = dict(next((cut.pieces for cut in plan.cuts if cut.stock == _NOWHERE), ()))
    return Counter({group: found[group.code] for group in counts if group.code in found})


def _problem(counts: Mapping[_Group, int], lying: Sequence[Lying], rules: Rules) -> CutProblem:
    setups = {}
    for place, stock in enumerate(lying):
        begun = 0 if stock.is_open or stock.is_rest else rules.opening
        setups[str(stock.lot)] = Decimal((begun + place * TENTHS) * _HUNDREDTHS)
    return CutProblem(
        stocks=tuple(_stock(stock, rules) for stock in lying),
        wants=_wants(counts),
        fits=tuple(_fits(counts, lying)),
        kerf=rules.kerf * _HUNDREDTHS,
        setups=setups,
    )


def _stock(stock: Lying, rules: Rules) -> Stock:
    length = stock.length * _HUNDREDTHS
    if stock.is_roll:
        return Stock(code=str(stock.lot), length=length, cost=stock.weight, is_bulk=True)
    own = stock.weight * (rules.rest_share if stock.is_rest else 1)
    return Stock(
        code=str(stock.lot),
        length=length,
        count=stock.count,
        cost=own * length,
        rest_worth=own * rules.rest_share,
        keep_length=stock.keep * _HUNDREDTHS,
    )


def _ordered(plan: CutPlan | None, stocks: Mapping[str, Lying]) -> list[Cut]:
    """What is taken as it is, the longest first; then what is cut, in the order of the lots."""
    places = {code: place for place, code in enumerate(stocks)}

    def key(cut: Cut) -> tuple[bool, int, int, int]:
        length = stocks[cut.stock].length if cut.is_as_it_is else 0
        return not cut.is_as_it_is, -length, places[cut.stock], cut.rest or 0

    return sorted(plan.cuts if plan else (), key=key)


def _cut_lot(
    cut: Cut,
    stock: Lying,
    by_code: Mapping[str, _Group],
    queues: Mapping[_Group, list[Share]],
    rules: Rules,
) -> CutLot:
    numbers: Counter[_Group] = Counter()
    for code, number in cut.pieces:
        numbers[by_code[code]] += number * cut.times
    pieces = tuple(
        Pieces(length=group.length, count=number, shares=_drawn(queues[group], number))
        for group, number in sorted(numbers.items(), key=lambda row: (-row[0].length, row[0].code))
    )
    used = stock.length
    if stock.is_roll:
        length = sum(piece.length * piece.count for piece in pieces)
        lost = max(rules.kerf * numbers.total(), ceil(length * rules.lost_share))
        used = min(used, length + lost)
    rest = stock.length - used if stock.is_roll else (cut.rest or 0) // _HUNDREDTHS
    return CutLot(
        lot=stock.lot,
        times=cut.times,
        pieces=pieces,
        is_roll=stock.is_roll,
        is_as_it_is=cut.is_as_it_is,
        used=used,
        rest=0 if cut.is_as_it_is else rest,
        goes_back=not cut.is_as_it_is and rest > 0 and (stock.is_roll or rest >= stock.keep),
    )


def _drawn(queue: list[Share], number: int) -> tuple[Share, ...]:
    """The first `number` pieces of a queue, which is shortened by them."""
    shares = []
    while number and queue:
        first = queue.pop(0)
        drawn = min(first.count, number)
        shares.append(replace(first, count=drawn))
        number -= drawn
        if drawn < first.count:
            queue.insert(0, replace(first, count=first.count - drawn))
    return tuple(shares)
