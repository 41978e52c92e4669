"""`outlines PHOTO…`: outlines of paper pieces from photographs with the printed cards in them. No database."""

from argparse import ArgumentParser
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from inventory.ground.findings import Finding
from inventory.ground.site.command import DaybookCommand
from quotes.desk.card_options import add_card_options, card_scale, cards_not_measured
from quotes.desk.command_options import length_option
from quotes.pattern.geometry import Point, Polyline, ring_area_mm2
from quotes.photograph.photographs import KINDS, read_photographs
from quotes.photograph.reading import SameAs
from quotes.photograph.ruler import LONGEST_MM, SHORTEST_MM

__all__ = ["Command"]


@dataclass(frozen=True, slots=True, kw_only=True)
class OutlinedPiece:
    """A piece as it is handed out; mm, y up, seen from above. `same_as` are those of other photographs that show it too."""

    photo: str
    outline_mm: Polyline
    notches_mm: tuple[Point, ...]
    plus_minus_mm: float
    same_as: tuple[SameAs, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class OutlinedPhoto:
    """How well a photograph was seen."""

    photo: str
    px_per_mm: float
    cards: int
    residual_px: float


@dataclass(frozen=True, slots=True, kw_only=True)
class OutlinesAnswer:
    """All pieces of all photographs, left to right in rows from the top within each."""

    pieces: tuple[OutlinedPiece, ...]
    photos: tuple[OutlinedPhoto, ...]
    findings: tuple[Finding, ...]


class Command(DaybookCommand[OutlinesAnswer]):
    help = "Measure the outlines of paper pieces in photographs, by the printed cards that lie beside them."

    def add_arguments(self, parser: ArgumentParser) -> None:
        super().add_arguments(parser)
        parser.add_argument(
            "photos", nargs="+", metavar="PHOTO", help=f"A {', '.join(KINDS[:-1])} or {KINDS[-1]} file."
        )
        add_card_options(parser)
        parser.add_argument(
            "--ruler",
            metavar="MM",
            help="Length from end to end of a light ruler that lies beside the pieces, as a check.",
        )

    def answer(self, **options: Any) -> OutlinesAnswer:
        readings = read_photographs(
            [Path(name) for name in options["photos"]],
            card_scale(options),
            ruler_mm=length_option(options["ruler"], "ruler", least=SHORTEST_MM, most=LONGEST_MM),
            leaves_out=False,
        )
        return OutlinesAnswer(
            pieces=tuple(
                OutlinedPiece(
                    photo=piece.photo,
                    outline_mm=piece.outline,
                    notches_mm=piece.notches,
                    plus_minus_mm=piece.plus_minus_mm,
                    same_as=piece.same_as,
                )
                for reading in readings
                for piece in reading.pieces
            ),
            photos=tuple(
                OutlinedPhoto(
                    photo=reading.photo,
                    px_per_mm=reading.px_per_mm,
                    cards=reading.cards,
                    residual_px=reading.residual_px,
                )
                for reading in readings
            ),
            findings=(*cards_not_measured(options), *(finding for reading in readings for finding in reading.findings)),
        )

    def text(self, answer: OutlinesAnswer) -> str:
        lines = [
            f"{photo.photo}: {photo.cards} cards, {photo.px_per_mm:.1f} pixels a mm, {photo.residual_px:.2f} pixels off"
            for photo in answer.photos
        ]
        for number, piece in enumerate(answer.pieces, start=1):
            xs, ys = zip(*piece.outline_mm, strict=True)
            lines.append(
                f"Piece {number} of {piece.photo}: {max(xs) - min(xs):.1f} × {max(ys) - min(ys):.1f} mm, "
                f"{ring_area_mm2(piece.outline_mm) / 100:.1f} cm², {len(piece.notches_mm)} notches, "
                f"± {piece.plus_minus_mm:.1f} mm"
            )
        return "\n".join(lines)
