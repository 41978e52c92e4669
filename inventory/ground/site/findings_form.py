"""Putting findings where a form's reader sees them."""

from collections.abc import Mapping

from django.forms import BaseForm

from inventory.ground.findings import Refused, stops

__all__ = ["add_refusal"]


def add_refusal(form: BaseForm, refusal: Refused, *, fields: Mapping[str, str] | None = None) -> None:
    """Add a refusal's stops to a form: at the field whose key begins the finding's place, else above it."""
    for found in stops(refusal.findings):
        places = ((place, name) for place, name in (fields or {}).items() if name in form.fields)
        field = next((name for place, name in places if found.where.startswith(place)), None)
        words = f"{found.message} {found.hint}".strip()
        form.add_error(field, words if field else f"{found.where}: {words}")
