"""Are the panels numbered 1 to n, each once, or each twice where both halves are drawn?"""

from collections import defaultdict
from collections.abc import Sequence

from inventory.ground.findings import Finding, stop
from quotes.pattern.drawing import DrawnPanel
from quotes.pattern.panels import FEWEST_PANELS, MOST_PANELS

__all__ = ["number_faults"]


def number_faults(panels: Sequence[DrawnPanel]) -> list[Finding]:
    """Return a stop for each fault of numbering; empty where every number stands once, or every one twice."""
    if not panels:
        return [stop("pattern.no-panels", "file", "No panel was found in the file.", "Draw at least two panels.")]
    faults = [
        stop(
            "pattern.panel-without-number",
            panel.where,
            "This panel has no number.",
            "Number the panels from 1 at centre front.",
        )
        for panel in panels
        if panel.number is None
    ]
    places: dict[int, list[str]] = defaultdict(list)
    for panel in panels:
        if panel.number is not None:
            places[panel.number].append(panel.where)
    if not places:
        return faults
    most = max(places)
    if not FEWEST_PANELS <= most <= MOST_PANELS:
        faults.append(
            stop(
                "pattern.panel-count",
                "file",
                f"The highest panel number is {most}; a half has {FEWEST_PANELS} to {MOST_PANELS} panels.",
                "Number the panels of one half from 1 at centre front.",
            )
        )
    missing = [number for number in range(1, min(most, MOST_PANELS) + 1) if number not in places]
    if missing:
        faults.append(
            stop(
                "pattern.panel-missing",
                "file",
                f"Missing of panels 1 to {most}: {', '.join(map(str, missing))}.",
                "Number the panels 1 to n without a gap.",
            )
        )
    for number in sorted(places):
        if number < 1:
            faults.append(
                stop(
                    "pattern.panel-number",
                    places[number][0],
                    f"There is no panel {number}: numbers start at 1, at centre front.",
                )
            )
    if {len(found) for found in places.values()} not in ({1}, {2}):
        faults += [
            stop(
                "pattern.panel-twice",
                found[1],
                f"Panel {number} is there {len(found)} times: {', '.join(found)}.",
                "Give each panel its own number, or draw both halves whole.",
            )
            for number, found in sorted(places.items())
            if len(found) > 1
        ]
    return faults
