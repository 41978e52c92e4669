"""`calibrate`: how well past jobs would have been foretold, and which standard minutes the logged time would change.

With `--log` the same of an old notebook, from a file and without a database.
"""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from inventory.ground.codec import Document, plain
from inventory.ground.confined import read_json_file
from inventory.ground.findings import note
from inventory.ground.site.command import DaybookCommand
from inventory.ground.wording import minutes_text, percent_text
from quotes.labour.hours import hours_document, learn, read_log
from quotes.labour.learning import learning_document
from studio.learning.learning import learning


class Command(DaybookCommand[Document]):
    help = "Say how well past jobs would have been foretold, and which standard minutes logged time would change."

    def add_arguments(self, parser: ArgumentParser) -> None:
        super().add_arguments(parser)
        parser.add_argument("--log", help="Learn from this JSON file of jobs and sittings instead of the books.")

    def answer(self, **options: Any) -> Document:
        if options["log"] is not None:
            jobs, nexts = read_json_file(Path(options["log"]), read_log)
            return hours_document(learn(jobs), nexts)
        learnt = learning()
        document = learning_document(learnt.hours.judgement(), learnt.changes)
        if document["jobs"]:
            return document
        why = (
            note("learning.no-jobs", "jobs", "No job has been delivered yet, so there is nothing to learn from.")
            if not learnt.log.delivered
            else note(
                "learning.too-little",
                "jobs",
                "No delivered job has logged time that is believed, so none can be judged.",
            )
        )
        return {**document, "findings": plain([why])}

    def text(self, answer: Document) -> str:
        return _text_of_log(answer) if "next" in answer else _text_of_books(answer)


def _text_of_books(answer: Document) -> str:
    lines = [f"Judged {_jobs(answer['jobs'])}."]
    if answer["jobs"]:
        lines.append(_measures(answer))
    lines += [
        f"{proposal['operation']}: {proposal['default_min']:g} min would be {proposal['learnt_min']:g} min, "
        f"from {proposal['entries']} entries; {proposal['effect_on_price']} on a price."
        for proposal in answer["proposals"]
    ]
    return "\n".join(lines if answer["proposals"] else [*lines, "No change is proposed."])


def _text_of_log(answer: Document) -> str:
    lines = [f"Learnt from {_jobs(answer['jobs'])}."]
    if answer["mape_learnt"] is not None:
        lines.append(_measures(answer))
    lines += [
        f"{row['code']}: × {row['factor']:.2f} ({row['low']:.2f} to {row['high']:.2f}), from {_jobs(row['jobs'])}"
        for row in answer["operations"]
    ]
    lines += [
        f"{row['job']}: {minutes_text(row['total_min'])}, 8 times in 10 between {minutes_text(row['low_min'])} and "
        f"{minutes_text(row['high_min'])}; by the table {minutes_text(row['default_min'])}."
        for row in answer["next"]
    ]
    return "\n".join(lines)


def _jobs(count: int) -> str:
    return f"{count} {'job' if count == 1 else 'jobs'}"


def _measures(answer: Document) -> str:
    default, learnt, held = (
        percent_text(str(round(answer[name], 3))) for name in ("mape_default", "mape_learnt", "coverage_80")
    )
    return f"The table was off by {default} on average, learnt minutes by {learnt}; the range held {held}."
