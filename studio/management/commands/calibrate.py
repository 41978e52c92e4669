"""`calibrate`: how well past jobs would have been foretold, and which standard minutes the logged time would change."""

from typing import Any

from django.utils import timezone

from inventory.ground.codec import Document, plain
from inventory.ground.findings import note
from inventory.ground.site.command import DaybookCommand
from inventory.ground.wording import percent_text
from quotes.labour.learning import learning_document
from studio.learning.learning import learning


class Command(DaybookCommand[Document]):
    help = "Say how well past jobs would have been foretold, and which standard minutes logged time would change."

    def answer(self, **options: Any) -> Document:
        learnt = learning(timezone.localdate())
        document = learning_document(learnt.judged, learnt.changes)
        if not learnt.judged.jobs:
            why = (
                note("learning.no-jobs", "jobs", "No job has been delivered yet, so there is nothing to learn from.")
                if not learnt.delivered
                else note("learning.too-little", "jobs", "Of no delivered job enough time was logged to judge it.")
            )
            return {**document, "findings": plain([why])}
        return document

    def text(self, answer: Document) -> str:
        lines = [f"Judged {answer['jobs']} {'job' if answer['jobs'] == 1 else 'jobs'}."]
        if answer["jobs"]:
            default, learnt, held = (
                percent_text(str(round(answer[name], 3))) for name in ("mape_default", "mape_learnt", "coverage_80")
            )
            lines.append(
                f"The table was off by {default} on average, learnt minutes by {learnt}; the range held {held}."
            )
        lines += [
            f"{proposal['operation']}: {proposal['default_min']:g} min would be {proposal['learnt_min']:g} min, "
            f"from {proposal['entries']} entries; {proposal['effect_on_price']} on a price."
            for proposal in answer["proposals"]
        ]
        return "\n".join(lines if answer["proposals"] else [*lines, "No change is proposed."])
