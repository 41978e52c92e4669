"""What is usual of an item: how much goes out at a time."""

from statistics import median_low

from inventory.models import Movement, Posting, ReservationLine, StockItem

__all__ = ["usual_issue"]

LATEST = 20


def usual_issue(item: StockItem, *, job: str) -> int:
    """Return how much of an item usually goes out at a time, in base units, or what is still to go to this job if that is
    more; 0 where neither is known.
    """
    issues = Movement.objects.filter(item=item, posting__kind=Posting.Kind.ISSUE, quantity__lt=0).order_by("-id")
    latest = [-quantity for quantity in issues.values_list("quantity", flat=True)[:LATEST]]
    lines = ReservationLine.objects.filter(item=item, reservation__reference=job) if job else ()
    planned = sum(line.remaining for line in lines)
    return max(planned, median_low(latest) if latest else 0)
