"""`cards`: the sheet of cards that is laid beside paper pieces before they are photographed. No database."""

from argparse import ArgumentParser
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from inventory.ground.reading import write_file
from inventory.ground.site.command import DaybookCommand
from quotes.photograph.card_sheet import card_sheet_pdf
from quotes.photograph.cards import check_bars

__all__ = ["Command"]


@dataclass(frozen=True, slots=True, kw_only=True)
class BarToMeasure:
    """One of the two lines that are measured once the sheet is printed."""

    name: str
    nominal_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class CardsAnswer:
    """What was written, and what to measure on it; `pdf` is None where no file was named."""

    pdf: str | None
    check_bars: tuple[BarToMeasure, ...]


class Command(DaybookCommand[CardsAnswer]):
    help = "Print the sheet of cards that lie beside paper pieces in a photograph."

    def add_arguments(self, parser: ArgumentParser) -> None:
        super().add_arguments(parser)
        parser.add_argument(
            "--pdf", help="Write the sheet to this file; print it at 100 %, without fitting to the page."
        )

    def answer(self, **options: Any) -> CardsAnswer:
        name = options["pdf"]
        if name is not None:
            write_file(Path(name), card_sheet_pdf(), "--pdf")
        bars = tuple(BarToMeasure(name=bar.name, nominal_mm=bar.nominal_mm) for bar in check_bars())
        return CardsAnswer(pdf=name, check_bars=bars)

    def text(self, answer: CardsAnswer) -> str:
        along, across = answer.check_bars
        return "\n".join(
            [
                f"Written to {answer.pdf}." if answer.pdf else "Name a file with --pdf to write the sheet.",
                "Print it at 100 %, without fitting to the page.",
                f"Before cutting it into four cards, measure its two bars with a ruler: {along.nominal_mm:g} mm along and "
                f"{across.nominal_mm:g} mm across.",
                "Say what they measure with --cards-along and --cards-across: a print at 97 % makes each piece 3 % too "
                "large, and no picture can show it.",
            ]
        )
