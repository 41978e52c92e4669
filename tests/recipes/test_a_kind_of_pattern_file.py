"""The recipe for a kind of pattern file: corners in plain text, read in the limited process and handed in on the page."""

from collections.abc import Callable
from typing import Any

from support_recipes import Tree, browser

READER = '''"""Patterns in plain text: `panel NUMBER`, then the corners of its stitching line in mm, a line each."""

from inventory.ground.findings import refuse
from quotes.pattern.drawing import Drawing, DrawnPanel, ReadOptions


def read(data: bytes, options: ReadOptions) -> Drawing:
    """Return the drawing. Raises Refused for a line that is neither a panel nor a corner."""
    panels: dict[int, list[tuple[float, float]]] = {}
    for number, line in enumerate(data.decode().splitlines(), start=1):
        match line.split():
            case ["panel", panel]:
                corners = panels.setdefault(int(panel), [])
            case [x, y]:
                corners.append((float(x), float(y)))
            case _:
                raise refuse("text.line", f"line {number}", f"{line[:40]!r} is no corner.", "Write x and y in mm.")
    drawn = (DrawnPanel(number=panel, where=f"panel {panel}", stitching=tuple(ring)) for panel, ring in panels.items())
    return Drawing(name="", panels=tuple(drawn))
'''
FILE = "panel 1\n0 0\n80 0\n80 240\n0 240\npanel 2\n100 0\n190 0\n190 240\n100 240\n"
"""Two panels of 80 and 90 mm across: a half of 170 mm."""


def hand_in() -> dict[str, Any]:
    from django.core.files.uploadedfile import SimpleUploadedFile

    from quotes.models import KeptPattern

    def sent(text: str) -> Any:
        file = SimpleUploadedFile("plain.txt", text.encode())
        return site.post("/patterns/new/", {"name": "Plain", "file": file, "ease": ""})

    site = browser()
    refused, kept = sent(FILE.replace("80 0\n", "eighty\n", 1)), sent(FILE)
    panels = KeptPattern.objects.get(name="Plain").revisions.get().panels
    return {
        "offered": ".txt" in site.get("/patterns/new/").content.decode(),
        "refused": [refused.status_code, "is no corner" in refused.content.decode()],
        "kept": kept.status_code,
        "page": site.get(kept["Location"]).status_code,
        "closed waist": round(panels.closed_waist_mm, 6),
    }


def test_it_is_offered_read_kept_and_refused_in_its_own_words(copied: Callable[..., Tree]):
    tree = copied("A kind of pattern file")
    tree.add("quotes/pattern/readers/plain_text.py", READER)
    tree.put("quotes/pattern/readers/child.py", ', ".txt": "plain_text"', after='".json": "json_pattern"')
    assert tree.is_followed()
    assert tree.run(hand_in) == {
        "offered": True,
        "refused": [422, True],
        "kept": 302,
        "page": 200,
        "closed waist": 340.0,
    }
