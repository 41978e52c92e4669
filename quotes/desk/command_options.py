"""Option values that commands check themselves, so that a wrong value is a finding (exit 1) and not a usage error."""

import re
from pathlib import Path

from inventory.ground.confined import read_json_file
from inventory.ground.findings import refuse
from inventory.ground.units import LengthUnit, parse_length
from quotes.construction.construction import Construction
from quotes.construction.construction_json import read_construction
from quotes.construction.shipped import shipped, shipped_codes
from quotes.documents.lay_sheets import Paper
from quotes.lay.lay_plan import Effort
from quotes.pattern.believable import MM_PER_UNIT
from quotes.pattern.drawing import ReadOptions

__all__ = ["chosen_construction", "chosen_effort", "chosen_paper", "length_option", "read_options", "whole_option"]

_WHOLE = re.compile(r"[+-]?[0-9]{1,12}")


def length_option(value: str | None, name: str, *, least: float = 0.0, most: float = 100_000.0) -> float | None:
    """Return an option's length in mm, or None where it was left out. Raises Refused outside `least` to `most`."""
    if value is None:
        return None
    try:
        length = parse_length(value, LengthUnit.MM)
    except ValueError as error:
        raise refuse("option.not-a-length", f"--{name}", str(error), "Write a length in mm.") from None
    if not least <= length <= most:
        raise refuse("option.out-of-range", f"--{name}", f"{value} is outside {least:g} to {most:g} mm.")
    return length


def whole_option(value: str | None, name: str, *, least: int, most: int) -> int | None:
    """Return an option's whole number, or None where it was left out. Raises Refused outside `least` to `most`."""
    if value is None:
        return None
    if not _WHOLE.fullmatch(value.strip()):
        raise refuse(
            "option.not-whole", f"--{name}", f"{value[:40]!r} is no whole number.", f"Write one from {least} to {most}."
        )
    if not least <= int(value) <= most:
        raise refuse("option.out-of-range", f"--{name}", f"{value[:40]} is outside {least} to {most}.")
    return int(value)


def chosen_effort(value: str) -> Effort:
    """Return the effort that an option names."""
    try:
        return Effort(value)
    except ValueError:
        raise refuse(
            "option.effort",
            "--effort",
            f"{value[:40]!r} is no effort.",
            f"Choose {', '.join(effort.value for effort in Effort)}.",
        ) from None


def chosen_paper(value: str) -> Paper:
    """Return the paper that an option names."""
    try:
        return Paper(value.lower())
    except ValueError:
        raise refuse(
            "option.paper",
            "--paper",
            f"{value[:40]!r} is no paper known here.",
            f"Choose {' or '.join(paper.value for paper in Paper)}.",
        ) from None


def chosen_construction(value: str) -> Construction:
    """Return a shipped construction by its name, or the one in a JSON file."""
    if value in shipped_codes():
        return shipped(value)
    path = Path(value)
    if path.suffix == ".json" and path.is_file():
        if path.stat().st_size > 1_000_000:
            raise refuse("option.construction", "--construction", f"{path.name} is too large for a construction.")
        return read_json_file(path, read_construction, where=path.name)
    raise refuse(
        "option.construction",
        "--construction",
        f"There is no construction {value[:60]!r}.",
        f"Name {', '.join(shipped_codes())}, or a JSON file.",
    )


def read_options(
    *,
    units: str | None,
    seam_allowance: str | None,
    centre_front: str | None,
    ease: str | None,
    panels: str | None = None,
    size: str | None = None,
) -> ReadOptions:
    """Return what the options say about a pattern file."""
    if units is not None and units not in MM_PER_UNIT:
        raise refuse("option.units", "--units", f"{units[:40]!r} is no unit known here.", "Write mm, cm, in, pt or px.")
    if centre_front is not None and centre_front not in ("left", "right"):
        raise refuse(
            "option.centre-front", "--centre-front", f"{centre_front[:40]!r} is no side.", "Write left or right."
        )
    return ReadOptions(
        units=units,
        seam_allowance_mm=length_option(seam_allowance, "seam-allowance", most=100.0),
        centre_front=centre_front,
        ease=_seam_numbers(ease),
        panels=_panel_numbers(panels),
        size=(size or "").strip(),
    )


def _panel_numbers(value: str | None) -> tuple[int, ...]:
    if value is None:
        return ()
    numbers = tuple(int(part) for part in value.split(",") if re.fullmatch(r"\s*\d{1,2}\s*", part))
    if len(numbers) != len(value.split(",")):
        raise refuse(
            "option.panels",
            "--panels",
            f"{value[:40]!r} is no list of panel numbers.",
            "Write 1,3,2: one for each outline without a number, left to right and top to bottom, 0 for what is no panel.",
        )
    return numbers


def _seam_numbers(value: str | None) -> frozenset[int]:
    if value is None:
        return frozenset()
    try:
        return frozenset(int(part) for part in value.split(","))
    except ValueError:
        raise refuse(
            "option.ease", "--ease", f"{value[:40]!r} is no list of seam numbers.", "Write 2 or 2,4."
        ) from None
