"""Stored documents: from a frozen dataclass to plain JSON data and back, by one codec for all kinds.

A *document* is what stands in the database or a file: plain JSON data that says which version of its form it has. What
was stored is never written anew; a document of an earlier version is brought up to the form of today whenever it is
read, by one function a version. Decimals are decimal strings, days ISO 8601, choices their values.
"""

from collections.abc import Callable, Mapping, Sequence, Set
from dataclasses import dataclass, field, fields, is_dataclass
from datetime import date
from decimal import Decimal
from enum import Enum
from typing import Any, Generic, TypeVar

import msgspec

__all__ = ["Codec", "Document", "Upgrade", "plain"]

Document = Mapping[str, Any]
Upgrade = Callable[[Document], Document]

Kept = TypeVar("Kept")


@dataclass(frozen=True, slots=True, kw_only=True)
class Codec(Generic[Kept]):
    """How one kind of document is kept.

    Attributes:
        kind: the frozen dataclass that it is read as.
        version: of the form that `written` writes.
        key: under which a document says its version.
        upgrades: per earlier version, from it to the next.
    """

    kind: type[Kept]
    version: int
    key: str = "version"
    upgrades: Mapping[int, Upgrade] = field(default_factory=dict)

    def read(self, document: Document) -> Kept:
        """Return what a document of any version says.

        Raises:
            ValueError: a version that is not known here, or a document that is not of its form, with the place.
        """
        version = document.get(self.key, 1)
        while version != self.version:
            if version not in self.upgrades:
                raise ValueError(f"A {self.kind.__name__} of version {version} cannot be read here.")
            document = self.upgrades[version](document)
            version += 1
        return msgspec.convert(document, self.kind)

    def written(self, value: Kept) -> dict[str, Any]:
        """Return the document of a value, in the form of today; the same value gives the same document."""
        return {self.key: self.version, **plain(value)}


def plain(value: Any) -> Any:
    """Return a value as plain JSON data: dataclasses as objects in the order of their fields, sets as sorted lists."""
    match value:
        case Enum():
            return value.value
        case str() | int() | float() | None:
            return value
        case Decimal():
            return f"{value:f}"
        case date():
            return value.isoformat()
        case Mapping():
            return {key: plain(entry) for key, entry in value.items()}
        case Sequence():
            return [plain(entry) for entry in value]
        case Set():
            return [plain(entry) for entry in sorted(value)]
    if not is_dataclass(value):
        raise TypeError(f"A {type(value).__name__} has no place in a document.")
    return {entry.name: plain(getattr(value, entry.name)) for entry in fields(value)}
