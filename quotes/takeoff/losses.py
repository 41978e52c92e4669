"""Losses: how much more of a material is used than is drawn, and how many small pieces are spoilt.

The question: what does this workroom use of what a drawing takes, and who says so?

Words: a *factor* is what is used of what is reckoned; a *share* comes on top of it (0.05 is 5 % more). *Pieces* are
counted, everything else is measured. A workroom starts with the figures of `quotes/defaults.json` and learns its own from
what its delivered pieces took; each figure says where it comes from, and a figure that was not learnt stays the default.
"""

from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from functools import cache

from inventory.ground.codec import Document
from inventory.ground.findings import Refused
from inventory.ground.schema import schema_findings
from inventory.ground.wording import percent_text
from quotes.takeoff.defaults import default_source, default_words, defaults
from quotes.takeoff.takeoff import Reason

__all__ = [
    "SUBJECTS",
    "Figure",
    "Losses",
    "Subject",
    "default_losses",
    "losses_document",
    "read_losses",
    "with_use",
]

LEAST_FACTOR, MOST = 0.1, 10.0
"""A tenth of what is drawn, ten times as much, or ten spoilt for each that holds is a slip of the pen."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """A factor or a share, and who says so."""

    value: float
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Losses:
    """The figures by the names that they have among the defaults."""

    cloth_use_factor: Figure
    toile_use_factor: Figure
    fusible_use_factor: Figure
    binding_use_factor: Figure
    waist_tape_use_factor: Figure
    casing_use_factor: Figure
    spiral_cutting_share: Figure
    cord_use_factor: Figure
    thread_waste_share: Figure
    tip_spoilage_share: Figure
    flat_spoilage_share: Figure
    grommet_spoilage_share: Figure

    def figure(self, name: str) -> Figure:
        """Return the figure of one of `SUBJECTS`."""
        found: Figure = getattr(self, name)
        return found

    def learnt(self, name: str, figure: Figure) -> "Losses":
        """Return the same with another figure of one of `SUBJECTS`."""
        return replace(self, **{name: figure})

    def source_beside(self, source: str, name: str) -> str:
        """Return a line's own source, and beside it that of one of `SUBJECTS` where it is not the default."""
        figure = self.figure(name)
        return source if figure == default_losses().figure(name) else f"{source}; {figure.source}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Subject:
    """What a figure is of.

    Attributes:
        families: the kinds of the takeoff's lines that it counts in.
        is_share: it comes on top of what is drawn or needed; otherwise what is drawn is multiplied by it.
        is_counted: pieces, not lengths.
        stays_at_bench: what is left of it stays at the bench on its spool, so that a whole spool tells of no use.
        least: it is never below this, because the rest is needed by the drawing itself.
    """

    name: str
    families: tuple[str, ...]
    is_share: bool = False
    is_counted: bool = False
    stays_at_bench: bool = False
    least: float = LEAST_FACTOR

    @property
    def title(self) -> str:
        """The figure in words, as a heading."""
        words = default_words(self.name)
        return words[0].upper() + words[1:]

    @property
    def default(self) -> float:
        """The value that a workroom starts with."""
        return float(getattr(defaults(), self.name))

    def text(self, value: float) -> str:
        """Return a value as people read it: `6.4 %` or `× 1.12`."""
        return percent_text(value) if self.is_share else f"× {value:g}"

    def times(self, value: float) -> float:
        """Return what is used of what is drawn or needed, where the figure has a value."""
        return 1 + value if self.is_share else value

    def value_of(self, times: float) -> float:
        """Return the value with which `times` is used of what is drawn or needed, `least` at the least."""
        return max(self.least, times - 1 if self.is_share else times)


SUBJECTS: Mapping[str, Subject] = {
    subject.name: subject
    for subject in (
        Subject(name="cloth_use_factor", families=("cloth", "bias")),
        Subject(name="toile_use_factor", families=("toile",)),
        Subject(name="fusible_use_factor", families=("fusible",)),
        Subject(name="binding_use_factor", families=("binding",)),
        Subject(name="waist_tape_use_factor", families=("waist-tape",)),
        Subject(name="casing_use_factor", families=("casing",)),
        Subject(name="spiral_cutting_share", families=("spiral",), is_share=True, least=0.0),
        # Shorter than it is reckoned the cord would not let her in.
        Subject(name="cord_use_factor", families=("cord",), least=1.0),
        Subject(name="thread_waste_share", families=("thread",), is_share=True, stays_at_bench=True, least=0.0),
        Subject(name="tip_spoilage_share", families=("tip",), is_share=True, is_counted=True, least=0.0),
        Subject(name="flat_spoilage_share", families=("flat",), is_share=True, is_counted=True, least=0.0),
        Subject(name="grommet_spoilage_share", families=("grommet",), is_share=True, is_counted=True, least=0.0),
    )
}


@cache
def default_losses() -> Losses:
    """Return the figures that a workroom starts with."""
    return Losses(
        **{name: Figure(value=subject.default, source=default_source(name)) for name, subject in SUBJECTS.items()}
    )


def with_use(reason: Reason, factor: Figure) -> Reason:
    """Return a line's reason with what the workroom's own use adds to it; the same where that is what is drawn."""
    if factor.value == 1:
        return reason
    own = f"× {factor.value:g}, as this workroom uses it"
    return replace(
        reason,
        waste=f"{reason.waste}; {own}" if reason.waste else own,
        source=f"{reason.source}; {factor.source}",
    )


def read_losses(document: object) -> Losses:
    """Return the figures that a workroom has learnt, the defaults where it has learnt none.

    Raises:
        Refused: an unknown name, a figure without its source, or one out of bounds.
    """
    faults = schema_findings(document, _schema(), code="losses")
    if faults:
        raise Refused(faults)
    assert isinstance(document, dict)
    known = {name: Figure(value=float(row["value"]), source=row["source"]) for name, row in document.items()}
    return replace(default_losses(), **known)


def losses_document(losses: Losses) -> Document:
    """Return what is not the default as JSON data that `read_losses` takes back."""
    shipped = default_losses()
    rows = {row.name: losses.figure(row.name) for row in fields(losses)}
    return {
        name: {"value": figure.value, "source": figure.source}
        for name, figure in rows.items()
        if figure != shipped.figure(name)
    }


@cache
def _schema() -> Document:
    return {
        "type": "object",
        "additionalProperties": False,
        "properties": {
            name: {
                "type": "object",
                "additionalProperties": False,
                "required": ["value", "source"],
                "properties": {
                    "value": {"type": "number", "minimum": subject.least, "maximum": MOST},
                    "source": {"type": "string", "minLength": 1, "maxLength": 200},
                },
            }
            for name, subject in SUBJECTS.items()
        },
    }
