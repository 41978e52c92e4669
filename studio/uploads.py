"""Uploads are stopped while they arrive, before they fill memory or disk."""

from typing import Any

from django.core.exceptions import RequestDataTooBig
from django.core.files.uploadhandler import FileUploadHandler

from inventory.ground.reading import MOST_BYTES

__all__ = ["SizeLimitHandler"]

FIELDS_BYTES = 1_000_000
"""What the fields beside the file may take."""


class SizeLimitHandler(FileUploadHandler):
    """Stops an upload that passes the limit of a pattern file, by its announced size or as it comes in."""

    def handle_raw_input(
        self, input_data: Any, META: Any, content_length: int, boundary: Any, encoding: Any = None
    ) -> None:
        self.arrived = 0
        self._limit(content_length, MOST_BYTES + FIELDS_BYTES)

    def receive_data_chunk(self, raw_data: bytes, start: int) -> bytes:
        self.arrived += len(raw_data)
        self._limit(self.arrived, MOST_BYTES)
        return raw_data

    def file_complete(self, file_size: int) -> None:
        return None

    def _limit(self, size: int, most: int) -> None:
        if size > most:
            raise RequestDataTooBig(f"An upload of {size} bytes was stopped.")
