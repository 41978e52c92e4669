"""What an option is called until the maker names it."""

from itertools import chain, count

from quotes.construction.construction import FrontKind
from quotes.languages.catalogue import Catalogue

__all__ = ["LONGEST_NAME", "option_name"]

LONGEST_NAME = 80


def option_name(cloth: str, front: FrontKind, say: Catalogue, *, taken: frozenset[str] = frozenset()) -> str:
    """Return a name by the cloth that shows and the front, numbered where another option has it already.

    `cloth` is what the client reads of it: “Herringbone coutil, black”.
    """
    fronts = {FrontKind.BUSK: say.text("busk"), FrontKind.ZIP: say.text("zip"), FrontKind.CLOSED: say.text("closed")}
    ending = f", {fronts[front]}"
    named = f"{cloth[: LONGEST_NAME - len(ending) - len(' 99')]}{ending}"
    return next(name for name in chain([named], (f"{named} {number}" for number in count(2))) if name not in taken)
