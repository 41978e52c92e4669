"""Where photographs are kept: a file is there whole, or the disk was full and it is not there at all."""

from pathlib import Path
from typing import Any

from django.core.files.base import ContentFile
from django.core.files.storage import FileSystemStorage

__all__ = ["WholeFileStorage"]


class WholeFileStorage(FileSystemStorage):
    """A folder in which nothing stays of a file that could not be written to its end."""

    def _save(self, name: str, content: Any) -> str:
        # The empty file takes the name for this one alone, so that no other is taken away below.
        kept: str = super()._save(name, ContentFile(b""))  # type: ignore[misc]  # the stubs leave _save out
        path = Path(self.path(kept))
        try:
            with path.open("wb") as file:
                file.writelines(content.chunks())
        except BaseException:
            path.unlink(missing_ok=True)
            raise
        return kept
