"""A document that breaks its JSON Schema (draft 2020-12): each break in one sentence with its place."""

import pytest

from inventory.ground.schema import MOST_FINDINGS, schema_findings


def told(document: object, schema: dict) -> list[tuple[str, str, str]]:
    return [(one.code, one.where, one.message) for one in schema_findings(document, schema, code="plan", within="x")]


@pytest.mark.parametrize(
    ("rule", "value", "code", "message"),
    [
        ({"enum": ["mm", "cm"]}, "ell", "choice", "'ell' is no choice here."),
        ({"type": "integer"}, "six", "type", "'six' is no integer."),
        ({"type": ["string", "number"]}, [], "type", "'[]' is no string or number."),
        ({"minimum": 1}, 0, "too-small", "0 is too small: it must be at least 1."),
        ({"exclusiveMinimum": 1}, 1, "too-small", "1 is too small: it must be more than 1."),
        ({"maximum": 1}, 2, "too-large", "2 is too large: it must be at most 1."),
        ({"exclusiveMaximum": 2}, 2, "too-large", "2 is too large: it must be less than 2."),
        ({"minItems": 2}, [1], "too-few", "It holds too few: 2 or more must stand here."),
        ({"maxItems": 2}, [1, 2, 3], "too-many", "It holds too many: 2 at most."),
        ({"pattern": "^[A-Z]+$"}, "euro", "form", "'euro' is not written as it must be."),
        ({"uniqueItems": True}, [1, 1], "form", "'[1, 1]' does not fit."),
    ],
)
def test_each_rule_has_its_sentence(rule: dict, value: object, code: str, message: str):
    assert told({"a": [value]}, {"properties": {"a": {"items": rule}}}) == [(f"plan.{code}", "x.a[0]", message)]


def test_twenty_breaks_are_told_and_no_more():
    assert MOST_FINDINGS == len(told({"a": ["x"] * 30}, {"properties": {"a": {"items": {"type": "integer"}}}})) == 20
