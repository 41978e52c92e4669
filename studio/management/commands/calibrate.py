"""`calibrate`: how well past jobs would have been foretold, and which standard minutes the logged time would change."""

from typing import Any

from django.utils import timezone

from inventory.ground.findings import findings_document, note
from inventory.ground.site.command import DaybookCommand
from inventory.ground.wording import percent_text
from quotes.labour.learning import learning_document
from studio.learning.learning import learning


class Command(DaybookCommand):
    help = "Say how well past jobs would have been foretold, and which standard minutes logged time would change."

    def answer(self, **options: Any) -> dict[str, Any]:
        learnt = learning(timezone.localdate())
        document = learning_document(learnt.judged, learnt.changes)
        if not learnt.judged.jobs:
            why = (
                note("learning.no-jobs", "jobs", "No job has been delivered yet, so there is nothing to learn from.")
                if not learnt.delivered
                else note("learning.too-little", "jobs", "Of no delivered job enough time was logged to judge it.")
            )
            document["findings"] = findings_document([why])
        return document

    def text(self, document: dict[str, Any]) -> str:
        lines = [f"Judged {document['jobs']} {'job' if document['jobs'] == 1 else 'jobs'}."]
        if document["jobs"]:
            default, learnt, held = (
                percent_text(str(round(document[name], 3))) for name in ("mape_default", "mape_learnt", "coverage_80")
            )
            lines.append(
                f"The table was off by {default} on average, learnt minutes by {learnt}; the range held {held}."
            )
        lines += [
            f"{proposal['operation']}: {proposal['default_min']:g} min would be {proposal['learnt_min']:g} min, "
            f"from {proposal['entries']} entries; {proposal['effect_on_price']} on a price."
            for proposal in document["proposals"]
        ]
        return "\n".join(lines if document["proposals"] else [*lines, "No change is proposed."])
