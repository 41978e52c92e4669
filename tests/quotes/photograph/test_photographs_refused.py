"""Photographs that must not be used: each is refused by its own reason, with its name, before an outline is given."""

import subprocess
import sys
from dataclasses import replace
from io import BytesIO
from pathlib import Path

import cv2
import numpy as np
import pytest
from PIL import Image, ImageDraw
from support_commands import run, stop_codes
from support_photographs import Scene, cards_at_the_corners, photograph, shifted, small_scene
from support_random_photographs import mirrored

from inventory.ground.confined import confined
from inventory.ground.defaults import shelf_defaults
from inventory.ground.findings import Refused
from quotes.photograph.cards import PrintScale
from quotes.photograph.child import read_here
from quotes.photograph.seeing import smeared_px


def reasons(data: bytes) -> set[str]:
    with pytest.raises(Refused) as refused:
        read_here(data, "p.jpg", PrintScale(), None)
    for finding in refused.value.findings:
        assert finding.where == "p.jpg"
        assert finding.message.endswith(".")
        assert finding.hint.endswith(".")
    return {finding.code for finding in refused.value.findings}


def laid_anew(*pieces: int, **moves: tuple[float, float, float]) -> Scene:
    scene = small_scene()
    moved = [shifted(piece, *moves.get(f"piece_{number}", (0, 0, 0))) for number, piece in enumerate(scene.pieces)]
    return replace(scene, pieces=tuple(moved[number] for number in pieces or (0, 1)))


SCENES = {
    "photograph.too-few-cards": small_scene(laid_cards=cards_at_the_corners(400, 540, of=(0, 3))),
    "photograph.too-dark": small_scene(light=0.02),
    "photograph.too-far": small_scene(size=(430, 580), blur_px=0.4),
    "photograph.no-piece": small_scene(pieces=()),
    "photograph.cut-off": laid_anew(piece_0=(-150, 0, 0)),
    "photograph.on-a-card": laid_anew(piece_0=(0, -35, 0)),
    "photograph.touching": laid_anew(piece_1=(-55, 25, 5)),
}


@pytest.mark.parametrize("code", SCENES)
def test_a_faulty_photograph_is_refused_by_its_reason(code: str) -> None:
    assert code in reasons(photograph(SCENES[code]))


def test_paper_of_the_grounds_own_colour_is_refused() -> None:
    assert reasons(photograph(small_scene(paper="grey", ground="greycloth"))) & {
        "photograph.no-piece",
        "photograph.ground-like-paper",
    }


def test_a_mirrored_photograph_is_refused() -> None:
    assert reasons(mirrored(photograph(small_scene(size=(800, 1080))))) == {"photograph.mirrored"}


@pytest.mark.parametrize("blur_px", [3.5, 8.0])
def test_a_smeared_photograph_is_refused(blur_px: float) -> None:
    """Also where it is smeared so much that no card can be read."""
    assert reasons(photograph(small_scene(blur_px=blur_px))) == {"photograph.blurred"}


@pytest.mark.parametrize("smeared", [0.5, 1.5, 4.0, 9.0])
def test_how_much_a_picture_is_smeared_is_seen_by_its_edges(smeared: float) -> None:
    """A disc drawn by Pillow at eight times its size, smeared by OpenCV's Gaussian, with noise; within a third, which tells
    smeared from sharp."""
    image = Image.new("L", (3200, 3200), 40)
    ImageDraw.Draw(image).ellipse((600, 600, 2600, 2600), fill=200)
    disc = np.asarray(image.resize((400, 400), Image.Resampling.BOX), dtype=np.float32)
    seen = cv2.GaussianBlur(disc, (0, 0), smeared) + np.random.default_rng(1).normal(0, 1.5, disc.shape)
    assert smeared_px(seen.round().clip(0, 255).astype(np.uint8)) == pytest.approx(smeared, rel=0.33, abs=0.4)


def test_a_picture_of_one_colour_is_not_smeared() -> None:
    assert smeared_px(np.full((400, 400), 90, dtype=np.uint8)) == 0.0


def test_a_photograph_that_takes_more_memory_than_it_may_is_refused_in_a_sentence() -> None:
    """Twelve million pixels, unpacked several times over, within 200 MB."""
    out = BytesIO()
    Image.new("RGB", (4000, 3000), (90, 90, 90)).save(out, "PNG")
    limits = replace(shelf_defaults().seeing, memory_mb=200)
    with pytest.raises(Refused, match="more than 200 MB") as refused:
        confined(read_here, out.getvalue(), "p.png", PrintScale(), None, name="p.png", mend="Less.", limits=limits)
    assert [found.code for found in refused.value.findings] == ["file.too-much"]


def test_every_photograph_of_a_set_that_cannot_be_used_is_named(tmp_path: Path) -> None:
    (tmp_path / "one.jpg").write_bytes(b"no picture")
    code, answer = run("outlines", tmp_path / "one.jpg", tmp_path / "two.png", tmp_path / "three.gif")
    assert code == 1
    assert stop_codes(answer) == {"photograph.not-a-picture", "file.not-found", "photograph.unknown-kind"}
    assert {found["where"] for found in answer["findings"]} == {"one.jpg", "two.png", "three.gif"}


def test_importing_what_reads_photographs_loads_nothing_that_sees() -> None:
    program = (
        "import sys; import quotes.photograph.photographed; "
        "sys.exit(any(name in sys.modules for name in ('cv2', 'PIL', 'django', 'pi_heif')))"
    )
    assert subprocess.run([sys.executable, "-c", program], check=False).returncode == 0
