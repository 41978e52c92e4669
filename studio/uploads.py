"""Uploads are stopped while they arrive, before they fill memory or disk."""

from typing import Any

from django.core.files.uploadhandler import FileUploadHandler, StopUpload

from quotes.pattern.readers import MOST_BYTES

__all__ = ["SizeLimitHandler"]


class SizeLimitHandler(FileUploadHandler):
    """Stops an upload that passes the limit of a pattern file, by its announced size or as it comes in."""

    def handle_raw_input(
        self, input_data: Any, META: Any, content_length: int, boundary: Any, encoding: Any = None
    ) -> None:
        self.arrived = 0
        if content_length > MOST_BYTES + 1_000_000:
            raise StopUpload(connection_reset=True)

    def receive_data_chunk(self, raw_data: bytes, start: int) -> bytes:
        self.arrived += len(raw_data)
        if self.arrived > MOST_BYTES:
            raise StopUpload(connection_reset=True)
        return raw_data

    def file_complete(self, file_size: int) -> None:
        return None
