"""How much a page takes from a browser: as much as a pattern file, unless its view says otherwise."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import TypeVar

from django.core.exceptions import RequestDataTooBig
from django.http import HttpRequest

from inventory.ground.defaults import shelf_defaults

__all__ = ["USUAL", "Allowance", "UploadTooLarge", "allowance_of", "takes_uploads"]

View = TypeVar("View", bound=Callable[..., object])


@dataclass(frozen=True, slots=True)
class Allowance:
    """So many megabytes, and what to do with more, one sentence."""

    most_mb: int
    mend: str

    @property
    def most_bytes(self) -> int:
        """The same in bytes."""
        return self.most_mb * 1_000_000


class UploadTooLarge(RequestDataTooBig):
    """More came than a page takes; `allowance` says how much that is."""

    def __init__(self, allowance: Allowance) -> None:
        super().__init__(f"An upload of more than {allowance.most_mb} MB was stopped.")
        self.allowance = allowance


USUAL = Allowance(shelf_defaults().reading.most_mb, "Save only the pattern’s panels.")


def takes_uploads(most_mb: int, mend: str) -> Callable[[View], View]:
    """Let a view take so much in place of the usual; what wraps it passes that on."""

    def mark(view: View) -> View:
        view.allowance = Allowance(most_mb, mend)  # type: ignore[attr-defined]  # on the view itself, as Django marks views too
        return view

    return mark


def allowance_of(request: HttpRequest) -> Allowance:
    """Return how much the page takes that a request is for."""
    match = request.resolver_match
    found: Allowance = getattr(match.func, "allowance", USUAL) if match else USUAL
    return found
