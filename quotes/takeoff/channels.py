"""Boning channels: where the construction names them, which kind of bone stands in them, how long it ideally is."""

import math
from collections.abc import Mapping
from dataclasses import replace

from inventory.ground.findings import Finding, stop
from quotes.construction.construction import BoneChoice, Construction, FrontKind
from quotes.pattern.panels import EdgeName, Panel, Pattern
from quotes.pattern.truing import seams
from quotes.takeoff.takeoff import BonePlace, BoneRun

__all__ = ["bone_channels", "chosen_at"]


def bone_channels(
    pattern: Pattern, construction: Construction, chosen: Mapping[str, BoneChoice]
) -> tuple[tuple[BoneRun, ...], tuple[Finding, ...]]:
    """Return the channels by place, each bone as long as is ideal, and what cannot be boned.

    A bone is `shorter_by_mm` shorter than its channel. Source: published tutorials (about 25 to 30 mm shorter).

    Args:
        chosen: what an option says of its bones, by place ("seam", "centre-back") or channel ("seam 3").
    """
    runs, findings = [], []
    for channel in _channels(pattern, construction):
        ideal = round(channel.channel_mm - construction.bones.shorter_by_mm, 2)
        if ideal <= 0:
            words = f"A channel of {channel.channel_mm:.0f} mm holds no bone."
            findings.append(stop("takeoff.bone-too-short", channel.where, words))
            continue
        own = chosen_at(channel, chosen)
        kind = own.kind.value if own and own.kind else channel.kind
        runs.append(replace(channel, kind=kind, ideal_mm=ideal, length_mm=ideal))
    numbers = {f"{run.place} {run.number}" for run in runs if run.number}
    places = {run.place.value for run in runs}
    findings += [
        stop(
            "takeoff.no-such-channel",
            f"choices.bones.{name}",
            f"There is no channel {name!r} here.",
            f"The channels are {', '.join(sorted(places | numbers))}.",
        )
        for name in chosen
        if name not in places | numbers
    ]
    return tuple(runs), tuple(findings)


def chosen_at(run: BoneRun, chosen: Mapping[str, BoneChoice]) -> BoneChoice | None:
    """Return what is said of a channel: under its own number before what is said of all in its place."""
    return chosen.get(f"{run.place} {run.number}") or chosen.get(run.place.value)


def _channels(pattern: Pattern, construction: Construction) -> list[BoneRun]:
    """Each place with its kind of bone, the length of its channel and how many there are; bones as long as channels."""
    bones, channels = construction.bones, construction.channels
    left, right = pattern.halves
    found: list[BoneRun] = []

    def both(
        place: BonePlace, where: str, kind: str, sides_mm: tuple[float, float], *, per_half: int, number: int = 0
    ) -> None:
        def run(where: str, channel_mm: float, count: int) -> BoneRun:
            return BoneRun(
                where=where,
                kind=kind,
                channel_mm=channel_mm,
                ideal_mm=channel_mm,
                length_mm=channel_mm,
                count=count,
                place=place,
                number=number,
            )

        left_mm, right_mm = sides_mm
        if not per_half:
            return
        if math.isclose(left_mm, right_mm, abs_tol=0.005):
            found.append(run(where, left_mm, 2 * per_half))
        else:
            found.append(run(f"{where} left", left_mm, per_half))
            found.append(run(f"{where} right", right_mm, per_half))

    for seam, other in zip(seams(left), seams(right), strict=True):
        both(
            BonePlace.SEAM,
            f"seam {seam.number}",
            bones.seam_kind,
            (seam.mean_mm, other.mean_mm),
            per_half=channels.bones_per_seam,
            number=seam.number,
        )
    for number in channels.mid_panel:
        if number <= len(left):
            both(
                BonePlace.MID_PANEL,
                f"mid-panel {number}",
                bones.mid_panel_kind,
                (_middle_mm(left[number - 1]), _middle_mm(right[number - 1])),
                per_half=1,
                number=number,
            )
    backs = (left[-1].edge_mm(EdgeName.BACK), right[-1].edge_mm(EdgeName.BACK))
    both(BonePlace.CENTRE_BACK, "centre back", bones.back_kind, backs, per_half=2)
    if construction.front is not FrontKind.CLOSED:
        beside = "beside zip" if construction.front is FrontKind.ZIP else "beside busk"
        fronts = (left[0].edge_mm(EdgeName.FRONT), right[0].edge_mm(EdgeName.FRONT))
        both(BonePlace.BESIDE_FRONT, beside, bones.busk_kind, fronts, per_half=bones.at_busk)
    return found


def _middle_mm(panel: Panel) -> float:
    return (panel.edge_mm(EdgeName.FRONT) + panel.edge_mm(EdgeName.BACK)) / 2
