"""A maker's own table on its way in: kept as it is, its columns matched, looked at, taken in whole or not at all."""

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from datetime import timedelta
from uuid import UUID

from django.contrib.auth.models import User
from django.core.files.uploadedfile import UploadedFile
from django.db import IntegrityError, transaction
from django.utils import timezone
from openpyxl.utils import get_column_letter

from inventory.ground.confined import confined
from inventory.ground.findings import Finding, Refused, Severity, refuse, stops
from inventory.ground.materials import MaterialKind
from inventory.importing.choosing import choices_of, take_table
from inventory.importing.opening_stock import put_on_shelf
from inventory.models import ColumnMatching, ImportSheet, LearntWord, Posting, StockMaterial, Supplier
from inventory.models.materials import MILLIONTHS
from inventory.shelf.settings import studio_currency
from inventory.spreadsheet.cells import ASKED_KIND, ASKED_MARK, KnownMaterial
from inventory.spreadsheet.rows import SHEET_MEND, cells_kept, kept_cells
from inventory.spreadsheet.table import Books, Reading, SheetRow, TablePlace, read_table
from inventory.spreadsheet.tables import read_file
from inventory.spreadsheet.words import Field, guess_columns, header_key
from inventory.stock.ledger import Act

__all__ = [
    "Preview",
    "columns_of",
    "header_of",
    "letters_of",
    "likely_columns",
    "look_at",
    "match_columns",
    "save_sheet",
    "sheet_of_upload",
    "take_in",
]

KEPT_DAYS = 2
"""A sheet that was not taken in for so long is dropped when the next one comes."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Preview:
    """A sheet as it would be taken in today."""

    reading: Reading

    @property
    def stops(self) -> tuple[Finding, ...]:
        """What has to be mended first."""
        return stops(self.reading.findings)

    @property
    def faults(self) -> tuple[tuple[int, tuple[Finding, ...]], ...]:
        """Rows that have to be mended or left out, without what the questions on marks and kinds answer."""
        asked = (ASKED_KIND, ASKED_MARK)
        found = (
            (row, tuple(fault for fault in faults if fault.code not in asked))
            for row, faults in self.reading.faults.items()
        )
        return tuple((row, faults) for row, faults in found if faults)

    @property
    def told(self) -> tuple[Finding, ...]:
        """What need not be mended and is worth knowing."""
        return tuple(found for found in self.reading.findings if found.severity is not Severity.STOP)

    @property
    def is_asking(self) -> bool:
        """Whether some rows wait for an answer on marks or kinds."""
        return any(fault.code in (ASKED_KIND, ASKED_MARK) for fault in self.stops)

    @property
    def rows(self) -> tuple[SheetRow, ...]:
        """The rows that are good."""
        return self.reading.rows

    @property
    def good(self) -> int:
        """How many rows are good."""
        return len(self.rows)

    @property
    def filled(self) -> int:
        """How many rows say anything."""
        return self.reading.filled

    @property
    def new_materials(self) -> int:
        """How many materials the good rows would make."""
        return len({row.code for row in self.rows if not row.is_there})

    @property
    def known_materials(self) -> int:
        """How many materials of the good rows are on the shelf already."""
        return len({row.code for row in self.rows if row.is_there})

    @property
    def lots(self) -> int:
        """How many lots would be received."""
        return sum(1 for row in self.rows if row.quantity)

    @property
    def value_minor(self) -> int:
        """What the stock of the good rows is worth."""
        return sum(row.value_minor for row in self.rows)


def sheet_of_upload(*, upload: "UploadedFile[bytes]", user: User | None) -> ImportSheet:
    """Read the rows of an uploaded XLSX or CSV; nothing is saved yet. Raises Refused for what is no table."""
    filename = (upload.name or "table")[-100:]
    found = confined(read_file, upload.read(), filename, name=filename, mend=SHEET_MEND)
    chosen = found.tables[0]
    if not chosen.filled:
        raise refuse("sheet.no-rows", filename, "There is a header and no row below it.", "Add the materials.")
    sheet = ImportSheet(
        filename=filename,
        pages=[{"name": page.name, "is_hidden": page.is_hidden, "rows": kept_cells(page.rows)} for page in found.pages],
        tables=[asdict(table) for table in found.tables],
        assumed=list(found.assumed),
        made_by=user,
    )
    take_table(sheet, chosen)
    return sheet


def save_sheet(sheet: ImportSheet) -> ImportSheet:
    """Keep a sheet's rows for the next steps; sheets that nobody took in go after a while."""
    stale = timezone.now() - timedelta(days=KEPT_DAYS)
    ImportSheet.objects.filter(taken_at=None, made_at__lt=stale).delete()
    sheet.save()
    return sheet


def header_of(sheet: ImportSheet) -> list[str]:
    """Return the cells of the chosen table's header."""
    return cells_kept(sheet.rows[:1])[0]


def likely_columns(sheet: ImportSheet) -> dict[Field, int]:
    """Return which column holds which field: as matched on this sheet, as remembered for its header, else guessed."""
    header = header_of(sheet)
    remembered = ColumnMatching.objects.filter(header_key=header_key(header)).first()
    matched = sheet.columns or (remembered.columns if remembered else {})
    return _columns(matched) or guess_columns(header)


@transaction.atomic
def match_columns(sheet: ImportSheet, columns: Mapping[Field, int]) -> None:
    """Say which column holds which field, for this sheet and for the next with the same header."""
    sheet.columns = {field.value: column for field, column in columns.items()}
    sheet.save(update_fields=["columns"])
    key = header_key(header_of(sheet))
    ColumnMatching.objects.update_or_create(header_key=key, defaults={"columns": sheet.columns})


def look_at(sheet: ImportSheet) -> Preview:
    """Return what taking the sheet in would do, and what is wrong with it."""
    materials = StockMaterial.objects.filter(kind__in=list(MaterialKind)).values_list(
        "code", "name", "kind", "unit_cost_millionths", "lengths_tenths_mm"
    )
    suppliers = list(Supplier.objects.values_list("code", "name"))
    books = Books(
        currency=studio_currency(),
        materials=tuple(
            KnownMaterial(
                code=code,
                name=name,
                kind=MaterialKind(kind),
                unit_cost=millionths / MILLIONTHS,
                lengths_tenths_mm=tuple(lengths),
            )
            for code, name, kind, millionths, lengths in materials
        ),
        suppliers={
            **{name.casefold(): code for code, name in suppliers},
            **{code.casefold(): code for code, _ in suppliers},
        },
        kinds={
            word: MaterialKind(kind)
            for word, kind in LearntWord.objects.filter(kind__in=list(MaterialKind)).values_list("word", "kind")
        },
    )
    reading = read_table(
        cells_kept(sheet.rows),
        columns_of(sheet),
        first_row=sheet.first_row,
        books=books,
        choices=choices_of(sheet),
        place=TablePlace(page=sheet.table.get("sheet", ""), letters=_letters(sheet)),
    )
    return Preview(reading=reading)


def take_in(sheet: ImportSheet, *, key: UUID, user: User | None) -> Preview | None:
    """Take all rows of a sheet in, with their stock as one receipt, once; None where that was done before.

    Raises:
        Refused: a row is wrong or there is none, and nothing was changed.
    """
    preview = None
    try:
        with transaction.atomic():
            sheet = ImportSheet.objects.select_for_update().get(pk=sheet.pk)
            if sheet.taken_at is not None:
                return None
            preview = look_at(sheet)
            if preview.stops:
                raise Refused(preview.reading.findings)
            if not preview.rows:
                raise refuse("sheet.no-rows", sheet.filename, "No row says anything in these columns.", "Match others.")
            if Posting.objects.filter(key=key).exists():
                raise refuse("ledger.key-reused", "form", "This form was sent before.", "Open it again and repeat.")
            act = Act(key=key, by=user, why=f"Opening stock from {sheet.filename}")
            put_on_shelf(act, preview.rows, price_source=f"Import of {sheet.filename}")
            for word, kind in choices_of(sheet).kinds.items():
                LearntWord.objects.update_or_create(word=word, defaults={"kind": kind})
            # The ledger holds what was in them.
            sheet.rows, sheet.pages = sheet.rows[:1], []
            sheet.taken_at = timezone.now()
            sheet.save(update_fields=["rows", "pages", "taken_at"])
            return preview
    except IntegrityError:
        # Somebody else made one of the codes between the look and the writing, unless the shelf looks as before.
        if look_at(sheet) == preview:
            raise
        raise refuse(
            "sheet.overtaken", sheet.filename, "The shelf was changed at the same moment.", "Take it in again."
        ) from None


def columns_of(sheet: ImportSheet) -> dict[Field, int]:
    """Return which column was said to hold which field."""
    return _columns(sheet.columns)


def letters_of(sheet: ImportSheet) -> dict[Field, str]:
    """Return the letters of the columns by what they hold, as the maker's program names them."""
    letters = _letters(sheet)
    return {field: letters[column] for field, column in columns_of(sheet).items()}


def _letters(sheet: ImportSheet) -> list[str]:
    left = sheet.table.get("left", 0)
    return [get_column_letter(left + at + 1) for at in range(len(sheet.rows[0]))]


def _columns(matched: Mapping[str, int]) -> dict[Field, int]:
    return {Field(name): column for name, column in matched.items()}
