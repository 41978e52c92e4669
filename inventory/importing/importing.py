"""A maker's own table on its way in: kept as it is, its columns matched, looked at, taken in whole or not at all."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import timedelta
from uuid import UUID

from django.contrib.auth.models import User
from django.core.files.uploadedfile import UploadedFile
from django.db import IntegrityError, transaction
from django.utils import timezone

from inventory.ground.confined import confined
from inventory.ground.findings import Finding, Refused, refuse, stops
from inventory.ground.materials import MaterialKind
from inventory.importing.opening_stock import put_on_shelf
from inventory.models import ColumnMatching, ImportSheet, Posting, StockMaterial, Supplier
from inventory.models.materials import MILLIONTHS
from inventory.shelf.settings import studio_currency
from inventory.spreadsheet.cells import KnownMaterial
from inventory.spreadsheet.rows import SHEET_MEND, sheet_rows
from inventory.spreadsheet.table import Books, Reading, SheetRow, read_table
from inventory.spreadsheet.words import Field, guess_columns, header_key, header_place
from inventory.stock.ledger import Act

__all__ = ["Preview", "likely_columns", "look_at", "match_columns", "save_sheet", "sheet_of_upload", "take_in"]

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
    rows = confined(sheet_rows, upload.read(), filename, name=filename, mend=SHEET_MEND)
    header = header_place(rows)
    if len(rows) - header < 2:
        raise refuse("sheet.no-rows", filename, "There is a header and no row below it.", "Add the materials.")
    return ImportSheet(filename=filename, rows=rows[header:], first_row=header + 1, made_by=user)


def save_sheet(sheet: ImportSheet) -> ImportSheet:
    """Keep a sheet's rows for the next steps; sheets that nobody took in go after a while."""
    stale = timezone.now() - timedelta(days=KEPT_DAYS)
    ImportSheet.objects.filter(taken_at=None, made_at__lt=stale).delete()
    sheet.save()
    return sheet


def likely_columns(sheet: ImportSheet) -> dict[Field, int]:
    """Return which column holds which field: as matched on this sheet, as remembered for its header, else guessed."""
    header = sheet.rows[0]
    remembered = ColumnMatching.objects.filter(header_key=header_key(header)).first()
    matched = sheet.columns or (remembered.columns if remembered else {})
    return _columns(matched) or guess_columns(header)


@transaction.atomic
def match_columns(sheet: ImportSheet, columns: Mapping[Field, int]) -> None:
    """Say which column holds which field, for this sheet and for the next with the same header."""
    sheet.columns = {field.value: column for field, column in columns.items()}
    sheet.save(update_fields=["columns"])
    ColumnMatching.objects.update_or_create(header_key=header_key(sheet.rows[0]), defaults={"columns": sheet.columns})


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
    )
    reading = read_table(sheet.rows, _columns(sheet.columns), first_row=sheet.first_row, books=books)
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
            # The ledger holds what was in them.
            sheet.rows = sheet.rows[:1]
            sheet.taken_at = timezone.now()
            sheet.save(update_fields=["rows", "taken_at"])
            return preview
    except IntegrityError:
        # Somebody else made one of the codes between the look and the writing, unless the shelf looks as before.
        if look_at(sheet) == preview:
            raise
        raise refuse(
            "sheet.overtaken", sheet.filename, "The shelf was changed at the same moment.", "Take it in again."
        ) from None


def _columns(matched: Mapping[str, int]) -> dict[Field, int]:
    return {Field(name): column for name, column in matched.items()}
