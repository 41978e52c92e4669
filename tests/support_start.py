"""The page that starts a quote, sent as a maker would who changes only what is said."""

from typing import Any

from django.forms import BoundField, Select
from django.test import Client as Browser


def start_as_shown(browser: Browser, **said: Any) -> dict[str, Any]:
    """Return what the page sends when it is left as it is shown, but for what is `said`."""
    forms = browser.get("/quotes/new/", follow=True).context["forms"]
    bound = [field for form in (forms.piece, forms.made, forms.measures) for field in form]
    shown = {field.html_name: value for field in bound if (value := _shown(field)) is not None}
    return {**shown, **said}


def _shown(field: BoundField) -> Any:
    """A list of choices shows its first where nothing is chosen, unless it is one of buttons."""
    value = field.value()
    if value is None and type(field.field.widget) is Select:
        return field.field.widget.choices[0][0]
    return value
