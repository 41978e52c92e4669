"""What the ledger gave and took in a year outside the accounts of pieces: each movement once.

Receipts, and what corrects their cost, put on the shelf what was paid for, so they cost nothing yet; what washing and
splitting move stays on the shelf.
"""

from collections import Counter, defaultdict
from collections.abc import Container, Iterator, Mapping
from datetime import date
from decimal import Decimal

from django.db.models import Count, Exists, Min, OuterRef, Q, Sum

from inventory.ground.money import Currency
from inventory.models import Movement, Posting
from quotes.models import QuoteRevision
from quotes.needs.reserving import reference_of
from studio.models import Job, PieceAccount
from studio.profit.year import About, Row

__all__ = ["changed_pieces", "late_materials", "shelf_and_issues"]

Kind = Posting.Kind
_DELIVERED = "Delivered."
"""What studio.client.delivery writes into a job's diary at the moment at which its account is worked out."""
_OF_THE_SHELF = {
    Kind.COUNT: About.COUNTED,
    Kind.SCRAP: About.SCRAPPED,
    Kind.WASHING: About.MOVED,
    Kind.SPLITTING: About.MOVED,
}


def shelf_and_issues(first: date, last: date, money: Currency) -> Iterator[Row]:
    """Losses and finds of the shelf, posting by posting; what was issued to no job, by what it was issued for."""
    of_a_job = Job.objects.filter(reference=OuterRef("posting__job"))
    movements = (
        Movement.objects.filter(~Exists(of_a_job), day__range=(first, last))
        .exclude(posting__kind__in=(Kind.RECEIPT, Kind.CORRECTION))
        .order_by("posting")
        .values_list("posting", "posting__kind", "posting__purpose", "posting__job", "posting__why")
        .annotate(
            day=Min("day"),
            material=Min("item__material__name"),
            materials=Count("item__material", distinct=True),
            value=Sum("value_minor"),
        )
    )
    issued: Counter[str] = Counter()
    used: Counter[str] = Counter()
    for posting, kind, purpose, written, why, day, material, materials, value in movements:
        if not value:
            continue
        if kind in _OF_THE_SHELF:
            what = f"{material} and {materials - 1} more" if materials > 1 else material
            yield Row(
                about=_OF_THE_SHELF[kind],
                amount=money.from_minor(value),
                what=f"{what}: {why}" if why else what,
                key=f"{posting}",
                day=day,
            )
        elif purpose:
            used[purpose] += value
        else:
            issued[written] += value
    for purpose, value in sorted(used.items()):
        what = Posting.Purpose(purpose).label
        yield Row(about=About.USED, amount=money.from_minor(value), what=what, key=purpose)
    for written, value in _in_one_spelling(issued).items():
        yield Row(about=About.ISSUED, amount=money.from_minor(value), what=written, key=written)


def _in_one_spelling(issued: Mapping[str, int]) -> Counter[str]:
    """Values by what was written, in whatever case it was written, without what will be a job’s."""
    begins = _accepted_and_not_begun() if issued else frozenset()
    values: Counter[str] = Counter()
    spelled: dict[str, str] = {}
    for written, value in issued.items():
        if written not in begins:
            values[spelled.setdefault(written.casefold(), written)] += value
    return values


def _accepted_and_not_begun() -> frozenset[str]:
    """References of work that a client accepted and whose job is still to be made: what it takes is its own."""
    accepted = QuoteRevision.objects.filter(state=QuoteRevision.State.ACCEPTED, job__isnull=True)
    return frozenset(
        reference_of(revision.quote) for revision in accepted.select_related("quote").only("quote__number")
    )


def late_materials(first: date, last: date, money: Currency) -> Iterator[Row]:
    """What the ledger gave to pieces, or took back from them, after their month was closed, posting by posting."""
    stood = PieceAccount.objects.filter(job__reference=OuterRef("posting__job"), frozen_at__lt=OuterRef("posting__at"))
    movements = (
        Movement.objects.filter(Exists(stood), posting__job__gt="", day__range=(first, last))
        .order_by("posting")
        .values_list("posting", "posting__job", "posting__corrected_by", "posting__why")
        .annotate(day=Min("day"), material=Min("item__material__name"), value=Sum("value_minor"))
    )
    for _, reference, corrected_by, why, day, material, value in movements:
        amount = money.from_minor(value)
        what = f"{material}: {why}" if corrected_by else material
        yield Row(about=About.LATE_MATERIALS, amount=amount, what=what, key=reference, day=day)


def changed_pieces(first: date, last: date, money: Currency) -> Iterator[Row]:
    """What the ledger gave to pieces of open months since their accounts were worked out, piece by piece."""
    handed_over = Q(job__notes__words=_DELIVERED, job__notes__at__lt=OuterRef("posting__at"))
    open_accounts = PieceAccount.objects.filter(frozen_at__isnull=True, delivered_on__range=(first, last))
    moved_late = Movement.objects.filter(
        Exists(
            open_accounts.filter(
                handed_over | Q(delivered_on__lt=OuterRef("day")), job__reference=OuterRef("posting__job")
            )
        ),
        day__gte=first,
        posting__job__gt="",
    )
    references = set(moved_late.order_by().values_list("posting__job", flat=True))
    if not references:
        return
    now: dict[str, dict[str, int]] = defaultdict(dict)
    movements = Movement.objects.filter(posting__job__in=references).order_by()
    values = movements.values_list("posting__job", "item__material__code")
    for reference, code, value in values.annotate(value=Sum("value_minor")):
        now[reference][code] = value
    accounts = PieceAccount.objects.filter(job__reference__in=references).select_related("job").order_by("pk")
    for account in accounts:
        reference = account.job.reference
        held = _held_by_account(account, known=now[reference].keys())
        amount = money.from_minor(sum(now[reference].values())) + held
        yield Row(about=About.CHANGED, amount=amount, what=f"{account.job}", key=reference)


def _held_by_account(account: PieceAccount, *, known: Container[str]) -> Decimal:
    """What an account says that the ledger gave to its piece, without the sundries that no shelf counts."""
    found = account.kept
    sundries = (row.value for row in found.actual.materials if row.code not in known)
    return found.account.materials + found.account.spoiled - sum(sundries, Decimal(0))
