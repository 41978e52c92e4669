"""The papers of a lay of several jobs: its drawing, the plotter file, the cutting sheet with full-size tiles."""

from inventory.models import Lot
from quotes.desk.lay_papers import paper_of
from quotes.documents.lay_sheets import Paper
from quotes.drawings.cutting_table import cutting_table
from quotes.workroom.settings import workroom
from studio.laying.kept import KEPT_LAY
from studio.models import JointLay

__all__ = ["joint_paper"]


def joint_paper(row: JointLay, part: int, kind: str) -> bytes | None:
    """Return a paper of a part of a lay, one of `PAPERS`; None where it has no such part."""
    kept = KEPT_LAY.read(row.document)
    if part >= len(kept.joint.parts):
        return None
    own = kept.joint.parts[part]
    lots = Lot.objects.in_bulk(kept.remnants)
    table = cutting_table(
        f"{row.item}: {' and '.join(own.whose)}",
        own.problem,
        own.plan,
        marked=kept.marked,
        partners={},
        is_folded=False,
        is_in_mm=True,
        remnants=[str(lots[pk]) for pk in kept.remnants],
    )
    paper = next(paper for paper in Paper if paper.set_on == workroom().paper)
    return paper_of(kind, table, own.problem, own.plan, paper)
