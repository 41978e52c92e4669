"""Use case: lays of several jobs that were asked for are drawn up from lays that are kept; those that lack are asked for."""

import hashlib
import logging
from collections.abc import Callable, Mapping

from django.db import InterfaceError, OperationalError, transaction
from django.db.models import F, Q
from django.utils import timezone

from inventory.ground.findings import Refused
from quotes.defaults import desk_defaults
from quotes.desk.kept_lays import kept_by_key, lay_key, may_be_shorter, with_numbers
from quotes.lay.joint import GivenCloth, JointLay, joint_problem, lay_together
from quotes.lay.lay_plan import Effort, LayPlan, LayProblem
from quotes.lay.laying import matched_beside, unmatched
from quotes.lay.nest import relabelled
from quotes.models import LaySearch
from quotes.searching.asking import ask
from studio.laying.kept import KEPT_LAY, LAY_QUESTION, KeptLay, LayQuestion
from studio.models import Job, JointSearch, JointShare
from studio.models import JointLay as JointLayRow

__all__ = ["draw_up_anew", "drawn_up", "keep_drawn", "move_all_on", "move_on", "wanted_first"]

logger = logging.getLogger(__name__)

Laying = Callable[[LayProblem], LayPlan]
_State = JointSearch.State


def move_all_on() -> bool:
    """Take each search that waits a step further whose lays are drawn; tell whether there was one. Nothing it meets ends it."""
    waiting = JointSearch.objects.filter(state=_State.WAITING)
    moved = False
    for pk, lays in waiting.values_list("pk", "lays"):
        if LaySearch.objects.under_way().filter(key__in=lays).exists():
            continue
        moved = True
        try:
            move_on(JointSearch.objects.select_related("item", "lot").get(pk=pk))
        except (InterfaceError, OperationalError, JointSearch.DoesNotExist):
            # Of the connection, or dropped meanwhile: the next look may find it well.
            raise
        except Exception:
            logger.exception("A joint lay was not drawn up")
            waiting.filter(pk=pk).update(state=_State.FAILED)
    return moved


def move_on(search: JointSearch) -> None:
    """Take a search a step further: ask for the lays that it lacks, or keep what comes of those that are drawn.

    It holds no transaction until there is something to keep, and may be killed at any moment.
    """
    question = LAY_QUESTION.read(search.question)
    drawn = _Drawn(search)
    lacking = drawn.lacking(wanted_first(question))
    if not lacking:
        # Counted before: what ends the process each time is not tried for ever.
        tries = JointSearch.objects.filter(
            pk=search.pk, state=_State.WAITING, attempt__lt=desk_defaults().lay.search_attempts
        )
        if not tries.update(attempt=F("attempt") + 1):
            _fail(search)
            return
        try:
            kept = drawn_up(question, drawn.plan)
        except _LackingError as one:
            JointSearch.objects.filter(pk=search.pk).update(attempt=0)
            lacking = drawn.lacking({one.problem: one.words})
        except Refused:
            _fail(search)
            return
        else:
            keep_drawn(search, kept)
            return
    if any(drawn.was_tried(key) for key in lacking):
        _fail(search)
        return
    JointSearch.objects.filter(pk=search.pk).update(
        lays=search.lays | {key: words for key, (words, _) in lacking.items()}
    )
    ask({key: problem for key, (_, problem) in lacking.items()}, Effort(search.effort), user=search.asked_by)


def drawn_up(question: LayQuestion, lay: Laying) -> KeptLay:
    """Return the lay that comes of a question.

    Args:
        lay: returns the lay of pieces on a cloth; of matched ones, that on the plain cloth as well.

    Raises:
        Refused: pieces that cannot be laid.
    """
    matching: dict[int, float] = {}

    def laid(problem: LayProblem) -> LayPlan:
        if problem.repeat is None:
            return lay(problem)
        both = matched_beside(problem, lay(problem), lay(unmatched(problem)))
        matching[id(both.matched)] = both.extra
        return both.matched

    joint = lay_together(question.problems, {}, question.cloth, laid, apart=question.apart)
    extras = [matching[id(part.plan)] for part in joint.parts if id(part.plan) in matching]
    return KeptLay(
        joint=joint,
        marked=question.marked,
        remnants=question.remnants,
        off_grain_deg=question.off_grain_deg,
        matching_mm=sum(extras) if extras else None,
    )


class _LackingError(Exception):
    """A lay is not drawn yet."""

    def __init__(self, problem: LayProblem, words: str) -> None:
        super().__init__(words)
        self.problem, self.words = problem, words


class _Drawn:
    """The lays that are kept for a search, and which of them were tried since it was asked for."""

    def __init__(self, search: JointSearch) -> None:
        self._effort = Effort(search.effort)
        over = LaySearch.objects.exclude(state__in=LaySearch.UNDER_WAY).filter(finished_at__gte=search.asked_at)
        # One that was under way with less effort says nothing of what more would find, unless somebody stopped it.
        tried = over.filter(Q(effort=search.effort) | Q(state=LaySearch.State.STOPPED))
        self._tried = frozenset(tried.values_list("key", flat=True))

    def lacking(self, wanted: Mapping[LayProblem, str]) -> dict[str, tuple[str, LayProblem]]:
        """Those of the lays that are not to be had, with their words and problems by their keys."""
        named: dict[str, tuple[str, LayProblem]] = {}
        for problem, words in wanted.items():
            key = lay_key(problem)
            before = f"{named[key][0]}, " if key in named else ""
            named[key] = (f"{before}{words}", problem)
        kept = kept_by_key(named)
        return {key: row for key, row in named.items() if key not in kept or self._may_be_shorter(row[1], kept[key])}

    def was_tried(self, key: str) -> bool:
        """Whether it was searched for since it was asked for."""
        return key in self._tried

    def plan(self, problem: LayProblem) -> LayPlan:
        """The kept lay of a problem. Raises _LackingError."""
        numbered = with_numbers(problem)
        key = lay_key(problem)
        kept = kept_by_key([key]).get(key)
        if kept is None or self._may_be_shorter(problem, kept):
            raise _LackingError(problem, _words(problem))
        return relabelled(kept, numbered, problem)

    def _may_be_shorter(self, problem: LayProblem, kept: LayPlan) -> bool:
        return may_be_shorter(problem, kept, self._effort) and not self.was_tried(lay_key(problem))


def wanted_first(question: LayQuestion) -> dict[LayProblem, str]:
    """Return the lays that do not wait for others, with their words, in the order that they are drawn in; with flaws all but the first do."""
    own = [
        joint_problem({whose: problem}, GivenCloth(flaws=question.cloth.flaws))
        for whose, problem in question.apart.items()
    ]
    problems = own[:1] if question.cloth.flaws else own
    joint = joint_problem(question.problems, question.cloth)
    wanted = {problem: _words(problem) for problem in (*problems, joint)}
    return wanted | {
        unmatched(problem): f"{words}, were nothing matched" for problem, words in wanted.items() if problem.repeat
    }


def _words(problem: LayProblem) -> str:
    """Whose pieces a lay is of: the references that their labels begin with."""
    whose = dict.fromkeys(piece.label.partition(" ")[0] for piece in problem.pieces)
    return " and ".join(whose)


@transaction.atomic
def keep_drawn(search: JointSearch, kept: KeptLay) -> None:
    """Keep what was drawn, unless as little was drawn before; once, whoever else draws it up at the same moment."""
    row = JointSearch.objects.select_for_update(of=("self",)).select_related("item", "lot").get(pk=search.pk)
    if row.state != _State.WAITING or row.asked_at != search.asked_at:
        # Drawn up before, and perhaps asked for with more effort since.
        return
    _add_what_takes_less(row, kept)
    row.state = _State.DONE
    row.save(update_fields=["state"])


def _add_what_takes_less(row: JointSearch, kept: KeptLay) -> None:
    before = row.drawn.order_by("pk").last()
    if before is None or _takes_less(kept.joint, KEPT_LAY.read(before.document).joint):
        key = row.key if before is None else hashlib.sha256(f"{row.key} {before.pk}".encode()).hexdigest()
        lay = JointLayRow.objects.create(
            key=key, item=row.item, lot=row.lot, document=KEPT_LAY.written(kept), search=row
        )
        jobs = Job.objects.in_bulk([share.whose for share in kept.joint.shares], field_name="reference")
        JointShare.objects.bulk_create(
            JointShare(lay=lay, job=jobs[share.whose], place=place, alone_mm=share.alone, takes_mm=share.pays)
            for place, share in enumerate(kept.joint.shares)
        )


def draw_up_anew(search: JointSearch) -> LayProblem | None:
    """Draw up what was drawn before from the lays that are kept by now, and keep it beside that where it takes less.

    Whoever asks for more at the same moment goes before.

    Returns:
        The lay that lacks for it, such as that of pieces behind shorter ones, which flaws meet elsewhere; None where none does.
    """
    now = timezone.now()
    try:
        kept = drawn_up(LAY_QUESTION.read(search.question), _Drawn(search).plan)
    except _LackingError as one:
        return one.problem
    except Refused:
        kept = None
    with transaction.atomic():
        row = JointSearch.objects.select_for_update(of=("self",)).select_related("item", "lot").get(pk=search.pk)
        if row.state == _State.DONE and row.asked_at == search.asked_at:
            if kept is not None:
                _add_what_takes_less(row, kept)
            row.looked_at = now
            row.save(update_fields=["looked_at"])
    return None


def _takes_less(joint: JointLay, before: JointLay) -> bool:
    return joint.takes_mm < before.takes_mm


def _fail(search: JointSearch) -> None:
    waiting = JointSearch.objects.filter(pk=search.pk, state=_State.WAITING, asked_at=search.asked_at)
    waiting.update(state=_State.FAILED)
