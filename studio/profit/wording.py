"""Names and hours within the sentences of an account."""

from decimal import ROUND_HALF_UP, Decimal

__all__ = ["hours_text", "lowered", "named"]


def named(name: str) -> str:
    """Return a name as it may stand in a sentence: in quotation marks where a comma in it would tear it apart.

    >>> named("Brocade, quince branches"), named("First pass")
    ('“Brocade, quince branches”', 'First pass')
    """
    return f"“{name}”" if "," in name else name


def lowered(text: str) -> str:
    """Return a text that goes on within a sentence; an abbreviation keeps its capitals.

    >>> lowered("First pass took 20 minutes longer"), lowered("PVC boning cost more")
    ('first pass took 20 minutes longer', 'PVC boning cost more')
    """
    return text[:1].lower() + text[1:] if text[1:2].islower() or text[1:2] == " " else text


def hours_text(hours: Decimal) -> str:
    """Return hours, >= 0, as people say them: minutes below an hour, then hours with one decimal.

    >>> hours_text(Decimal("3.08")), hours_text(Decimal("0.25")), hours_text(Decimal("1.0"))
    ('3.1 hours', '15 minutes', '1 hour')
    """
    minutes = int((hours * 60).quantize(Decimal(1), rounding=ROUND_HALF_UP))
    if minutes == 0:
        return "less than a minute"
    if minutes < 60:
        return f"{minutes} minute{'s' * (minutes != 1)}"
    tenths = hours.quantize(Decimal("0.1"), rounding=ROUND_HALF_UP).normalize()
    return f"{tenths:f} hour{'s' * (tenths != 1)}"
