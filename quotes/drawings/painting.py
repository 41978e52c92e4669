"""SVG in colours of its own: filled shapes, soft strokes, cloths that repeat. What a client sees must look alike on every page.

Points are mm with y upwards and are turned over on the way out; nothing is styled by a sheet.
"""

from collections.abc import Sequence
from xml.etree import ElementTree

from quotes.seal.worn import Outline

__all__ = ["Painting", "mixed", "path_of"]


def path_of(lines: Sequence[Outline], *, closed: bool = False) -> str:
    """Return the data of a path through the points of each line."""
    end = "Z" if closed else ""
    return "".join("M" + "L".join(f"{x:.1f} {-y + 0.0:.1f}" for x, y in line) + end for line in lines)


def mixed(tone: str, other: str, share: float) -> str:
    """Return `tone` with a share of another colour in it, both as `#rrggbb`."""
    parts = ((int(tone[at : at + 2], 16), int(other[at : at + 2], 16)) for at in (1, 3, 5))
    return "#" + "".join(f"{round(one + (two - one) * share):02x}" for one, two in parts)


class Painting:
    """An SVG being painted, from the back to the front. `key` keeps its names apart from those of others on a page."""

    def __init__(
        self, *, title: str, about: str, key: str, left: float, top: float, width: float, height: float
    ) -> None:
        self._key = key
        self._veils = 0
        self._whole = {"x": f"{left:.1f}", "y": f"{-top + 0.0:.1f}", "width": f"{width:.1f}", "height": f"{height:.1f}"}
        self._root = ElementTree.Element(
            "svg",
            {
                "xmlns": "http://www.w3.org/2000/svg",
                "viewBox": " ".join(self._whole.values()),
                "role": "img",
                "aria-labelledby": f"{key}-title {key}-about",
            },
        )
        ElementTree.SubElement(self._root, "title", {"id": f"{key}-title"}).text = title
        ElementTree.SubElement(self._root, "desc", {"id": f"{key}-about"}).text = about
        self._defined = ElementTree.SubElement(self._root, "defs")
        self._into = self._root

    def path(self, data: str, **attributes: str) -> None:
        """Paint a path; names of attributes have `_` for `-`. What is not filled says so by `fill="none"`."""
        self._shape("path", {"d": data, **attributes})

    def disc(self, at: tuple[float, float], radius: float, **attributes: str) -> None:
        """Paint a circle."""
        self._shape("circle", {"cx": f"{at[0]:.1f}", "cy": f"{-at[1] + 0.0:.1f}", "r": f"{radius:.1f}", **attributes})

    def block(self, left: float, top: float, width: float, height: float, **attributes: str) -> None:
        """Paint a rectangle."""
        place = {"x": f"{left:.1f}", "y": f"{-top + 0.0:.1f}", "width": f"{width:.1f}", "height": f"{height:.1f}"}
        self._shape("rect", {**place, **attributes})

    def veil(self, tone: str, shares: Sequence[tuple[str, float]]) -> None:
        """Lay a tone over the whole, as thick at each place as the last path says that holds it: shares from 0 to 1."""
        self._veils += 1
        key = f"{self._key}-veil{self._veils}"
        mask = ElementTree.SubElement(self._defined, "mask", {"id": key, "maskUnits": "userSpaceOnUse", **self._whole})
        for data, share in shares:
            grey = f"{round(255 * share):02x}"
            ElementTree.SubElement(mask, "path", {"d": data, "fill": f"#{grey * 3}"})
        self._shape("rect", {**self._whole, "fill": tone, "mask": f"url(#{key})"})

    def clipped_to(self, data: str) -> None:
        """Let all that follows show inside a path only."""
        clip = ElementTree.SubElement(self._defined, "clipPath", {"id": f"{self._key}-clip"})
        ElementTree.SubElement(clip, "path", {"d": data, "clip-rule": "evenodd"})
        self._into = ElementTree.SubElement(self._root, "g", {"clip-path": f"url(#{self._key}-clip)"})

    def unclipped(self) -> None:
        """End what `clipped_to` began."""
        self._into = self._root

    def cloth(self, name: str, picture: str, *, side_mm: float) -> str:
        """Return the paint of a square picture that covers a plane, each in the mirror of its neighbours."""
        key = f"{self._key}-{name}"
        twice = f"{2 * side_mm:.1f}"
        pattern = ElementTree.SubElement(
            self._defined,
            "pattern",
            {"id": key, "patternUnits": "userSpaceOnUse", "width": twice, "height": twice},
        )
        # A little over its edge, so that no line shows where two meet.
        over = 0.3
        side = f"{side_mm + 2 * over:.1f}"
        ElementTree.SubElement(
            pattern,
            "image",
            {
                "id": f"{key}-square",
                "href": picture,
                "x": f"{-over:.1f}",
                "y": f"{-over:.1f}",
                "width": side,
                "height": side,
                "preserveAspectRatio": "none",
            },
        )
        for x, y in ((-1, 1), (1, -1), (-1, -1)):
            turned = f"translate({twice if x < 0 else 0} {twice if y < 0 else 0}) scale({x} {y})"
            ElementTree.SubElement(pattern, "use", {"href": f"#{key}-square", "transform": turned})
        return f"url(#{key})"

    def markup(self) -> str:
        """Return the SVG as text."""
        return ElementTree.tostring(self._root, encoding="unicode")

    def _shape(self, kind: str, attributes: dict[str, str]) -> None:
        ElementTree.SubElement(self._into, kind, {name.replace("_", "-"): value for name, value in attributes.items()})
