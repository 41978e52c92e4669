"""Which bones of the drawer and of the price list may stand in a channel, and what each would cost there.

As it is: no longer than ideal, and no more than a little shorter. Cut: from a longer one or from the coil, to the ideal
length. A price list that says nothing of forms has flats by the half inch: the longest that is not too long serves.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from inventory.ground.bone_forms import BoneForm, PricedForm
from inventory.ground.materials import KINDS, Material
from quotes.takeoff.bone_work import BoneWork, driver_of
from quotes.takeoff.defaults import defaults
from quotes.takeoff.losses import Losses
from quotes.takeoff.takeoff import BoneRun

__all__ = ["Candidate", "candidates", "coil_for", "forms_of", "usual_lengths_mm"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Candidate:
    """A form of the material for a channel.

    Attributes:
        run: the channel with this bone in it.
        work: what one bone takes at the bench, in money: minutes and tips.
        material: what one takes of the material, in money: its share of the coil, or the whole piece.
    """

    form: PricedForm
    run: BoneRun
    work: Decimal
    material: Decimal

    @property
    def cost(self) -> Decimal:
        """One bone in its channel, set-ups aside."""
        return self.work + self.material


def forms_of(material: Material) -> tuple[PricedForm, ...]:
    """Return what a material can be had in, each cut form with its length: as its list says, else as its kind is sold.

    A length that is named has its own price, whatever one without a length costs in the same form.
    """
    usual = KINDS[material.kind].form
    assert usual is not None
    forms = material.forms or (PricedForm(form=usual, length_mm=None, unit_cost=material.unit_cost),)
    named = {(form.form, round(form.length_mm, 1)) for form in forms if form.length_mm is not None}
    found: list[PricedForm] = []
    for form in forms:
        if form.form is BoneForm.COIL or form.length_mm is not None:
            found.append(form)
            continue
        lengths = usual_lengths_mm(material)
        found += (replace(form, length_mm=length) for length in lengths if (form.form, round(length, 1)) not in named)
    return tuple(found)


def coil_for(forms: Iterable[PricedForm], ideal_mm: float) -> PricedForm | None:
    """Return the cheapest coil that a bone can be cut from; None where none is long enough."""
    coils = [
        form for form in forms if form.form is BoneForm.COIL and (form.length_mm is None or form.length_mm >= ideal_mm)
    ]
    return min(coils, key=lambda form: form.unit_cost, default=None)


def usual_lengths_mm(material: Material | None) -> tuple[float, ...]:
    """Return the lengths in which cut bones are sold: the material's own, else every half inch."""
    if material is not None and material.lengths_mm:
        return material.lengths_mm
    assumed = defaults()
    count = round((assumed.flat_longest_mm - assumed.flat_shortest_mm) / assumed.flat_step_mm)
    return tuple(round(assumed.flat_shortest_mm + step * assumed.flat_step_mm, 2) for step in range(count + 1))


def candidates(
    run: BoneRun, forms: Sequence[PricedForm], *, is_ruled: bool, bench: BoneWork, losses: Losses, tip_cost: Decimal
) -> tuple[Candidate, ...]:
    """Return what may stand in a channel, cheapest first; none where the material has nothing for it.

    Args:
        run: the channel, its bone as long as is ideal.
        is_ruled: the price list says nothing of forms: the longest of the usual lengths is taken that is not too long.
        tip_cost: one tip, with its share that is spoilt.
    """
    ideal = run.ideal_mm
    whole = {form: form.length_mm for form in forms if form.form is not BoneForm.COIL and form.length_mm is not None}
    fitting = _as_they_are(whole, ideal, is_ruled=is_ruled)
    coil = coil_for(forms, ideal)
    coils = [coil] if coil else []
    longer = [form for form, length in whole.items() if length > ideal]
    if is_ruled:
        longer = [] if fitting or coils else sorted(longer, key=lambda form: whole[form])[:1]
    found = [(form, replace(run, length_mm=whole[form])) for form in fitting]
    found += [(form, run) for form in coils]
    found += [(form, replace(run, cut_from_mm=whole[form])) for form in longer]
    told = [
        _candidate(form, replace(bone, form="" if is_ruled else form.form.value), bench, losses, tip_cost)
        for form, bone in found
    ]
    return tuple(sorted(_undominated(told), key=lambda row: (row.cost, -row.run.length_mm)))


def _as_they_are(whole: Mapping[PricedForm, float], ideal: float, *, is_ruled: bool) -> list[PricedForm]:
    """Pieces that need no cutting."""
    if is_ruled:
        lengths = [length for length in whole.values() if length <= ideal]
        return [form for form, length in whole.items() if lengths and length == max(lengths)]
    most = defaults().shortness_most_mm
    return [form for form, length in whole.items() if 0 <= round(ideal - length, 2) <= most]


def _candidate(form: PricedForm, run: BoneRun, bench: BoneWork, losses: Losses, tip_cost: Decimal) -> Candidate:
    if form.form is BoneForm.COIL:
        cutting = Decimal(repr(1 + losses.spiral_cutting_share.value))
        material = form.unit_cost * Decimal(repr(run.length_mm)) / 1000 * cutting
    else:
        material = form.unit_cost
    return Candidate(form=form, run=run, work=bench.cost_of(driver_of(run)) + tip_cost * run.tips, material=material)


def _undominated(found: list[Candidate]) -> list[Candidate]:
    """Without those in whose stead as many as are wanted of a longer, no dearer bone can be bought, used the same way."""
    return [
        row
        for row in found
        if not any(
            other is not row
            and other.form.free is None
            and row.form.free is None
            and (other.form.form, other.run.is_cut) == (row.form.form, row.run.is_cut)
            and other.run.length_mm >= row.run.length_mm
            and (other.cost, -other.run.length_mm) < (row.cost, -row.run.length_mm)
            for other in found
        )
    ]
