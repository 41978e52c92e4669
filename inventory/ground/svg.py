"""A few words for writing SVG: elements in millimetres, y downwards, text escaped by the XML library.

Nothing here sets a colour: shapes carry classes and the page's style sheet dresses them, so a drawing obeys day,
night and print, and a strict content security policy.
"""

from collections.abc import Sequence
from xml.etree import ElementTree

Point = tuple[float, float]

__all__ = ["Canvas"]


class Canvas:
    """An SVG being written. Points are given with y upwards and are turned over on the way out."""

    def __init__(
        self, *, title: str, left: float, bottom: float, width: float, height: float, classes: str, dress: str = ""
    ) -> None:
        """Begin a drawing of a window. One that stands alone brings a style sheet, `dress`, and is told to be of its true size."""
        self._root = ElementTree.Element(
            "svg",
            {
                "xmlns": "http://www.w3.org/2000/svg",
                "viewBox": f"{left:.1f} {-(bottom + height):.1f} {width:.1f} {height:.1f}",
                "class": classes,
                "role": "img",
            },
        )
        ElementTree.SubElement(self._root, "title").text = title
        if dress:
            self._root.set("width", f"{width:.1f}mm")
            self._root.set("height", f"{height:.1f}mm")
            ElementTree.SubElement(self._root, "style").text = dress

    def line(self, points: Sequence[Point], classes: str, *, closed: bool = False, **attributes: str) -> None:
        """Draw a polyline, or a ring where `closed`."""
        path = "M" + "L".join(f"{x:.2f} {-y:.2f}" for x, y in points) + ("Z" if closed else "")
        ElementTree.SubElement(self._root, "path", {"d": path, "class": classes, **attributes})

    def area(self, ring: Sequence[Point], classes: str, words: str, *, id: str = "", **data: str) -> None:
        """Draw an area that says what it is; with data attributes of its own it can be pressed, and has an `id`."""
        path = "M" + "L".join(f"{x:.2f} {-y:.2f}" for x, y in ring) + "Z"
        attributes = {"d": path, "class": classes}
        if data:
            attributes |= {"id": id, "tabindex": "0", "role": "button", "aria-label": words}
            attributes |= {f"data-{name}": value for name, value in data.items()}
        ElementTree.SubElement(ElementTree.SubElement(self._root, "path", attributes), "title").text = words

    def picture(self, address: str, *, left: float, bottom: float, width: float, height: float) -> None:
        """Lay a picture from an address of this site over a window, stretched to it."""
        place = {
            "x": f"{left:.1f}",
            "y": f"{-(bottom + height):.1f}",
            "width": f"{width:.1f}",
            "height": f"{height:.1f}",
        }
        ElementTree.SubElement(self._root, "image", {"href": address, **place, "preserveAspectRatio": "none"})

    def text(
        self,
        at: Point,
        words: str,
        classes: str,
        *,
        turned: float = 0.0,
        anchor: str = "middle",
        size: float | None = None,
    ) -> None:
        """Write words at a point, turned counter-clockwise by degrees; `size` where the style sheet says none."""
        x, y = at
        attributes = {"x": f"{x:.1f}", "y": f"{-y:.1f}", "class": classes, "text-anchor": anchor}
        if size is not None:
            attributes["font-size"] = f"{size:.2f}"
        if turned:
            attributes["transform"] = f"rotate({-turned:.1f} {x:.1f} {-y:.1f})"
        ElementTree.SubElement(self._root, "text", attributes).text = words

    def ring(self, at: Point, radius: float, classes: str, **attributes: str) -> None:
        """Draw a circle."""
        place = {"cx": f"{at[0]:.2f}", "cy": f"{-at[1]:.2f}", "r": f"{radius:.2f}", "class": classes}
        ElementTree.SubElement(self._root, "circle", {**place, **attributes})

    def mark(self, at: Point, radius: float, classes: str, **data: str) -> None:
        """Draw a circle that can be pressed, with its own data attributes."""
        attributes = {f"data-{name}": value for name, value in data.items()}
        self.ring(at, radius, classes, tabindex="0", role="button", **attributes)

    def markup(self) -> str:
        """Return the SVG as text."""
        return ElementTree.tostring(self._root, encoding="unicode")
