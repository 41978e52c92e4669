"""Documents as PDF: a typst template and the data that it sets, as text and never as markup."""

import json
from datetime import UTC, date, datetime
from functools import cache

import typst

from inventory.ground.codec import Document

__all__ = ["typeset"]

_ARCHIVAL_AND_ACCESSIBLE = ["a-2a", "ua-1"]


def typeset(template: bytes, data: Document, *, dated: date | None) -> bytes:
    """Return the PDF of a template that reads `data.json`; the same data on the same day give the same bytes.

    The file is PDF/A-2a and PDF/UA-1 where the fonts that ship with the typesetter hold every letter; a name in
    another script falls back to the system's fonts and a plain PDF rather than fail.
    """
    files = {"main.typ": template, "data.json": json.dumps(data, ensure_ascii=False).encode()}
    day = dated or date(2000, 1, 1)
    stamp = datetime(day.year, day.month, day.day, tzinfo=UTC)
    try:
        return _compiled(files, _fonts(system=False), stamp, standards=_ARCHIVAL_AND_ACCESSIBLE)
    except typst.TypstError:
        return _compiled(files, _fonts(system=True), stamp, standards=[])


def _compiled(files: dict[str, bytes], fonts: typst.Fonts, stamp: datetime, *, standards: list[str]) -> bytes:
    # The stubs do not know that a project may be handed over as files in memory.
    pdf: bytes = typst.compile(  # type: ignore[call-overload]
        files, format="pdf", font_paths=fonts, timestamp=stamp, pdf_standards=standards
    )
    return pdf


@cache
def _fonts(*, system: bool) -> typst.Fonts:
    """Finding fonts takes longer than setting the page, so it happens once."""
    return typst.Fonts(include_system_fonts=system)
