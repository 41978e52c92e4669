"""What a drawing's own style sheets and attributes make of an element. Source: SVG 2, chapters 6 (styling) and 13 (painting)."""

from xml.etree import ElementTree

import pytest

from quotes.pattern.readers.svg_style import Dress, dressed, style_rules

SHEET = """<svg><style>/* sizes */ .small, #one { stroke: #0a5; stroke-width: 0.5 } path > g { stroke: red } path { fill: none }</style>
<path class="small" {own}/></svg>"""


def dress_of(own: str) -> Dress:
    root = ElementTree.fromstring(SHEET.replace("{own}", own))
    return dressed(root[1], Dress(), style_rules(root))


def test_rules_by_name_and_class_are_followed_and_others_are_not():
    dress = dress_of("")
    assert (dress.stroke, dress.fill, dress.width) == ("#00aa55", "", 0.5)


@pytest.mark.parametrize(
    ("own", "field", "value"),
    [
        ('style="stroke: rgb(255, 0, 300)"', "colour", "#ff00ff"),
        ('style="stroke: transparent; fill: #123456"', "colour", "#123456"),
        ('stroke-dasharray="4 2"', "dash", (4.0, 2.0)),
        ('stroke-dasharray="0 0"', "dash", ()),
        ('visibility="hidden"', "is_invisible", True),
        ('style="opacity: 0"', "is_hidden", True),
        ('marker-end="url(#head)"', "is_arrow", True),
        ('font-size="12pt"', "font_size", 16.0),
        ('text-anchor="middle"', "anchor", "middle"),
    ],
)
def test_what_an_element_says_of_itself(own: str, field: str, value: object):
    """An element's own style goes before the sheet; 12 pt are 16 px of 1/96 in."""
    assert getattr(dress_of(own), field) == value


@pytest.mark.parametrize(
    ("selector", "is_hidden"),
    [("g.off", True), ("g.on, g.off", True), ("g#old", True), ("path.off", False), ("g.offer", False)],
)
def test_a_rule_may_name_the_element_before_its_class_or_id(selector: str, is_hidden: bool):
    """Type and class selectors in one compound (Selectors 3, chapter 6)."""
    root = ElementTree.fromstring(
        f'<svg><style>{selector} {{ display: none }}</style><g class="off" id="old"><path d="M0 0 L9 9"/></g></svg>'
    )
    assert dressed(root[1], Dress(), style_rules(root)).is_hidden is is_hidden
