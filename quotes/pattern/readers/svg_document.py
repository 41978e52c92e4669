"""An SVG as XML: safe to walk, its real size known, its references inside the file."""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from xml.etree.ElementTree import Element, ParseError

from defusedxml.common import DefusedXmlException
from defusedxml.ElementTree import fromstring
from svgelements import Matrix

from inventory.ground.findings import Finding, refuse, warn
from quotes.pattern.drawing import ReadOptions

__all__ = ["SvgPage", "Walk", "local_name", "parsed", "transform_matrix", "viewbox_matrix"]

MOST_ELEMENTS = 20_000
MOST_DEPTH = 60
_MM_PER = {
    "mm": Fraction(1),
    "cm": Fraction(10),
    "in": Fraction(254, 10),
    "pt": Fraction(254, 720),
    "pc": Fraction(254, 60),
    "px": Fraction(254, 960),
    "q": Fraction(1, 4),
}
"""CSS absolute lengths: 1 in = 96 px = 72 pt = 6 pc."""
_LENGTH = re.compile(r"\s*([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)\s*(mm|cm|in|pt|pc|px|q|%)?\s*", re.IGNORECASE)
_STEP = re.compile(r"\s*,?\s*([A-Za-z]+)\s*\(([^()]*)\)\s*")
_STEP_NUMBER = re.compile(r"\s*,?\s*([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)(?:px|deg)?\s*")
_STEPS = {"matrix": (6,), "translate": (1, 2), "scale": (1, 2), "rotate": (1, 3), "skewx": (1,), "skewy": (1,)}
"""How many numbers each transform takes (SVG 1.1, 7.6)."""
_STANDARD_DOCTYPE = re.compile(
    rb"""<!DOCTYPE\s+svg\s+PUBLIC\s+(["'])-//W3C//DTD SVG [^"']{1,40}\1\s*(?:(["'])[^"'\[\]]{0,200}\2)?\s*>""",
    re.IGNORECASE,
)
_OUTSIDE = re.compile(r"""url\(\s*(?!["']?\s*(?:#|data:))|@import""", re.IGNORECASE)
_STYLE_SHEET_LINE = re.compile(rb"<\?xml-stylesheet\b")
_DIFFERENT_SHARE = 0.002


@dataclass(frozen=True, slots=True, kw_only=True)
class SvgPage:
    """The root element, the matrix from its user units to millimetres (y still downwards), and what was doubted."""

    root: Element
    to_mm: Matrix
    mm_per_unit: float
    findings: tuple[Finding, ...] = ()


def local_name(element: Element) -> str:
    """Return an element's name without its namespace; empty for comments."""
    return element.tag.rpartition("}")[2] if isinstance(element.tag, str) else ""


def _reference(element: Element) -> str:
    """Return what an element refers to (`href` or `xlink:href`); empty for nothing."""
    for name, value in element.attrib.items():
        if name.rpartition("}")[2] == "href":
            return value.strip()
    return ""


def parsed(data: bytes, options: ReadOptions) -> SvgPage:
    """Return the page. Raises Refused for what is not XML, not SVG, not safe, or of no known size."""
    # The standard's own DOCTYPE line declares nothing here; any other is refused with its entities.
    plain = _STANDARD_DOCTYPE.sub(b"", data, count=1)
    try:
        root = fromstring(plain, forbid_dtd=True, forbid_entities=True, forbid_external=True)
    except DefusedXmlException:
        raise refuse(
            "svg.entities", "file", "The SVG declares entities or a document type of its own.", "Save it as plain SVG."
        ) from None
    except (ParseError, ValueError, LookupError) as error:
        raise refuse("svg.broken", "file", f"The SVG is not valid XML: {error}.", "Save it again.") from None
    if _STYLE_SHEET_LINE.search(plain):
        raise refuse(
            "svg.outside-reference", "<?xml-stylesheet>", "The SVG asks for a style sheet of its own.", "Take it out."
        )
    if local_name(root) != "svg":
        raise refuse("svg.not-svg", "file", f"The file is XML, but no SVG: it holds {local_name(root)[:40]!r}.")
    for element in _walk(root):
        _check_safe(element)
    scale = _mm_per_user_unit(root, options)
    return SvgPage(root=root, to_mm=Matrix.scale(scale, scale), mm_per_unit=scale, findings=_own_size(scale, options))


def transform_matrix(element: Element, where: str) -> Matrix:
    """Return what an element's `transform` does, in user units. Raises Refused, at `where`, for one that SVG does not know."""
    said = element.get("transform", "").strip()
    if said.lower() in ("", "none"):
        return Matrix()
    at, steps = 0, []
    while at < len(said):
        step = _STEP.match(said, at)
        numbers = None if step is None else _step_numbers(step[2])
        if step is None or numbers is None or len(numbers) not in _STEPS.get(step[1].lower(), ()):
            raise refuse(
                "svg.transform",
                where,
                f"The transform {said[:60]!r} cannot be read.",
                "Write it with matrix, translate, scale, rotate, skewX or skewY and plain numbers.",
            )
        steps.append(f"{step[1]}({' '.join(numbers)})")
        at = step.end()
    return Matrix(" ".join(steps))


def _step_numbers(text: str) -> list[str] | None:
    """The numbers between a transform's brackets, None where something else stands there."""
    at, numbers = 0, []
    while at < len(text.rstrip()):
        found = _STEP_NUMBER.match(text, at)
        if found is None:
            return None
        numbers.append(found[1])
        at = found.end()
    return numbers


def viewbox_matrix(element: Element, width: float | None, height: float | None) -> Matrix:
    """Return what an inner `svg` or a `symbol` does to its content, in user units: scale, then place.

    `width` and `height` are those of the viewport, None where they are not said.
    """
    box = _viewbox(element)
    if box is None:
        return Matrix()
    left, top, box_width, box_height = box
    sx = width / box_width if width is not None else 1.0
    sy = height / box_height if height is not None else sx
    sx = sx if width is not None else sy
    if element.get("preserveAspectRatio", "").strip().startswith("none"):
        return Matrix.translate(-left, -top) * Matrix.scale(sx, sy)
    scale = max(sx, sy) if "slice" in element.get("preserveAspectRatio", "") else min(sx, sy)
    return Matrix.translate(-left, -top) * Matrix.scale(scale, scale)


def user_units(said: str, of: float | None = None) -> float:
    """Return how many user units a shape's length is; a share such as 100% is one of `of`.

    Raises:
        ValueError: no length, or a share where `of` is not known.
    """
    found = _LENGTH.fullmatch(said)
    if found is None or (found[2] == "%" and of is None):
        raise ValueError(said)
    if found[2] == "%":
        return float(found[1]) / 100 * (of or 0.0)
    return float(found[1]) * float(_MM_PER[(found[2] or "px").lower()] / _MM_PER["px"])


def _walk(root: Element) -> Iterator[Element]:
    for count, element in enumerate(root.iter(), start=1):
        if count > MOST_ELEMENTS:
            raise refuse(
                "svg.too-many", "file", f"The drawing has more than {MOST_ELEMENTS} elements.", "Save only the panels."
            )
        yield element


def _check_safe(element: Element) -> None:
    name = local_name(element).lower()
    if name in ("script", "foreignobject", "iframe"):
        raise refuse("svg.script", f"<{name}>", f"The SVG holds a {name} element.", "Save it as plain SVG without it.")
    for attribute, value in element.attrib.items():
        plain = attribute.rpartition("}")[2].lower()
        if plain.startswith("on"):
            raise refuse(
                "svg.script", f"<{name} {plain}>", "The SVG holds a script.", "Save it as plain SVG without it."
            )
        if plain == "href" and not value.strip().startswith(("#", "data:")):
            raise refuse(
                "svg.outside-reference",
                f"<{name}>",
                f"The SVG refers to {value.strip()[:60]!r}, outside the file.",
                "Put what it refers to into the file, or take it out.",
            )
        if _OUTSIDE.search(value):
            raise refuse(
                "svg.outside-reference", f"<{name} {plain}>", "A style refers outside the file.", "Take it out."
            )
    if name == "style" and _OUTSIDE.search(element.text or ""):
        raise refuse("svg.outside-reference", "<style>", "A style sheet refers outside the file.", "Take it out.")


def _mm_per_user_unit(root: Element, options: ReadOptions) -> float:
    """What the root's own size says; the option where it says none, or contradicts itself."""
    told = None if options.units is None else float(_MM_PER[options.units])
    width, height = _real_mm(root, "width"), _real_mm(root, "height")
    box = _viewbox(root)
    if width is None and height is None:
        if told is not None:
            return told
        raise refuse(
            "file.no-units",
            "<svg>",
            "The SVG says no real size: its width and height have no unit.",
            "Say --units mm, cm or in for its user units, or save it with a width such as 600mm.",
        )
    if box is None:
        return float(_MM_PER["px"])
    scales = [length / extent for length, extent in ((width, box[2]), (height, box[3])) if length is not None]
    if max(scales) - min(scales) > _DIFFERENT_SHARE * max(scales):
        if told is not None:
            return told
        raise refuse(
            "file.units-contradict",
            "<svg>",
            f"Width and viewBox say {scales[0]:.4g} mm a user unit, height and viewBox {scales[1]:.4g} mm.",
            "Save it so that both agree, or say --units for its user units.",
        )
    return scales[0]


def _own_size(scale: float, options: ReadOptions) -> tuple[Finding, ...]:
    """A warning where the maker tells another user unit than the drawing's own size, which counts."""
    if options.units is None or abs(scale / float(_MM_PER[options.units]) - 1) <= _DIFFERENT_SHARE:
        return ()
    return (
        warn(
            "file.units-overruled",
            "<svg>",
            f"Its own size says {scale:.4g} mm a user unit, --units says {options.units}; its own size is taken.",
            "Leave --units out, or take the width and height from the file if they are wrong.",
        ),
    )


def _real_mm(element: Element, name: str) -> float | None:
    """A root length in mm, or None where it is missing, relative or without a unit."""
    said = element.get(name)
    if said is None:
        return None
    match = _LENGTH.fullmatch(said)
    if not match:
        raise refuse("svg.length", f"<svg {name}>", f"{said[:40]!r} is no length.", "Write a length such as 600mm.")
    if not match[2] or match[2] == "%":
        return None
    length = float(match[1]) * float(_MM_PER[match[2].lower()])
    if length <= 0:
        raise refuse("svg.length", f"<svg {name}>", f"A {name} of {said[:40]} is not more than zero.")
    return length


def _viewbox(element: Element) -> tuple[float, float, float, float] | None:
    said = element.get("viewBox")
    if said is None:
        return None
    try:
        left, top, width, height = (float(part) for part in said.replace(",", " ").split())
    except ValueError:
        raise refuse(
            "svg.viewbox", f"<{local_name(element)}>", f"The viewBox {said[:60]!r} is not four numbers."
        ) from None
    if not (0 < width < 1e9 and 0 < height < 1e9):
        raise refuse("svg.viewbox", f"<{local_name(element)}>", f"The viewBox {said[:60]!r} has no size.")
    return left, top, width, height


class Walk:
    """Goes along with whoever visits a document's elements: follows what is used, and counts every visit."""

    def __init__(self, root: Element) -> None:
        self._by_id = {key: element for element in root.iter() if (key := element.get("id"))}
        self._visited = 0

    def count(self, depth: int) -> None:
        """Count one more element, so deep below the root. Raises Refused for too many, or too deep."""
        self._visited += 1
        if self._visited > MOST_ELEMENTS or depth > MOST_DEPTH:
            raise refuse(
                "svg.too-many",
                "file",
                "The drawing comes to too many elements, counting every use.",
                "Save only the panels, without copies of copies.",
            )

    def used_by(self, element: Element) -> Element:
        """Return what a `use` draws. Raises Refused where nothing has that id."""
        target = self._by_id.get(_reference(element).removeprefix("#"))
        if target is None:
            raise refuse("svg.use", "<use>", f"Nothing in the file has the id {_reference(element)[:60]!r}.")
        return target
