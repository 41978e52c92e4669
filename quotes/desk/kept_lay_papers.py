"""Papers of a kept lay of a quote: as it was quoted, or shorter, or none."""

from quotes.commission.quote import LayKey, open_lays, option_lays
from quotes.desk.figures import commission_of
from quotes.desk.kept_lays import kept_lays
from quotes.desk.lay_papers import paper_of
from quotes.desk.quoted_lays import is_as_quoted_or_shorter
from quotes.documents.lay_sheets import Paper
from quotes.drawings.cutting_table import cutting_table
from quotes.lay.folding import folded
from quotes.models import QuoteRevision
from quotes.needs.reserving import reference_of
from quotes.takeoff.cut_pieces import cut_pieces_of
from quotes.workroom.settings import workroom

__all__ = ["lay_paper"]


def lay_paper(revision: QuoteRevision, index: int, cloth: str, kind: str) -> bytes | None:
    """Return a paper of the lay of one cloth of an option; None where no lay is kept that is as quoted or shorter.

    Args:
        index: of the option.
        kind: one of `PAPERS`.

    Raises:
        Refused: the option cannot be made any more with the constructions of today.
    """
    commission = commission_of(revision.inputs, revision.pattern, reference=reference_of(revision.quote))
    key = LayKey(index, cloth)
    problems = option_lays(commission)
    plan = kept_lays(problems).get(key)
    if plan is None or not is_as_quoted_or_shorter(plan, revision.snapshot.quotation.options[index], cloth):
        return None
    option = commission.options[index]
    opened = open_lays(commission)[key]
    fold = folded(opened) if problems[key] != opened else None
    table = cutting_table(
        f"{revision.quote}, {option.name}: {cloth}",
        problems[key],
        plan,
        marked=cut_pieces_of(commission.pattern, option.applied),
        partners=fold.partners if fold else {},
        is_folded=fold is not None,
        is_in_mm=True,
    )
    paper = next(paper for paper in Paper if paper.set_on == workroom().paper)
    return paper_of(kind, table, problems[key], plan, paper)
