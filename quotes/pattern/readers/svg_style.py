"""How an SVG dresses its lines: colour, dash, width, what is hidden, by attributes, `style` and plain style sheets."""

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from xml.etree.ElementTree import Element

from quotes.pattern.readers.svg_document import local_name

__all__ = ["Dress", "dressed", "style_rules"]

_RULE = re.compile(r"([^{}]+)\{([^{}]*)\}")
_COMMENT = re.compile(r"/\*.*?\*/", re.DOTALL)
_SELECTOR = re.compile(r"(?:[A-Za-z]*[.#][\w-]+|[A-Za-z]+)")
_NUMBER = re.compile(r"\s*(\d+\.?\d*|\.\d+)")
_SHORT_HEX = re.compile(r"#([0-9a-fA-F]{3})")
_RGB = re.compile(r"rgb\(\s*(\d{1,3})\s*,\s*(\d{1,3})\s*,\s*(\d{1,3})\s*\)")
_NAMED = {
    "black": "#000000", "red": "#ff0000", "blue": "#0000ff", "green": "#008000", "lime": "#00ff00", "yellow": "#ffff00",
    "cyan": "#00ffff", "aqua": "#00ffff", "magenta": "#ff00ff", "fuchsia": "#ff00ff", "grey": "#808080", "gray": "#808080",
    "orange": "#ffa500", "purple": "#800080", "white": "#ffffff",
}  # fmt: skip
_KEPT = (
    "stroke", "fill", "stroke-dasharray", "stroke-width", "display", "visibility", "opacity", "marker-start",
    "marker-end", "marker", "font-size", "text-anchor",
)  # fmt: skip

Rules = Mapping[str, Mapping[str, str]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Dress:
    """What an element looks like, with what it takes over from those it stands in. It is filled unless it says none."""

    stroke: str = ""
    fill: str = ""
    is_filled: bool = True
    dash: tuple[float, ...] = ()
    width: float | None = None
    is_hidden: bool = False
    is_invisible: bool = False
    is_arrow: bool = False
    font_size: float = 16.0
    anchor: str = "start"

    @property
    def is_painted(self) -> bool:
        """Whether it is seen at all: filled, or with a stroke."""
        return self.is_filled or bool(self.stroke)

    @property
    def colour(self) -> str:
        """Of the stroke, else of the fill, as #rrggbb; empty for none."""
        return self.stroke or self.fill


def style_rules(root: Element) -> dict[str, dict[str, str]]:
    """Return the rules of the file's own style sheets, by plain selector: `.name`, `#name`, an element's name, or that before
    either."""
    rules: dict[str, dict[str, str]] = {}
    for element in root.iter():
        if local_name(element) != "style":
            continue
        for selectors, body in _RULE.findall(_COMMENT.sub("", element.text or "")):
            for selector in selectors.split(","):
                if _SELECTOR.fullmatch(selector.strip()):
                    rules.setdefault(selector.strip(), {}).update(_declared(body))
    return rules


def dressed(element: Element, above: Dress, rules: Rules) -> Dress:
    """Return an element's dress; `above` is that of the element it stands in."""
    said: dict[str, str] = {key: value for key in _KEPT if (value := element.get(key)) is not None}
    kind = local_name(element)
    said |= rules.get(kind, {})
    for own in (*(f".{name}" for name in element.get("class", "").split()), f"#{element.get('id')}"):
        said |= {**rules.get(own, {}), **rules.get(kind + own, {})}
    said |= _declared(element.get("style", ""))
    dress = above
    if "stroke" in said:
        dress = replace(dress, stroke=_colour(said["stroke"]))
    if "fill" in said:
        dress = replace(dress, fill=_colour(said["fill"]), is_filled=bool(_colour(said["fill"])))
    if "stroke-dasharray" in said:
        lengths = tuple(float(found) for found in _NUMBER.findall(said["stroke-dasharray"]))
        dress = replace(dress, dash=lengths if any(lengths) else ())
    if "stroke-width" in said and (found := _NUMBER.match(said["stroke-width"])):
        dress = replace(dress, width=float(found[1]))
    if "font-size" in said and (found := _NUMBER.match(said["font-size"])):
        size = float(found[1]) * {"pt": 96 / 72, "mm": 96 / 25.4, "cm": 96 / 2.54}.get(
            said["font-size"].strip()[-2:], 1.0
        )
        dress = replace(dress, font_size=size)
    if "text-anchor" in said:
        dress = replace(dress, anchor=said["text-anchor"].strip())
    if "visibility" in said:
        dress = replace(dress, is_invisible=said["visibility"].strip() in ("hidden", "collapse"))
    opacity = _NUMBER.match(said.get("opacity", "1"))
    is_hidden = dress.is_hidden or said.get("display", "").strip() == "none" or bool(opacity and float(opacity[1]) == 0)
    arrow = any(said.get(key, "none").strip() not in ("none", "") for key in ("marker", "marker-start", "marker-end"))
    return replace(dress, is_hidden=is_hidden, is_arrow=dress.is_arrow or arrow)


def _declared(text: str) -> dict[str, str]:
    pairs = (part.partition(":") for part in text.split(";"))
    return {key.strip().lower(): value.strip().removesuffix("!important").strip() for key, sign, value in pairs if sign}


def _colour(text: str) -> str:
    plain = text.strip().lower()
    if plain in ("none", "transparent"):
        return ""
    if short := _SHORT_HEX.fullmatch(plain):
        return "#" + "".join(digit * 2 for digit in short[1])
    if parts := _RGB.fullmatch(plain):
        return "#" + "".join(f"{min(255, int(part)):02x}" for part in parts.groups())
    return _NAMED.get(plain, plain)
