"""A construction as data in a file or in the site: read strictly, printed back."""

import json
import math
from collections import Counter
from dataclasses import asdict

from inventory.ground.codec import Document
from inventory.ground.findings import Finding, Refused, stop
from inventory.ground.reading import data_beside
from inventory.ground.schema import path_text, schema_findings
from quotes.construction.construction import (
    Allowances,
    BindingSource,
    Bones,
    ChannelMethod,
    Channels,
    Construction,
    FrontKind,
    Grommets,
    Layer,
    OperationUse,
    Pass,
    Shell,
)

__all__ = ["construction_document", "read_construction"]


def read_construction(document: object, within: str = "") -> Construction:
    """Return the construction that `document` describes; `within` is its path in a larger document.

    Raises:
        Refused: every key, number or role that does not fit, with its path.
    """
    faults = schema_findings(
        document, data_beside(__file__, "construction.schema.json"), code="construction", within=within
    )
    if faults:
        raise Refused(faults)
    assert isinstance(document, dict)
    role_faults = [*_number_faults(document, within), *_role_faults(document, within)]
    if role_faults:
        raise Refused(role_faults)
    channels = document["channels"]
    return Construction(
        code=document["code"],
        title=document["title"],
        source=document.get("source", ""),
        layers=tuple(
            Layer(
                role=row["role"],
                title=row["title"],
                panels=tuple(row.get("panels", ())),
                is_visible=row.get("is_visible", False),
            )
            for row in document["layers"]
        ),
        shells=tuple(
            Shell(title=row["title"], roles=tuple(row["roles"]), passes=tuple(Pass(**step) for step in row["passes"]))
            for row in document["shells"]
        ),
        channels=Channels(
            **{
                **channels,
                "method": ChannelMethod(channels["method"]),
                "mid_panel": tuple(channels.get("mid_panel", ())),
            }
        ),
        allowances=Allowances(**document.get("allowances", {})),
        bones=Bones(**document.get("bones", {})),
        grommets=Grommets(**document.get("grommets", {})),
        front=FrontKind(document.get("front", "busk")),
        binding=BindingSource(document.get("binding", "cut")),
        has_waist_tape=document.get("has_waist_tape", True),
        ply_thickness_mm=document.get("ply_thickness_mm"),
        operations=tuple(
            OperationUse(code=row["code"], minutes=dict(row.get("minutes", {}))) for row in document["operations"]
        ),
    )


def construction_document(construction: Construction) -> Document:
    """Return the construction as JSON data that `read_construction` takes back."""
    document: Document = json.loads(json.dumps(asdict(construction)))
    return document


def _number_faults(document: Document, within: str) -> list[Finding]:
    """JSON Schema lets NaN and Infinity through as numbers."""

    def walk(value: object, path: str) -> list[Finding]:
        if isinstance(value, float) and not math.isfinite(value):
            return [stop("construction.not-a-number", path, f"{value} is no number that can be used.")]
        if isinstance(value, dict):
            return [found for key, item in value.items() for found in walk(item, path_text([key], path))]
        if isinstance(value, list):
            return [found for index, item in enumerate(value) for found in walk(item, path_text([index], path))]
        return []

    return walk(document, within)


def _role_faults(document: Document, within: str) -> list[Finding]:
    roles = [row["role"] for row in document["layers"]]
    sewn = Counter(role for shell in document["shells"] for role in shell["roles"])
    faults = [
        stop(
            "construction.role-twice",
            path_text(["layers"], within),
            f"Two layers have the role {role!r}.",
            "Give each its own role.",
        )
        for role, count in Counter(roles).items()
        if count > 1
    ]
    faults += [
        stop(
            "construction.layer-not-sewn",
            path_text(["shells"], within),
            f"The layer {role!r} stands in no shell, or in several.",
        )
        for role in dict.fromkeys(roles)
        if sewn[role] != 1
    ]
    faults += [
        stop(
            "construction.unknown-role",
            path_text(["shells"], within),
            f"A shell names the role {role!r}, which no layer has.",
        )
        for role in sewn
        if role not in roles
    ]
    return faults
