"""Problems of cutting: drawn small ones, and a way to write down plain ones."""

import random
from collections import Counter
from decimal import Decimal

from inventory.cutting import CutProblem, Fit, Stock, Want


def plain(length: int, wants: dict[int, int], *, count: int | None = None, kerf: int = 0) -> CutProblem:
    """Like pieces that cost 1 each, any number of them; wants by their length. No rest is kept."""
    stock = Stock(code="roll", length=length, count=count, cost=Decimal(1), keep_length=length + 1)
    wanted = tuple(Want(code=str(size), length=size, count=number) for size, number in wants.items())
    fits = tuple(Fit(stock="roll", want=want.code) for want in wanted)
    return CutProblem(stocks=(stock,), wants=wanted, fits=fits, kerf=kerf)


def drawn(seed: int) -> CutProblem:
    """A small problem of all kinds: pieces on hand and on offer, coils with and without end, kerfs, set-ups, rests.

    In every third costs are so plain that many plans cost alike.
    """
    draw = random.Random(seed)

    def money(most: int) -> Decimal:
        return Decimal(draw.randint(0, 1) if seed % 3 == 0 else draw.randint(0, most)) / 100

    kerf = draw.choice([0, 0, 1, 2])
    wants = tuple(
        Want(code=f"W{place}", length=draw.randint(2, 12), count=draw.randint(1, 3))
        for place in range(draw.randint(1, 3))
    )
    while sum(want.count for want in wants) > 5:
        wants = wants[1:]
    stocks = [
        Stock(
            code=f"P{place}",
            length=draw.randint(4, 26),
            count=draw.choice([1, 1, 2, None]),
            cost=money(400),
            rest_worth=Decimal(draw.choice([0, 0, 0] if seed % 3 == 0 else [0, 3, 5, 12])) / 100,
            keep_length=draw.choice([0, 3, 6, 40]),
        )
        for place in range(draw.randint(1, 3))
    ]
    if draw.random() < 0.5:
        length = draw.choice([None, draw.randint(8, 40)])
        cost = money(30)
        stocks.append(Stock(code="B", length=length, cost=cost, is_bulk=True, rest_worth=Decimal(1)))
    setups = {"tin": money(150), "tips": money(150)}
    fits = [
        Fit(
            stock=stock.code,
            want=want.code,
            cost=money(60),
            as_it_is=as_it_is,
            setup=draw.choice(["", "", "tin", "tips"]),
        )
        for stock in stocks
        for want in wants
        for as_it_is in (False, True)
        if draw.random() < (0.25 if as_it_is else 0.85) and not (as_it_is and stock.is_bulk)
    ]
    return CutProblem(stocks=tuple(stocks), wants=wants, fits=tuple(fits), kerf=kerf, setups=setups)


def bones_of_a_quote(seed: int) -> CutProblem:
    """Ten lengths of bone, two of each: twelve kinds of ready bones, six offcuts, one coil, two set-ups."""
    draw = random.Random(seed)
    setups = {"tin snips": Decimal("1.20"), "tips": Decimal("0.80")}
    wants = tuple(
        Want(code=f"{size} mm", length=size * 100, count=2) for size in sorted(draw.sample(range(180, 380, 5), 10))
    )
    ready = [
        Stock(
            code=f"ready {size}",
            length=size * 100,
            count=draw.randint(1, 6),
            cost=Decimal("0.40") + Decimal(size) / 400,
        )
        for size in range(170, 410, 20)
    ]
    worth = Decimal("0.000022")
    lengths = [draw.randint(220, 900) * 100 for _ in range(6)]
    cut = [
        *(
            Stock(code=f"offcut {place}", length=length, cost=worth * length, rest_worth=worth, keep_length=20000)
            for place, length in enumerate(lengths)
        ),
        Stock(code="coil", length=1_200_000, cost=Decimal("0.000028"), is_bulk=True),
    ]
    as_they_are = [
        Fit(stock=stock.code, want=want.code, as_it_is=True)
        for stock in ready
        for want in wants
        if abs(want.length - (stock.length or 0)) <= 1000
    ]
    cuts = [
        Fit(stock=stock.code, want=want.code, cost=Decimal("0.45"), setup=draw.choice(sorted(setups)))
        for stock in cut
        for want in wants
    ]
    return CutProblem(stocks=(*ready, *cut), wants=wants, fits=(*as_they_are, *cuts), kerf=100, setups=setups)


def sliced(seed: int, *, bars: int, length: int) -> CutProblem:
    """Bars that were cut up whole: their pieces are wanted back, and so many bars are enough."""
    draw = random.Random(seed)
    wanted: Counter[int] = Counter()
    for _ in range(bars):
        rest = length
        while rest > length // 5:
            piece = draw.randint(length // 12, length // 6)
            wanted[piece] += 1
            rest -= piece
        wanted[rest] += 1
    return plain(length, dict(sorted(wanted.items())))
