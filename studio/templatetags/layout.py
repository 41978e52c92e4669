"""Small parts of every page: where we are, how a field stands, the key of a form that counts once."""

from uuid import uuid4

from django import template
from django.forms import BoundField
from django.utils.html import format_html
from django.utils.safestring import SafeString, mark_safe

from inventory.ground.materials import Material
from inventory.models import StockMaterial
from inventory.shelf.acting import ACT_KEY

register = template.Library()

PLACES = (
    ("home", "Today", "/"),
    ("quotes", "Quotes", "/quotes/"),
    ("shelf", "Shelf", "/shelf/"),
    ("bench", "Bench", "/bench/"),
    ("books", "Books", "/books/"),
)


@register.inclusion_tag("components/_places.html")
def places(here: str) -> dict[str, object]:
    """The bar of five places, `here` being the one that the page belongs to."""
    return {"places": PLACES, "here": here}


@register.simple_tag
def act_key() -> SafeString:
    """The key of a form whose view counts once; it stands inside the form. No browser fills in that of an earlier page."""
    return format_html('<input type="hidden" name="{}" value="{}" autocomplete="off">', ACT_KEY, uuid4())


@register.inclusion_tag("components/_field.html")
def field(bound: BoundField) -> dict[str, object]:
    """A form field: label, input with its unit, hint, error. A list of choices says itself what none of them means."""
    widget = bound.field.widget
    return {
        "field": bound,
        "unit": widget.attrs.get("data-unit", ""),
        "is_checkbox": getattr(widget, "input_type", "") == "checkbox",
        "is_choice": getattr(widget, "input_type", "") == "select",
    }


@register.inclusion_tag("components/_swatch.html")
def swatch(material: StockMaterial | Material) -> dict[str, str]:
    """A small square of a material, to stand beside its name: its photograph, or the tone that it is drawn in."""
    look = swatch_of(material)
    return {"digest": look.swatch, "tone": look.shown_tone}


def swatch_of(material: StockMaterial | Material) -> Material:
    """Return what says how a material looks: `shown_tone`, and by `swatch` the digest of a picture of it, empty for none."""
    return material.priced() if isinstance(material, StockMaterial) else material


@register.filter
def drawing(markup: str) -> SafeString:
    """Put a server-made SVG into the page. Its text was escaped when it was drawn."""
    return mark_safe(markup)
