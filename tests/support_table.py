"""The pattern table as tests press it, and drawings as people make them: outlines in a row, numbers as words inside."""

from collections.abc import Callable
from typing import Any

from django.core.files.uploadedfile import SimpleUploadedFile
from django.http import HttpResponse
from django.test import Client as Browser
from support_panels import curved_pattern

from quotes.pattern.geometry import Polyline, x_at

__all__ = ["lay_down", "natural_svg", "say", "sent_by"]

GAP_MM = 40.0


def natural_svg(
    *, panels: int = 6, mm_per_unit: float = 1.0, numbers: Callable[[int], str] = str, square: str = "", notes: str = ""
) -> bytes:
    """A page of a drawing program: paths without names, waist lines, words.

    Args:
        mm_per_unit: how long a unit of the drawing is in truth; the file says that it is a millimetre.
        numbers: the words inside panel 1 … n.
        square: words under a test square of 50 mm; empty for none.
        notes: words at the edge of the page.
    """
    parts, x = [], 20.0
    for panel in curved_pattern(panels).panels:
        (left, _), (right, _) = panel.bounds
        shift = x - left

        def place(line: Polyline, shift: float = shift) -> str:
            return " L".join(f"{(px + shift) / mm_per_unit:.3f} {(200 - py) / mm_per_unit:.3f}" for px, py in line)

        middle = (x + (right - left) / 2) / mm_per_unit
        parts.append(f'<path d="M{place(panel.outline)} Z"/>')
        parts.append(
            f'<path class="w" d="M{place(((x_at(panel.front, 0.0) or left, 0.0), (x_at(panel.back, 0.0) or right, 0.0)))}"/>'
        )
        if words := numbers(panel.number):
            parts.append(
                f'<text x="{middle:.3f}" y="{150 / mm_per_unit:.3f}" font-size="{14 / mm_per_unit:.3f}">{words}</text>'
            )
        x += right - left + GAP_MM
    if square:
        at, side = x / mm_per_unit, 50 / mm_per_unit
        parts.append(f'<rect x="{at:.3f}" y="{300 / mm_per_unit:.3f}" width="{side:.3f}" height="{side:.3f}"/>')
        parts.append(
            f'<text x="{at + side / 2:.3f}" y="{330 / mm_per_unit:.3f}" font-size="{8 / mm_per_unit:.3f}">{square}</text>'
        )
        x += 70.0
    if notes:
        parts.append(
            f'<text x="{20 / mm_per_unit:.3f}" y="{395 / mm_per_unit:.3f}" font-size="{8 / mm_per_unit:.3f}">{notes}</text>'
        )
    wide, high = x / mm_per_unit, 400 / mm_per_unit
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide:.3f}mm" height="{high:.3f}mm" '
        f'viewBox="0 0 {wide:.3f} {high:.3f}" fill="none" stroke="black" text-anchor="middle">{"".join(parts)}</svg>'
    ).encode()


def lay_down(browser: Browser, data: bytes, name: str = "drawing.svg", address: str = "/patterns/table/") -> str:
    """Hand a file in and return where it leads."""
    answer = browser.post(address, {"file": SimpleUploadedFile(name, data)})
    assert answer.status_code == 302, answer.content.decode()
    return answer["Location"]


def sent_by(answer: HttpResponse) -> dict[str, Any]:
    """What the page sends when it is left as it is shown."""
    context = answer.context  # type: ignore[attr-defined]
    bound = [field for form in (context["form"], context["keeping"]) for field in form]
    values = {field.html_name: field.field.prepare_value(field.value()) for field in bound}
    return {name: value for name, value in values.items() if value is not None}


def say(browser: Browser, address: str, **said: Any) -> HttpResponse:
    """Say something as the page does while it stays open, and return what it shows then."""
    form = {**sent_by(browser.get(address)), **said}
    answer = browser.post(address, form, headers={"HX-Request": "true"})
    assert answer.status_code == 200, answer.content.decode()
    return answer
