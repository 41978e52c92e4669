"""The sentence of a piece: amounts worked by hand (common practice, no source)."""

import pytest
from hypothesis import given, settings
from support_profit import EUR, actual, d, done, jobs, op, planned, quoted, used

from studio.profit.account import account
from studio.profit.piece import Account, Actual, BridgeLine, Quoted, Rework, StepGroup
from studio.profit.sentence import sentence


def told(quoted_profit: str, profit: str, **amounts: str) -> str:
    """The sentence of an account with such a bridge."""
    found = Account(
        currency=EUR,
        net=d(profit),
        fee=d("0"),
        materials=d("0"),
        spoiled=d("0"),
        labour=d("0"),
        overhead=d("0"),
        extras=d("0"),
        hours=d("0"),
        rework_hours=d("0"),
        quoted_hours=d("0"),
        quoted_profit=d(quoted_profit),
        bridge=tuple(
            BridgeLine(group=StepGroup.EXTRA, what=name.replace("_", " "), amount=d(amount))
            for name, amount in amounts.items()
        ),
        cause_costs=(),
    )
    assert found.quoted_profit + sum(line.amount for line in found.bridge) == found.profit
    return sentence(found)


def test_causes_of_the_result_first_then_what_worked_against_it():
    """3.1 hours at 24 are 74.40; brocade dearer by 12.00; contingency 45.20: 41.20 less."""
    plan = quoted(
        net=d("500"),
        materials=(planned("b", "2", "30", what="Brocade"),),
        operations=(op("SEW", "4", "96", name="Sewing"),),
        labour_rate=d("24"),
        contingency=d("45.20"),
    )
    said = actual(
        net=d("500"),
        materials=(used("b", "2", "72", what="Brocade"),),
        hours=(done("SEW", "7.1", name="Sewing"),),
        labour_rate=d("24"),
    )
    assert sentence(account(plan, said)) == (
        "It earned €41.20 less than quoted: sewing took 3.1 hours longer (−€74.40), brocade cost more (−€12.00); "
        "contingency was not needed (+€45.20)."
    )


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        (told("100", "100"), "It earned €100.00, just as quoted."),
        (
            told("100", "100", A_gain="5", A_loss="-5"),
            "It earned €100.00, just as quoted: a gain (+€5.00); a loss (−€5.00).",
        ),
        (told("100", "130", A_gain="30"), "It earned €30.00 more than quoted: a gain (+€30.00)."),
        (told("10", "-20", A_loss="-30"), "It lost €20.00 where a profit of €10.00 was quoted: a loss (−€30.00)."),
        (told("-25", "-20", A_gain="5"), "It lost €20.00 where a loss of €25.00 was quoted: a gain (+€5.00)."),
        # Four causes, of which the smallest is left out.
        (
            told("100", "110", One="-50", Two="40", Three="30", Four="-10"),
            "It earned €10.00 more than quoted: two (+€40.00), three (+€30.00); one (−€50.00).",
        ),
        # What is below a tenth of the largest explains nothing ...
        (told("100", "159", One="60", Two="-1"), "It earned €59.00 more than quoted: one (+€60.00)."),
        # ... but one cause of the result is always named.
        (
            told("100", "97", One="60", **{f"L{number}": "-5.25" for number in range(12)}),
            "It earned €3.00 less than quoted: L0 (−€5.25); one (+€60.00).",
        ),
    ],
)
def test_the_sentence(text: str, expected: str):
    assert text == expected


def test_operations_that_differ_a_little_each_are_told_as_one():
    """Four operations of 1 hour, each 15 minutes longer, at 24: 24.00 in all; an hour's overhead of 8."""
    codes = ("CUT", "SEW", "PRESS", "TRIM")
    plan = quoted(
        net=d("300"),
        operations=tuple(op(code, "1", "24") for code in codes),
        labour_rate=d("24"),
        overhead=d("32"),
        overhead_rate=d("8"),
    )
    said = actual(
        net=d("300"),
        hours=tuple(done(code, "1.25") for code in codes),
        rework=(Rework(cause="client", hours=d("0.5")),),
        labour_rate=d("24"),
        overhead_rate=d("8"),
    )
    assert sentence(account(plan, said)) == (
        "It earned €48.00 less than quoted: the work took 1 hour longer in all (−€24.00), work was done again for "
        "30 minutes after the client's change (−€12.00), 1.5 hours more carried overhead (−€12.00)."
    )


@settings(max_examples=100, deadline=None)
@given(jobs())
def test_a_sentence_names_three_causes_at_most_and_one_of_the_result(job: tuple[Quoted, Actual]):
    found = account(*job)
    text = sentence(found)
    assert text.endswith(".")
    assert text.count(" (") <= 3
    difference = found.profit - found.quoted_profit
    assert difference <= 0 or "(+" in text
    assert difference >= 0 or "(−" in text
