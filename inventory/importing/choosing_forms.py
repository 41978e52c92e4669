"""What a maker says of a table: which one it is, what its marks and words mean, what a row should say."""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from django import forms

from inventory.ground.materials import KINDS, MaterialKind
from inventory.ground.site.keyed_forms import Cleaned
from inventory.importing.forms import HINTS
from inventory.spreadsheet.asking import AskedKind
from inventory.spreadsheet.points import ColumnMarks, Mark, evidence_words
from inventory.spreadsheet.rows import Page
from inventory.spreadsheet.tables import TableFound
from inventory.spreadsheet.words import LABELS, Field

__all__ = ["MOST_WORDS", "AnswersForm", "LeaveOutForm", "RowForm", "TableForm"]

MOST_WORDS = 40
"""So many words are asked about at once."""
_ELSEWHERE = "elsewhere"
_KINDS = [(kind.value, facts.label) for kind, facts in KINDS.items()]


class TableForm(forms.Form):
    """One of the tables that were found in a file, or the row of another header; hands over either."""

    row = forms.IntegerField(label="Its header stands in row", min_value=1, required=False)

    def __init__(
        self,
        data: Any = None,
        *,
        pages: Sequence[Page],
        tables: Sequence[TableFound],
        chosen: TableFound | None,
    ) -> None:
        at = str(tables.index(chosen)) if chosen in tables else _ELSEWHERE
        super().__init__(data, initial={"table": at, "page": chosen.page if chosen else 0})
        choices = [(str(at), _table_words(pages, table)) for at, table in enumerate(tables)]
        self.fields["table"] = forms.ChoiceField(
            label="The table",
            widget=forms.RadioSelect,
            choices=[*choices, (_ELSEWHERE, "Another one, whose header I name")],
        )
        if len(pages) > 1:
            names = [(str(number), page.name or "the file") for number, page in enumerate(pages)]
            self.fields["page"] = forms.ChoiceField(label="Its sheet", required=False, choices=names)
        self.order_fields(["table", "page", "row"])

    def clean(self) -> Cleaned:
        cleaned = super().clean() or {}
        if cleaned.get("table") == _ELSEWHERE and not cleaned.get("row") and not self.errors:
            self.add_error("row", "Say in which row the columns’ names stand.")
        return cleaned

    @property
    def place(self) -> tuple[int, int] | int:
        """Page and row of a header, or which of the tables; call after `is_valid`."""
        said = self.cleaned_data
        return (int(said.get("page") or 0), said["row"]) if said["table"] == _ELSEWHERE else int(said["table"])


class AnswersForm(forms.Form):
    """The questions that a table leaves open, and the words that were understood; hands over marks and kinds."""

    def __init__(
        self,
        data: Any = None,
        *,
        marks: Mapping[Field, ColumnMarks],
        kinds: Sequence[AskedKind],
        letters: Mapping[Field, str],
    ) -> None:
        super().__init__(data)
        self.words = {f"kind_{at}": asked for at, asked in enumerate(kinds[:MOST_WORDS])}
        for field, found in marks.items():
            if not found.open or (found.mark is not None and not found.is_told):
                continue
            text = found.open[0][1]
            self.fields[f"mark_{field.value}"] = forms.ChoiceField(
                label=f"{LABELS[field].capitalize()}, column {letters.get(field, '')}: what is “{text}”?",
                choices=[("", "?"), *((mark, f"{number}") for mark, number in found.readings())],
                initial=found.mark or "",
                required=False,
                help_text=_mark_hint(found),
            )
        for name, asked in self.words.items():
            self.fields[name] = forms.ChoiceField(
                label=f"{'Kind of ' if asked.is_name else ''}“{asked.words[:60]}”",
                choices=[("", "?"), *_KINDS],
                initial=asked.kind or asked.likely or "",
                required=False,
                help_text=_kind_hint(asked),
            )

    @property
    def open_fields(self) -> list[forms.BoundField]:
        """What is asked."""
        asked = {name for name, words in self.words.items() if words.kind is None}
        return [bound for bound in self if bound.name in asked or bound.name.startswith("mark_")]

    @property
    def known_fields(self) -> list[forms.BoundField]:
        """What was understood and may be set otherwise."""
        return [bound for bound in self if bound.name in self.words and self.words[bound.name].kind is not None]

    @property
    def marks(self) -> dict[Field, Mark]:
        """The marks that were said; call after `is_valid`."""
        said = {field: self.cleaned_data.get(f"mark_{field.value}") for field in Field}
        return {field: mark for field, mark in said.items() if mark}

    @property
    def kinds(self) -> dict[str, MaterialKind]:
        """What words mean where that was not known or is to be otherwise, by plain word; call after `is_valid`."""
        said = {asked.plain: (self.cleaned_data.get(name), asked.kind) for name, asked in self.words.items()}
        return {word: MaterialKind(kind) for word, (kind, known) in said.items() if kind and kind != known}


class RowForm(forms.Form):
    """A row cell by cell; hands over the cells that differ from the file."""

    is_left_out = forms.BooleanField(label="Leave this row out", required=False)

    def __init__(
        self, data: Any = None, *, file: Mapping[Field, str], shown: Mapping[Field, str], is_left_out: bool
    ) -> None:
        super().__init__(
            data, initial={field.value: text for field, text in shown.items()} | {"is_left_out": is_left_out}
        )
        self.file = file
        for field in (*file, *(field for field in Field if field not in file)):
            self.fields[field.value] = forms.CharField(
                label=LABELS[field].capitalize(), required=False, max_length=500, help_text=HINTS.get(field, "")
            )

    @property
    def cells(self) -> dict[Field, str]:
        """What is put in place of the file's cells; call after `is_valid`."""
        said = {field: self.cleaned_data[field.value] for field in Field}
        return {field: text for field, text in said.items() if text != self.file.get(field, "")}


class LeaveOutForm(forms.Form):
    """Ticks at rows; hands over their numbers."""

    def __init__(self, data: Any = None, *, rows: Iterable[int]) -> None:
        super().__init__(data)
        self.fields["row"] = forms.TypedMultipleChoiceField(
            coerce=int,
            choices=[(row, str(row)) for row in rows],
            error_messages={"required": "Tick the rows that are left out."},
        )


def _table_words(pages: Sequence[Page], table: TableFound) -> str:
    header = [cell for cell in pages[table.page].rows[table.top - 1][table.left : table.right] if cell]
    name = f"Sheet {pages[table.page].name}, " if len(pages) > 1 else ""
    rows = f"{table.filled} row{'' if table.filled == 1 else 's'}"
    return f"{name}{table.span}, {rows}: {' · '.join(header)[:80]}"


def _mark_hint(found: ColumnMarks) -> str:
    both = " and ".join(evidence_words(found))
    why = f"The column has both: {both}." if both else "No cell of the column shows it."
    return f"{why} {len(found.open)} cell{'s' if len(found.open) > 1 else ''} can be read in two ways."


def _kind_hint(asked: AskedKind) -> str:
    others = f" and {asked.rows - 1} more" if asked.rows > 1 else ""
    proposed = (
        " Proposed by a word that is known: look whether it is right." if asked.kind is None and asked.likely else ""
    )
    return f"Row {asked.first_row}{others}.{proposed}"
