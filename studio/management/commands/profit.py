"""`profit`: what finished pieces earned against their quotes, with the bridge of each and the totals of all."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.utils import timezone

from inventory.ground.codec import Document
from inventory.ground.findings import refuse
from inventory.ground.reading import calendar_day, write_file
from inventory.ground.site.command import DaybookCommand
from studio.books.sums import books_between
from studio.profit.profit_json import profit_document
from studio.profit.profit_workbook import profit_workbook


class Command(DaybookCommand[Document]):
    help = "Say what finished pieces earned, and why that is not what was quoted."

    def add_arguments(self, parser: ArgumentParser) -> None:
        super().add_arguments(parser)
        parser.add_argument("--xlsx", help="Write the pieces, their bridges and the totals to this workbook.")
        parser.add_argument("--from", dest="since", help="The first day of delivery that counts.")
        parser.add_argument("--to", dest="until", help="The last day of delivery that counts.")

    def answer(self, **options: Any) -> Document:
        since, until = (
            None if text is None else calendar_day(text, name, "option.date")
            for text, name in ((options["since"], "--from"), (options["until"], "--to"))
        )
        if since and until and until < since:
            raise refuse("option.dates", "--to", f"{until} is before {since}.", "Name the earlier day with --from.")
        books = books_between(since, until, on=timezone.localdate())
        if options["xlsx"]:
            write_file(Path(options["xlsx"]), profit_workbook(books), "--xlsx")
        return profit_document(books)

    def text(self, answer: Document) -> str:
        lines = []
        for piece in answer["pieces"]:
            earned = f"{piece['per_hour']} an hour" if piece["per_hour"] else "no hour logged"
            lines.append(f"{piece['job']}  {piece['title']}, delivered {piece['delivered']}: {earned}")
            lines.append(f"  {piece['sentence']}")
        totals, currency = answer["totals"], answer["currency"]
        lines.append(
            f"{totals['pieces']} pieces earned {totals['actual_profit']} {currency}, "
            f"quoted {totals['quoted_profit']}, of {totals['net']} invoiced without tax."
        )
        if totals["under_floor"]:
            lines.append(f"Under the wage floor of {totals['minimum_per_hour']}: {', '.join(totals['under_floor'])}")
        if totals["overhead"]:
            lines.append(f"Overhead absorbed less what it came to: {totals['overhead']['difference']} {currency}")
        return "\n".join(lines)
