"""Uploads are stopped while they arrive, before they fill memory or disk."""

from typing import Any

from django.core.files.uploadhandler import FileUploadHandler

from inventory.ground.site.uploads import UploadTooLarge, allowance_of

__all__ = ["SizeLimitHandler"]

FIELDS_BYTES = 1_000_000
"""What the fields beside the files may take."""


class SizeLimitHandler(FileUploadHandler):
    """Stops an upload that passes what its page takes, by its announced size or as it comes in, all its files together."""

    def handle_raw_input(
        self, input_data: Any, META: Any, content_length: int, boundary: Any, encoding: Any = None
    ) -> None:
        assert self.request is not None
        self.arrived = 0
        self.allowance = allowance_of(self.request)
        self._limit(content_length, self.allowance.most_bytes + FIELDS_BYTES)

    def receive_data_chunk(self, raw_data: bytes, start: int) -> bytes:
        self.arrived += len(raw_data)
        self._limit(self.arrived, self.allowance.most_bytes)
        return raw_data

    def file_complete(self, file_size: int) -> None:
        return None

    def _limit(self, size: int, most: int) -> None:
        if size > most:
            raise UploadTooLarge(self.allowance)
