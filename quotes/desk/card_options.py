"""The options of commands that read photographs: what the two bars of the printed cards measure."""

from argparse import ArgumentParser
from collections.abc import Mapping
from typing import Any

from inventory.ground.findings import Finding
from quotes.desk.command_options import length_option
from quotes.photograph.cards import PrintScale, check_bars
from quotes.photograph.print_scale import NOT_MEASURED, print_scale

__all__ = ["add_card_options", "card_scale", "cards_not_measured"]

_LONGEST_MM = 1000.0


def add_card_options(parser: ArgumentParser) -> None:
    """Let both bars be said."""
    for bar in check_bars():
        parser.add_argument(
            f"--cards-{bar.name}", help=f"mm that the printed bar of {bar.nominal_mm:g} mm measures by a ruler."
        )


def card_scale(options: Mapping[str, Any]) -> PrintScale:
    """Return the scale that the options say. Raises Refused for what is no length, or too far off."""
    along, across = (
        length_option(options[f"cards_{bar.name}"], f"cards-{bar.name}", least=1.0, most=_LONGEST_MM)
        for bar in check_bars()
    )
    return print_scale(along, across)


def cards_not_measured(options: Mapping[str, Any]) -> tuple[Finding, ...]:
    """Return what has to be known where a bar was not measured."""
    said = all(options[f"cards_{bar.name}"] for bar in check_bars())
    return () if said else (NOT_MEASURED,)
