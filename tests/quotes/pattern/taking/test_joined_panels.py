"""Words beside an edge that name the panel it is sewn to: they number nothing, and are held against the order."""

from collections.abc import Callable

import pytest
from support_drawings import Drawn, closed_waist, laid_out, plain_svg, svg, svg_text

from quotes.pattern.drawing import Reading, ReadOptions
from quotes.pattern.readers.child import read_here


def read(words: Callable[[Drawn], str]) -> Reading:
    """The underbust with its numbers, and further words in each panel."""
    panels = laid_out()
    further = [svg_text(words(panel), (panel.middle[0], panel.middle[1] - 40), 6) for panel in panels]
    reading = read_here(svg([*plain_svg(panels), *further]), ".svg", "drawing", ReadOptions(), True)
    assert isinstance(reading, Reading)
    assert reading.pattern.closed_waist_mm == pytest.approx(closed_waist(), rel=0.001)
    assert [panel.number for panel in reading.pattern.panels] == [1, 2, 3, 4, 5, 6]
    return reading


@pytest.mark.parametrize("words", ["join to panel {}", "joins {}", "Sew to piece {}", "to panel {}"])
def test_a_neighbour_named_at_an_edge_is_no_number(words: str):
    assert read(lambda panel: words.format(panel.number + 1 if panel.number < 6 else 5)).findings == ()


def test_a_panel_that_lies_elsewhere_is_said():
    reading = read(lambda panel: "join to panel 5" if panel.number == 2 else "cut 2")
    (found,) = [found for found in reading.findings if found.code == "pattern.joins-another"]
    assert found.where == "panel 2"
    assert found.message == 'Panel 2 says "join to panel 5", and panel 5 does not lie beside it.'
