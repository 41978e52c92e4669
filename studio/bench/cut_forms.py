"""The form of a cut list that is cut: what was taken of each lot and what was left, as it was planned until corrected."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from django import forms
from django.core.signing import BadSignature, Signer

from inventory.ground.bone_forms import bone_lengths
from inventory.ground.codec import Codec
from inventory.ground.site.fields import QuantityField
from inventory.models import Lot
from studio.cutting.doing import Doing
from studio.cutting.wanted import TENTHS

__all__ = ["AllCutForm", "opened", "sealed"]

_SIGNER = Signer(salt="studio.cut-list")
_DOING = Codec(kind=Doing, version=1)


def sealed(doing: Doing, *, seen: str, jobs: list[int]) -> str:
    """Return a list as its form carries it, so that what is booked is the list that was cut from."""
    return _SIGNER.sign_object({"doing": _DOING.written(doing), "seen": seen, "jobs": jobs})


def opened(text: str) -> tuple[Doing, str, list[int]] | None:
    """Return a list that `sealed` wrote: what is done, the fingerprint of what is wanted, the jobs; None for anything else."""
    try:
        said = _SIGNER.unsign_object(text)
    except BadSignature:
        return None
    return _DOING.read(said["doing"]), said["seen"], said["jobs"]


class AllCutForm(forms.Form):
    """What was really taken and left; each field holds what was planned."""

    def __init__(self, *args: Any, doing: Doing, lots: Mapping[int, Lot], names_jobs: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.doing = doing
        for number, taken in enumerate(doing.taken):
            lot = lots[taken.lot]
            label = f"{lot.item}, {lot}{f', for {taken.job}' if names_jobs else ''}"
            self.fields[f"taken-{number}"] = QuantityField(
                stock_unit=lot.item.unit, least=0, required=False, label=label, initial=taken.amount
            )
        for number, bones in enumerate(doing.bones):
            lot = lots[bones.lot]
            into = " + ".join(f"{length / TENTHS:g}" for length in bones.lengths)
            self.fields[f"bones-{number}"] = forms.IntegerField(
                min_value=0,
                max_value=100_000,
                required=False,
                label=f"{lot.item}, {lot}: bones cut into {into} mm",
                initial=bones.count,
            )
            self.fields[f"rest-{number}"] = forms.CharField(
                max_length=20,
                required=False,
                label="What went back of each, mm",
                initial=f"{bones.rest / TENTHS:g}" if bones.rest else "",
                help_text="Empty: what was left of it is waste.",
            )

    def clean(self) -> dict[str, Any]:
        """A rest is one length."""
        cleaned = super().clean() or {}
        for number in range(len(self.doing.bones)):
            name = f"rest-{number}"
            text = cleaned.get(name)
            if not text:
                cleaned[name] = 0
                continue
            try:
                lengths = bone_lengths(text)
            except ValueError as error:
                self.add_error(name, str(error))
                continue
            if len(lengths) == 1:
                cleaned[name] = lengths[0]
            else:
                how_many = "more than one" if lengths else "no"
                self.add_error(name, f"{text} is {how_many} length; say one, what went back of each bone.")
        return cleaned

    def done(self) -> Doing:
        """What was done, of a form that is valid."""
        said = self.cleaned_data
        return replace(
            self.doing,
            taken=tuple(
                replace(taken, amount=said[f"taken-{number}"] or 0) for number, taken in enumerate(self.doing.taken)
            ),
            bones=tuple(
                replace(bones, count=said[f"bones-{number}"] or 0, rest=said[f"rest-{number}"])
                for number, bones in enumerate(self.doing.bones)
            ),
        )
