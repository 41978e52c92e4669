"""Keeping patterns: whole or not at all, revised, used again."""

from pathlib import Path

import pytest
from django.contrib.auth.models import User
from django.core.files.uploadedfile import SimpleUploadedFile
from support_patterns import block_a

from inventory.ground.findings import Refused
from quotes.models import KeptPattern, PatternRevision
from quotes.pattern.drawing import ReadOptions
from quotes.pattern.pattern_json import pattern_from
from quotes.patterns.kept_patterns import keep_block, keep_upload

PATTERNS = Path(__file__).parents[3] / "fixtures" / "patterns"


def upload(name: str) -> SimpleUploadedFile:
    return SimpleUploadedFile(Path(name).name, (PATTERNS / name).read_bytes())


def keep(name: str, maker: User, **others: object) -> PatternRevision:
    said = {"name": "From a file", "kept": None, **others}
    return keep_upload(upload=upload(name), options=ReadOptions(), user=maker, **said)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    "name", ["underbust.dxf", "underbust.svg", "underbust.csv", "underbust.xlsx", "underbust.json"]
)
def test_a_pattern_is_kept_from_any_kind_of_file(maker: User, name: str):
    revision = keep(name, maker)
    pattern = pattern_from(revision.document)
    assert (revision.number, revision.source_name, pattern.panels_per_half) == (1, name, 6)
    assert pattern.closed_waist_mm == pytest.approx(605.0, abs=0.3)


def test_a_refused_file_keeps_nothing(maker: User):
    with pytest.raises(Refused):
        keep("broken/crossed-outline.json", maker)
    assert not KeptPattern.objects.exists()


def test_a_name_is_kept_once(maker: User):
    keep("underbust.json", maker)
    with pytest.raises(Refused) as caught:
        keep("overbust.json", maker)
    assert [found.code for found in caught.value.findings] == ["pattern.name-taken"]
    assert PatternRevision.objects.count() == 1


def test_the_next_revision_leaves_the_one_before(maker: User):
    first = keep("underbust.json", maker)
    second = keep("overbust.json", maker, kept=first.pattern)
    first.refresh_from_db()
    assert (first.number, second.number) == (1, 2)
    assert pattern_from(first.document).panels_per_half == 6
    assert pattern_from(second.document).panels_per_half == 7
    assert first.pattern.revisions.first() == second


def test_the_fit_said_beside_a_file_is_kept(maker: User):
    revision = keep("underbust.json", maker, body_waist_mm=720.0, gap_mm=50.0)
    pattern = pattern_from(revision.document)
    assert pattern.gap_mm == 50
    assert pattern.reduction_mm == pytest.approx(720 - 50 - pattern.closed_waist_mm)


def test_a_pattern_larger_than_the_body_is_refused(maker: User):
    with pytest.raises(Refused) as caught:
        keep("underbust.json", maker, body_waist_mm=600.0, gap_mm=50.0)
    assert [found.code for found in caught.value.findings] == ["pattern.larger-than-body"]


def test_a_large_reduction_is_warned_of(maker: User):
    revision = keep("underbust.json", maker, body_waist_mm=780.0, gap_mm=50.0)
    assert "pattern.large-reduction" in [row["code"] for row in revision.findings]


def test_a_block_is_good_for_estimating_only(maker: User):
    revision = keep_block(block=block_a(), user=maker)
    assert pattern_from(revision.document).estimating_only
