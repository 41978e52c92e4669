"""`takeoff PATTERN`: what a pattern takes, without prices and without a database."""

from argparse import ArgumentParser
from dataclasses import replace
from pathlib import Path
from typing import Any

from inventory.ground.defaults import shelf_defaults
from inventory.ground.findings import refuse
from inventory.ground.site.command import DaybookCommand
from quotes.construction.construction import Choices
from quotes.construction.shipped import DEFAULT
from quotes.desk.card_options import add_card_options, card_scale, cards_not_measured
from quotes.desk.command_options import chosen_construction, chosen_effort, length_option, read_options
from quotes.labour.estimate import estimate_labour
from quotes.labour.standard import default_times
from quotes.lay.lay_plan import Effort
from quotes.lay.laying import lay_all
from quotes.pattern.drawing import Reading, ReadOptions
from quotes.pattern.readers import KINDS, read_pattern
from quotes.photograph.photographed import read_photographed
from quotes.photograph.photographs import KINDS as PHOTOGRAPHS
from quotes.seal.sealed import SealedTakeoff
from quotes.seal.sealing import sealed_takeoff
from quotes.takeoff.chosen_materials import plain_shelf
from quotes.takeoff.take_off import lay_problems, take_off


class Command(DaybookCommand[SealedTakeoff]):
    help = "Take off cloth, bones, hardware and hours from a pattern file."

    def add_arguments(self, parser: ArgumentParser) -> None:
        super().add_arguments(parser)
        parser.add_argument(
            "pattern",
            nargs="+",
            help=f"A {', '.join(KINDS[:-1])} or {KINDS[-1]} file, or photographs of its pieces ({', '.join(PHOTOGRAPHS)}).",
        )
        add_card_options(parser)
        parser.add_argument("--construction", default=DEFAULT, help="A shipped construction's name, or a JSON file.")
        parser.add_argument("--units", help="mm, cm or in (in a drawing also pt or px), where the file does not say.")
        parser.add_argument("--seam-allowance", help="mm, for a file that draws only the cut line.")
        parser.add_argument("--centre-front", help="left or right: the side of the drawing where centre front lies.")
        parser.add_argument("--ease", help="Numbers of seams whose difference is meant: 2 or 2,4.")
        parser.add_argument(
            "--panels", help="1,3,2: numbers for outlines without one, left to right and top to bottom; 0 leaves out."
        )
        parser.add_argument("--size", help="Which of several sizes that are nested in a drawing.")
        usual_mm = shelf_defaults().material.usable_width_mm
        parser.add_argument("--width", help=f"Usable width of the cloth, mm; {usual_mm} unless said.")
        parser.add_argument("--reduction", help="mm taken in at the waist as worn.")
        parser.add_argument("--gap", help="mm left open at the lacing.")
        parser.add_argument("--effort", default="normal", help="quick, normal, thorough, or none for the quick length.")

    def answer(self, **options: Any) -> SealedTakeoff:
        effort = chosen_effort(options["effort"])
        construction = chosen_construction(options["construction"])
        width = length_option(options["width"], "width", least=1.0, most=20_000.0)
        reduction = length_option(options["reduction"], "reduction", most=400.0)
        gap = length_option(options["gap"], "gap", most=300.0)
        said = read_options(
            units=options["units"],
            seam_allowance=options["seam_allowance"],
            centre_front=options["centre_front"],
            ease=options["ease"],
            panels=options["panels"],
            size=options["size"],
        )
        reading = _reading([Path(name) for name in options["pattern"]], said, options)
        allowance = length_option(options["seam_allowance"], "seam-allowance", most=100.0)
        pattern = reading.pattern if allowance is None else replace(reading.pattern, seam_allowance_mm=allowance)
        shelf = plain_shelf(construction, usable_width_mm=width)
        choices = Choices()
        plans = {}
        if effort is not Effort.NONE:
            plans = lay_all(lay_problems(pattern, construction, choices, shelf), effort)
        takeoff = take_off(
            pattern,
            construction,
            choices,
            shelf,
            plans=plans,
            effort=effort.value,
            reduction_mm=reduction,
            gap_mm=gap,
        )
        labour = estimate_labour(takeoff.work, takeoff.construction, default_times())
        return sealed_takeoff(takeoff, labour, findings=reading.findings)

    def text(self, answer: SealedTakeoff) -> str:
        pattern, work, labour = answer.pattern, answer.work, answer.labour
        lines = [
            f"{pattern.name}: {pattern.panels_per_half} panels a half, closed waist {pattern.closed_waist_mm:.0f} mm, "
            f"worn waist {pattern.worn_waist_mm:.0f} mm",
            f"{answer.construction.title}: {work.pieces} pieces, {work.seams} seams, "
            f"{work.seam_passes} passes, {work.pass_mm / 1000:.2f} m sewn",
            "",
            *(
                f"{line.what:<34} {line.quantity:>9f} {line.unit:<5} buy {line.buy_quantity:>9f}   {line.basis}"
                for line in answer.lines
            ),
            "",
            f"Labour {labour.total_min / 60:.1f} h ({labour.low_min / 60:.1f} to {labour.high_min / 60:.1f})",
        ]
        return "\n".join(lines)


def _reading(paths: list[Path], said: ReadOptions, options: dict[str, Any]) -> Reading:
    """The pattern in one file, or in the photographs of its pieces."""
    photographs = [path for path in paths if path.suffix.lower() in PHOTOGRAPHS]
    if not photographs and len(paths) == 1:
        return read_pattern(paths[0], said)
    if len(photographs) < len(paths):
        other = next(path for path in paths if path not in photographs)
        raise refuse(
            "option.pattern",
            other.name,
            f"{other.name} is no photograph, and several files make one pattern only where all are.",
            "Name one pattern, or photographs alone.",
        )
    reading = read_photographed(paths, said, card_scale(options))
    return replace(reading, findings=(*cards_not_measured(options), *reading.findings))
