"""Starting a quote: what decides the price, with a pattern that is kept, handed in or drafted from measures."""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from functools import partial
from typing import Any

from django import forms
from django.contrib.auth.models import User
from django.http import HttpRequest
from django.utils import timezone

from inventory.ground.codec import Document
from inventory.ground.materials import Material
from inventory.ground.site.fields import DayField
from inventory.ground.site.keyed_forms import Cleaned, KeyForm
from inventory.ground.units import LengthUnit
from quotes.clients.measuring import middle_mm
from quotes.construction.construction import Construction
from quotes.construction.shipped import DEFAULT
from quotes.desk.option_forms import MadeForm
from quotes.models import Client, KeptPattern, MeasurementSet, PatternRevision, QuoteRevision
from quotes.patterns.forms import BlockForm, PatternFileForm
from quotes.patterns.kept_patterns import free_name, pattern_of_block, pattern_of_upload

__all__ = ["FirstOptionForm", "StartForm", "StartForms"]


class StartForm(KeyForm):
    """The piece, whom it is for, by when it is wanted, and where its pattern comes from."""

    title = forms.CharField(max_length=160, label="The piece", help_text="“Underbust in bottle-green satin coutil”.")
    client = forms.ModelChoiceField(Client.objects.all(), required=False, empty_label="someone new", label="Client")
    new_client = forms.CharField(max_length=120, required=False, label="New client’s name")
    due = DayField(
        required=False, label="Wanted by", help_text="A note inside; what you promise is said when it is sent."
    )
    pattern_from = forms.ChoiceField(
        label="Pattern",
        widget=forms.RadioSelect,
        choices=[("kept", "A kept one"), ("file", "From a file"), ("measures", "From measures, for a first price")],
    )
    pattern = forms.ModelChoiceField(KeptPattern.objects.all(), required=False, label="Which", empty_label="choose")

    def clean(self) -> Cleaned:
        cleaned = super().clean() or {}
        if not cleaned.get("client") and not (cleaned.get("new_client") or "").strip():
            self.add_error("new_client", "Choose a client, or write the new one’s name.")
        if cleaned.get("pattern_from") == "kept" and not cleaned.get("pattern") and "pattern" not in self.errors:
            self.add_error("pattern", "Choose a pattern, or say that it comes from a file or from measures.")
        return cleaned

    def clean_due(self) -> Any:
        due = self.cleaned_data["due"]
        if due is not None and due < timezone.localdate():
            raise forms.ValidationError("This day has passed.")
        return due

    @property
    def asked_by(self) -> Client:
        """The client, not saved yet where new; call after `is_valid`."""
        return self.cleaned_data["client"] or Client(name=self.cleaned_data["new_client"].strip())


class FirstOptionForm(MadeForm):
    """How the piece is made. Its outermost cloth is always chosen, with what the shelf holds of each in sight."""

    pattern_work = forms.ChoiceField(
        label="Pattern work",
        required=False,
        choices=[
            ("", "As usual: one from measures is drafted, others are checked"),
            ("drafted", "Drafted for this piece"),
            ("checked", "There already, only checked"),
        ],
    )

    def __init__(
        self,
        data: Any = None,
        *,
        option: Document,
        constructions: dict[str, Construction],
        materials: Sequence[Material],
        free: Sequence[tuple[Material, str]],
    ) -> None:
        """`free` are the cloths, each with what the shelf holds free of it, in words."""
        super().__init__(data, option=option, constructions=constructions, materials=materials)
        self.cloths = [cloth for cloth, _ in free]
        outermost, *others = [f"cloth_{role}" for role in self.chosen.roles]
        self.fields[outermost] = forms.ChoiceField(
            label=self.fields[outermost].label,
            widget=forms.RadioSelect,
            choices=[(cloth.code, f"{self.words_of[cloth.code]} · {held}") for cloth, held in free],
        )
        self.order_fields(["construction", outermost, *others, "front", "pattern_work"])

    @property
    def outermost(self) -> forms.BoundField:
        """The cloth that shows."""
        return self[f"cloth_{self.chosen.roles[0]}"]

    @property
    def outermost_choices(self) -> Iterable[tuple[forms.boundfield.BoundWidget, Material]]:
        """Each button of the cloth that shows, with its cloth."""
        return zip(self.outermost, self.cloths, strict=True)

    @property
    def others(self) -> list[forms.BoundField]:
        """All else that is asked, the construction and the cloth that shows aside."""
        return [bound for bound in self if bound.name not in ("construction", self.outermost.name)]

    def option(self, *, language: str, is_drafted: bool) -> Document:
        """The first option as a commission file says it; call after `is_valid`.

        `is_drafted`: whether this pattern is drafted where nothing else is said.
        """
        made = self.made
        is_checked = (self.cleaned_data["pattern_work"] or ("drafted" if is_drafted else "checked")) == "checked"
        return {
            "name": self.default_name(made, language),
            **made,
            "choices": {**made["choices"], "kept_pattern": is_checked},
        }


class _FileForm(PatternFileForm):
    """A pattern file whose pattern is named by the piece."""

    name = None  # type: ignore[assignment]  # how Django leaves an inherited field out
    use_required_attribute = False


class _MeasuresForm(BlockForm):
    """Measures whose block is named by the piece."""

    name = None  # type: ignore[assignment]  # how Django leaves an inherited field out
    use_required_attribute = False


class StartForms:
    """All that the page asks. Of the ways to a pattern the one that was chosen counts."""

    def __init__(
        self,
        request: HttpRequest,
        *,
        constructions: dict[str, Construction],
        materials: Sequence[Material],
        free: Sequence[tuple[Material, str]],
        measured: MeasurementSet | None,
        length_unit: LengthUnit,
    ) -> None:
        data, asked = request.POST or None, request.GET
        is_kept = "pattern" in asked or (measured is None and KeptPattern.objects.exists())
        made_of = partial(FirstOptionForm, constructions=constructions, materials=materials, free=free)
        self.piece = StartForm(
            data,
            initial={
                "key": asked.get("key"),
                "pattern": asked.get("pattern"),
                "client": asked.get("client"),
                "pattern_from": "kept" if is_kept else "measures",
            },
        )
        option = _made_last(constructions)
        if data is None and "construction" in asked:
            option = made_of(asked, option=option).option_so_far()
        self.made = made_of(data, option=option)
        self.file = _FileForm(data, request.FILES or None, kept=None, length_unit=length_unit)
        self.measures = _MeasuresForm(
            data,
            length_unit=length_unit,
            middles_mm={code: middle_mm(takes) for code, takes in measured.takes_mm.items()} if measured else None,
            prefix="measures",
        )

    def are_valid(self) -> bool:
        """Whether all that counts was said."""
        said = [self.piece.is_valid(), self.made.is_valid()]
        form = self._of_pattern()
        return all([*said, form is None or form.is_valid()])

    @property
    def where_refused(self) -> forms.Form:
        """The form at which a refusal is shown."""
        return self._of_pattern() or self.piece

    def pattern(self, user: User) -> PatternRevision:
        """The pattern's revision, saved only where it was kept; call after `are_valid`. Raises Refused."""
        source = self.piece.cleaned_data["pattern_from"]
        if source == "kept":
            newest: PatternRevision = self.piece.cleaned_data["pattern"].revisions.first()
            return newest
        name = free_name(self.piece.cleaned_data["title"])
        if source == "measures":
            return pattern_of_block(block=replace(self.measures.block, name=name), user=user)
        said = self.file.cleaned_data
        return pattern_of_upload(
            upload=said["file"],
            options=self.file.options,
            pattern=KeptPattern(name=name),
            user=user,
            body_waist_mm=said["body_waist"],
            gap_mm=said["lacing_gap"],
        )

    def _of_pattern(self) -> forms.Form | None:
        source = self.piece["pattern_from"].value()
        return {"file": self.file, "measures": self.measures}.get(source)


def _made_last(constructions: dict[str, Construction]) -> Document:
    """How the last quote's first option was made, without the cloth that shows; the default where there is none."""
    last = QuoteRevision.objects.order_by("-pk").only("inputs").first()
    option: Document = last.inputs["options"][0] if last else {}
    construction = constructions.get(option.get("construction", ""))
    if construction is None:
        return {"construction": DEFAULT}
    cloths = {role: cloth for role, cloth in option["cloths"].items() if role != construction.roles[0]}
    return {"construction": construction.code, "cloths": cloths, "choices": option.get("choices", {})}
