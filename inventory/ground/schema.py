"""Checking a document against a JSON Schema, with sentences and places that a maker can follow."""

from collections.abc import Iterable

from jsonschema import Draft202012Validator
from jsonschema.exceptions import ValidationError

from inventory.ground.codec import Document
from inventory.ground.findings import Finding, stop

__all__ = ["path_text", "schema_findings"]

MOST_FINDINGS = 20


def schema_findings(document: object, schema: Document, *, code: str, within: str = "") -> tuple[Finding, ...]:
    """Return a stop for each way in which `document` breaks `schema`, in the order of the document.

    `code` begins each finding's code (`commission` gives `commission.minimum`); `within` is the path of a document that
    lies in another one (`options[0].construction`).
    """
    errors = sorted(Draft202012Validator(schema).iter_errors(document), key=lambda error: list(map(str, error.path)))
    return tuple(dict.fromkeys(_finding(error, code, within) for error in errors))[:MOST_FINDINGS]


def path_text(path: Iterable[str | int], within: str = "") -> str:
    """Return a path as people write it: `options[1].cloths.outer`; `file` for the whole of it."""
    text = within
    for step in path:
        text += f"[{step}]" if isinstance(step, int) else f".{step}" if text else step
    return text or "file"


def _finding(error: ValidationError, code: str, within: str) -> Finding:
    place = path_text(error.absolute_path, within)
    said = str(error.instance)[:40]
    rule = error.validator_value
    match error.validator:
        case "additionalProperties":
            known = sorted(error.schema.get("properties", {}))
            unknown = next(key for key in error.instance if key not in known)
            place = path_text([*error.absolute_path, unknown[:60]], within)
            return stop(
                f"{code}.unknown-key",
                place,
                f"The key {unknown[:60]!r} is not known here.",
                f"Known are {', '.join(known)}.",
            )
        case "required":
            missing = [key for key in rule if key not in error.instance]
            return stop(
                f"{code}.missing-key",
                path_text([*error.absolute_path, missing[0]], within),
                f"The key {missing[0]!r} is missing.",
            )
        case "enum":
            return stop(f"{code}.choice", place, f"{said!r} is no choice here.", f"Choose {', '.join(map(str, rule))}.")
        case "type":
            wanted = " or ".join(rule) if isinstance(rule, list) else rule
            return stop(f"{code}.type", place, f"{said!r} is no {wanted}.")
        case "minimum" | "exclusiveMinimum":
            least = "at least" if error.validator == "minimum" else "more than"
            return stop(f"{code}.too-small", place, f"{said} is too small: it must be {least} {rule}.")
        case "maximum" | "exclusiveMaximum":
            most = "at most" if error.validator == "maximum" else "less than"
            return stop(f"{code}.too-large", place, f"{said} is too large: it must be {most} {rule}.")
        case "minItems":
            return stop(f"{code}.too-few", place, f"It holds too few: {rule} or more must stand here.")
        case "maxItems":
            return stop(f"{code}.too-many", place, f"It holds too many: {rule} at most.")
        case "pattern" | "format":
            return stop(
                f"{code}.form", place, f"{said!r} is not written as it must be.", error.schema.get("description", "")
            )
        case _:
            return stop(f"{code}.form", place, f"{said!r} does not fit.", error.schema.get("description", ""))
