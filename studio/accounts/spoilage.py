"""Why something was spoiled, as a posting of scrap says it: its cause and words."""

from inventory.ground.findings import refuse
from studio.models import TimeEntry

__all__ = ["spoiled_why", "told_cause"]


def spoiled_why(cause: str, words: str) -> str:
    """Return how a posting says why something was spoiled: `own-slip: panel 3 cut upside down`.

    Raises:
        Refused: no such cause.
    """
    if not cause or cause not in TimeEntry.Cause.values:
        raise refuse("spoiled.no-cause", "cause", "What was spoiled needs a cause.", "Choose one.")
    return f"{cause}: {words}".strip(": ")


def told_cause(why: str) -> tuple[str, str]:
    """Return the cause's code and the words of a posting's reason; the code is empty where it tells none.

    >>> told_cause("own-slip: panel 3 cut upside down")
    ('own-slip', 'panel 3 cut upside down')
    """
    code, _, words = why.partition(":")
    return (code, words.strip()) if code and code in TimeEntry.Cause.values else ("", why)
