"""How large a sheet of cards came out of the printer, by its two bars measured with a ruler."""

from inventory.ground.findings import Refused, stop, warn
from quotes.defaults import desk_defaults
from quotes.photograph.cards import PrintScale, check_bars

__all__ = ["NOT_MEASURED", "print_scale"]

NOT_MEASURED = warn(
    "photograph.cards-not-measured",
    "cards",
    "The printed cards are taken to be true to size; a print at 97 % would make each piece 3 % too large, and no picture shows it.",
    "Measure both bars of the printed sheet once, and say them with --cards-along and --cards-across.",
)
"""What a maker who did not measure has to know."""


def print_scale(along_mm: float | None, across_mm: float | None) -> PrintScale:
    """Return the scale of a print whose check bars measure so much; None where a bar was not measured.

    Raises:
        Refused: a bar is off by more than is believed.
    """
    tolerance = desk_defaults().photograph.print_tolerance_share
    factors = []
    faults = []
    for bar, measured in zip(check_bars(), (along_mm, across_mm), strict=True):
        factor = 1.0 if measured is None else measured / bar.nominal_mm
        factors.append(factor)
        if abs(factor - 1) > tolerance + 1e-9:
            faults.append(
                stop(
                    "photograph.check-bar",
                    f"--cards-{bar.name}",
                    f"The bar of {bar.nominal_mm:g} mm measures {measured:g} mm: that is {abs(factor - 1):.1%} off, and "
                    f"{tolerance:.0%} are the most.",
                    "Print the cards again at 100 %, without fitting to the page.",
                )
            )
    if faults:
        raise Refused(faults)
    return PrintScale(along=factors[0], across=factors[1])
