"""A maker's own table handed in by tests."""

from django.contrib.auth.models import User
from django.core.files.uploadedfile import UploadedFile

from inventory.importing.importing import save_sheet, sheet_of_upload
from inventory.models import ImportSheet

__all__ = ["keep_sheet"]


def keep_sheet(*, upload: "UploadedFile[bytes]", user: User | None) -> ImportSheet:
    """Read a table and keep its rows."""
    return save_sheet(sheet_of_upload(upload=upload, user=user))
