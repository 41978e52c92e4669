"""Answers that are files: papers, tables, photographs."""

from django.db.models.fields.files import FieldFile
from django.http import FileResponse, Http404, HttpResponse

from inventory.ground.photo_files import PHOTO_TYPES

__all__ = ["download", "picture"]

TYPES = {
    "csv": "text/csv; charset=utf-8",
    "dxf": "image/vnd.dxf",
    "json": "application/json",
    "pdf": "application/pdf",
    "svg": "image/svg+xml",
    "xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
}


def download(data: bytes | str, name: str) -> HttpResponse:
    """Return a file under its name, which ends in one of `TYPES`: a PDF to look at, everything else to keep."""
    kind = name.rpartition(".")[2]
    how = "inline" if kind == "pdf" else "attachment"
    return HttpResponse(
        data,
        content_type=TYPES[kind],
        headers={"Content-Disposition": f'{how}; filename="{name}"', "Cache-Control": "no-store"},
    )


def picture(photo: FieldFile) -> FileResponse:
    """Return a photograph as a picture and nothing else. Raises Http404 where there is none."""
    if not photo.name or not photo.storage.exists(photo.name):
        raise Http404("There is no photograph.")
    response = FileResponse(photo.open("rb"), content_type=PHOTO_TYPES[photo.name.rpartition(".")[2]])
    response["Content-Security-Policy"] = "sandbox; default-src 'none'"
    return response
