"""The example patterns: each kind of file gives the same garment, through the front door and its child process."""

from pathlib import Path

import pytest

from inventory.ground.findings import Refused
from quotes.construction.construction import Choices
from quotes.construction.shipped import shipped
from quotes.pattern.drawing import ReadOptions
from quotes.pattern.readers import read_pattern
from quotes.takeoff.chosen_materials import plain_shelf
from quotes.takeoff.take_off import take_off

PATTERNS = Path(__file__).parents[3] / "fixtures" / "patterns"
WITHIN = 0.005


def figures(path: Path) -> list[float]:
    """The figures of a takeoff that a price is made of."""
    pattern = read_pattern(path, ReadOptions()).pattern
    construction = shipped("two-layer")
    takeoff = take_off(pattern, construction, Choices(), plain_shelf(construction))
    return [
        *(area for area in takeoff.cut_areas_mm2),
        *(seam.length_mm for seam in takeoff.seams),
        takeoff.binding_mm,
        takeoff.tape_mm,
        takeoff.cord_mm,
        takeoff.thread_mm,
        takeoff.work.pass_mm,
        *(run.ideal_mm for run in takeoff.bones),
    ]


@pytest.mark.parametrize("garment", ["underbust", "overbust"])
def test_every_kind_of_file_gives_the_same_takeoff(garment: str):
    expected = figures(PATTERNS / f"{garment}.json")
    for kind in ("dxf", "svg", "csv", "xlsx"):
        assert figures(PATTERNS / f"{garment}.{kind}") == pytest.approx(expected, rel=WITHIN), kind


@pytest.mark.parametrize(
    ("name", "data", "code"),
    [
        ("pattern.doc", b"x", "file.unknown-kind"),
        ("pattern.pdf", b"x", "pdf.not-pdf"),
        ("pattern.dxf", b"   ", "file.empty"),
        ("pattern.svg", b"\x00\xff\xfe", "svg.broken"),
        ("pattern.xlsx", b"not a zip", "table.columns"),
        ("pattern.json", b"\xff\xff", "file.not-text"),
    ],
)
def test_the_front_door_refuses_in_a_sentence(tmp_path: Path, name: str, data: bytes, code: str):
    path = tmp_path / name
    path.write_bytes(data)
    with pytest.raises(Refused) as refusal:
        read_pattern(path, ReadOptions())
    assert refusal.value.findings[0].code == code


def test_a_file_over_20_mb_is_refused_before_it_is_read(tmp_path: Path):
    path = tmp_path / "large.svg"
    with path.open("wb") as file:
        file.truncate(200_000_000)
    with pytest.raises(Refused, match="200 MB"):
        read_pattern(path, ReadOptions())


def test_missing_files_and_folders_are_refused(tmp_path: Path):
    for path, code in ((tmp_path / "none.dxf", "file.not-found"), (tmp_path / "folder.svg", "file.is-a-folder")):
        if code == "file.is-a-folder":
            path.mkdir()
        with pytest.raises(Refused) as refusal:
            read_pattern(path, ReadOptions())
        assert refusal.value.findings[0].code == code
