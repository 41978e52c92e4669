"""Putting findings where a form's reader sees them."""

from collections.abc import Mapping
from types import TracebackType

from django.forms import BaseForm

from inventory.ground.findings import Refused, is_doubt, stops
from inventory.ground.site.sure_forms import SureForm

__all__ = ["RefusalsOn", "add_refusal"]


def add_refusal(form: BaseForm, refusal: Refused, *, fields: Mapping[str, str] | None = None) -> None:
    """Add a refusal's stops to a form: at the field whose key begins the finding's place, else above it.

    What is only doubted is asked, where the form can ask.
    """
    found_stops = stops(refusal.findings)
    doubts = [found for found in found_stops if is_doubt(found)]
    if isinstance(form, SureForm) and doubts:
        form.ask(doubts)
        found_stops = tuple(found for found in found_stops if not is_doubt(found))
    for found in found_stops:
        places = ((place, name) for place, name in (fields or {}).items() if name in form.fields)
        field = next((name for place, name in places if found.where.startswith(place)), None)
        words = f"{found.message} {found.hint}".strip()
        form.add_error(field, words if field else f"{found.where}: {words}")


class RefusalsOn:
    """`with RefusalsOn(form):` puts what is refused within it on the form, and what comes after goes on from there."""

    def __init__(self, form: BaseForm, *, fields: Mapping[str, str] | None = None) -> None:
        self.form, self.fields = form, fields

    def __enter__(self) -> None:
        pass

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> bool:
        if not isinstance(error, Refused):
            return False
        add_refusal(self.form, error, fields=self.fields)
        return True
