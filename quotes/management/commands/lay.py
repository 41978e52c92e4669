"""`lay FILE…`: how the pieces of patterns, or of a strip-packing problem, lie on the cloth; no database is asked."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from inventory.ground.site.command import DaybookCommand
from inventory.ground.wording import length_figures, percent_text
from quotes.desk.command_options import chosen_effort, chosen_paper, length_option, read_options, whole_option
from quotes.desk.lay_answer import LayAnswer, lay_answer
from quotes.desk.lay_files import LayWishes, lay_order
from quotes.desk.lay_papers import PAPERS, places_of_papers, write_lay_papers
from quotes.lay.laying import laid
from quotes.takeoff.cut_pieces import MOST_LAYERS

MOST_SECONDS = 24 * 3600
MOST_WORKERS = 64
LONGEST = 1e7
"""Widths and spacings are believed up to here, in whatever unit a file has."""


class Command(DaybookCommand[LayAnswer]):
    help = "Lay pieces on cloth of a given width, using as little length as can be found in the time."

    def add_arguments(self, parser: ArgumentParser) -> None:
        super().add_arguments(parser)
        parser.add_argument("files", nargs="+", metavar="FILE", help="Patterns, or one strip-packing problem in JSON.")
        parser.add_argument("--width", help="Usable width of the cloth, mm; of a folded one the full width.")
        parser.add_argument("--nap", action="store_true", help="All pieces point one way.")
        parser.add_argument(
            "--folded", action="store_true", help="Cut pairs through the cloth doubled along its length."
        )
        parser.add_argument(
            "--layers", default="1", help=f"How often each panel of both halves is cut: 1 to {MOST_LAYERS}."
        )
        parser.add_argument("--spacing", help="mm kept between pieces.")
        parser.add_argument("--effort", default="normal", help="quick, normal, thorough, or none for pieces in rows.")
        parser.add_argument(
            "--seconds",
            help="Seconds of the processor to search for, in place of an effort; beginning and pushing together take a seventh more "
            "at the most. Where there are remnants, half as many again for what uses them, so that it never costs more than the "
            "lay without them.",
        )
        parser.add_argument("--workers", help="How many threads share the search.")
        parser.add_argument("--units", help="mm, cm or in (in a drawing also pt or px), where a pattern does not say.")
        parser.add_argument("--seam-allowance", help="mm, for a pattern that draws only the cut line.")
        parser.add_argument("--centre-front", help="left or right: the side of the drawing where centre front lies.")
        parser.add_argument("--ease", help="Numbers of seams whose difference is meant: 2 or 2,4.")
        parser.add_argument("--svg", help="Write the lay, to scale, to this file.")
        parser.add_argument("--dxf", help="Write the lay for a plotter or cutter to this file.")
        parser.add_argument("--pdf", help="Write a cutting sheet and full-size tiles to this file.")
        parser.add_argument("--paper", default="a4", help="Of the tiles: a4 or letter.")

    def answer(self, **options: Any) -> LayAnswer:
        effort = chosen_effort(options["effort"])
        seconds = whole_option(options["seconds"], "seconds", least=1, most=MOST_SECONDS)
        workers = whole_option(options["workers"], "workers", least=1, most=MOST_WORKERS)
        wishes = LayWishes(
            width=length_option(options["width"], "width", least=1e-6, most=LONGEST),
            spacing=length_option(options["spacing"], "spacing", most=LONGEST),
            layers=whole_option(options["layers"], "layers", least=1, most=MOST_LAYERS) or 1,
            has_nap=options["nap"],
            is_folded=options["folded"],
        )
        paper = chosen_paper(options["paper"])
        reading = read_options(
            units=options["units"],
            seam_allowance=options["seam_allowance"],
            centre_front=options["centre_front"],
            ease=options["ease"],
        )
        files = [Path(name) for name in options["files"]]
        places = places_of_papers({kind: options[kind] for kind in PAPERS}, files)
        order = lay_order(files, wishes, reading)
        plan = laid(order.problem, effort, seconds=seconds, workers=workers)
        write_lay_papers(order, plan, places, paper)
        return lay_answer(order, plan, effort=effort.value if seconds is None else f"{seconds} s")

    def text(self, answer: LayAnswer) -> str:
        def figures(length: float) -> str:
            return length_figures(length, beside=answer.width)

        words = f"{len(answer.placements)} pieces on {answer.width:g}: {figures(answer.length)} long"
        if any(row.cloth != "roll" for row in answer.placements):
            words += f" and remnants worth {figures(answer.cost - answer.length)}"
        words += f", {percent_text(answer.density_share)} filled"
        if answer.above_bound_share is None:
            return words
        above = percent_text(answer.above_bound_share)
        return f"{words}, {above} above what is possible at best ({figures(answer.least_cost)})"
