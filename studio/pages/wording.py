"""How the bench writes minutes and moments."""

from datetime import datetime

from django.utils import timezone

__all__ = ["minutes_text", "moment_text"]


def minutes_text(minutes: float) -> str:
    """Return minutes as they are read at the table.

    >>> minutes_text(35.4), minutes_text(125), minutes_text(120), minutes_text(-5)
    ('35 min', '2 h 05', '2 h', '−5 min')
    """
    whole = abs(round(minutes))
    sign = "−" if round(minutes) < 0 else ""
    if whole < 60:
        return f"{sign}{whole} min"
    hours, rest = divmod(whole, 60)
    return f"{sign}{hours} h" + (f" {rest:02}" if rest else "")


def moment_text(at: datetime) -> str:
    """Return a moment in the workroom's own time: `4 January, 09:05`."""
    local = timezone.localtime(at)
    return f"{local.day} {local:%B, %H:%M}"
