"""`reorder`: the cheapest joint order that covers the work, from the books or, with `--plan`, from a file."""

from argparse import ArgumentParser
from functools import partial
from pathlib import Path
from typing import Any

from django.utils import timezone

from inventory.buying.reordering import planned
from inventory.ground.confined import read_json_file
from inventory.ground.findings import refuse
from inventory.ground.reading import calendar_day, write_file
from inventory.ground.site.command import DaybookCommand
from inventory.replenish import answered, printed_plan, read_plan_file
from inventory.replenish.plan import SECONDS
from inventory.replenish.plan_json import PrintedPlan, PrintedReview
from inventory.replenish.plan_workbook import plan_workbook


class Command(DaybookCommand[PrintedPlan]):
    help = "Say what to buy, from whom and by when, as one joint order."

    def add_arguments(self, parser: ArgumentParser) -> None:
        super().add_arguments(parser)
        parser.add_argument(
            "--plan", help="Plan from this JSON file with stock, needs, offers and suppliers instead of the books."
        )
        parser.add_argument("--xlsx", help="Write the orders to this workbook.")
        parser.add_argument(
            "--as-of", help="The day on which orders are placed; today, or the file's own, where it is left out."
        )

    def answer(self, **options: Any) -> PrintedPlan:
        written_day = options["as_of"]
        as_of = None if written_day is None else calendar_day(written_day, "--as-of", "option.date")
        if as_of is not None and not 1970 <= as_of.year <= 2999:
            raise refuse(
                "option.date", "--as-of", f"{written_day} is outside the years 1970 to 2999.", "Write a day near today."
            )
        if options["plan"] is None:
            _, plan = planned(on=as_of or timezone.localdate(), seconds=SECONDS)
        else:
            plan = answered(
                read_json_file(Path(options["plan"]), partial(read_plan_file, as_of=as_of)), seconds=SECONDS
            )
        printed = printed_plan(plan)
        if options["xlsx"]:
            write_file(Path(options["xlsx"]), plan_workbook(printed), "--xlsx")
        return printed

    def text(self, answer: PrintedPlan) -> str:
        lines = []
        for order in answer.orders:
            lines.append(f"{order.supplier}, order by {order.order_by}: {order.total} {answer.currency}")
            lines += [f"  {line.packs:>4} × {line.material:<24} {line.amount:>10}   {line.why}" for line in order.lines]
            lines.append(f"  goods {order.goods}, postage {order.postage}")
        lines += [
            f"{shortage.quantity} {shortage.material} for {shortage.job} come {shortage.late_days} days late"
            for shortage in answer.shortages
        ]
        if isinstance(answer, PrintedReview) and not answer.orders:
            lines.append(f"Nothing to order today; look again on {answer.next_review}.")
        lines.append(f"Together {answer.total}, of it holding {answer.holding}")
        if answer.saving is not None:
            lines.append(f"Line by line {answer.line_by_line_total}: {answer.saving} saved")
        return "\n".join(lines)
