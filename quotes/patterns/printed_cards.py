"""The sheet of cards that lies in photographs: what its two check bars measured, asked once and kept."""

from inventory.ground.findings import refuse
from quotes.models import Workroom
from quotes.photograph.print_scale import print_scale

__all__ = ["AS_FIELDS", "keep_cards_measured", "must_be_measured"]

AS_FIELDS = {"--cards-along": "along", "--cards-across": "across"}
"""The fields of a form by the places that `print_scale` names."""


def keep_cards_measured(*, along_mm: float, across_mm: float) -> None:
    """Keep what the bars of the sheet in use measure, in place of those of an earlier sheet.

    Raises:
        Refused: a bar is off by more than is believed.
    """
    print_scale(along_mm, across_mm)
    Workroom.objects.filter(pk=1).update(cards_along_mm=along_mm, cards_across_mm=across_mm)


def must_be_measured(room: Workroom) -> tuple[float, float]:
    """Return what the bars of the cards in use measure, along and across, in mm. Raises Refused where nobody measured them."""
    if room.cards_along_mm is None or room.cards_across_mm is None:
        raise refuse(
            "photograph.cards-not-measured",
            "The printed cards",
            "Nobody has measured their two bars yet; a print at 97 % would make each piece 3 % too large, and no picture "
            "shows it.",
            "Measure both bars of your printed sheet with a ruler, and say them above.",
        )
    return room.cards_along_mm, room.cards_across_mm
