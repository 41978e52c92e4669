"""The demo's patterns: estimating blocks of five styles."""

from django.contrib.auth.models import User

from quotes.models import PatternRevision
from quotes.pattern.block import Block, Level
from quotes.patterns.kept_patterns import keep_block

BLOCKS = {
    "reed": Block(
        name="Reed underbust, six panels",
        panels_per_half=6,
        lacing_gap_mm=50,
        levels=(
            Level(height_mm=130, girth_mm=780, take_in_mm=10),
            Level(height_mm=0, girth_mm=720, take_in_mm=75),
            Level(height_mm=-100, girth_mm=880),
            Level(height_mm=-150, girth_mm=940),
        ),
        top=(130, 110, 130),
        bottom=(-150, -120, -140),
    ),
    "willow": Block(
        name="Willow overbust, seven panels",
        panels_per_half=7,
        lacing_gap_mm=65,
        levels=(
            Level(height_mm=200, girth_mm=960),
            Level(height_mm=90, girth_mm=840, take_in_mm=15),
            Level(height_mm=0, girth_mm=800, take_in_mm=100),
            Level(height_mm=-100, girth_mm=980),
            Level(height_mm=-160, girth_mm=1040),
        ),
        top=(200, 190, 160),
        bottom=(-180, -120, -150),
    ),
    "sedge": Block(
        name="Sedge waist cincher, five panels",
        panels_per_half=5,
        lacing_gap_mm=50,
        levels=(
            Level(height_mm=90, girth_mm=790, take_in_mm=15),
            Level(height_mm=0, girth_mm=740, take_in_mm=80),
            Level(height_mm=-90, girth_mm=890),
        ),
        top=(90, 80, 90),
        bottom=(-90, -75, -85),
    ),
    "teasel": Block(
        name="Teasel longline underbust, seven panels",
        panels_per_half=7,
        lacing_gap_mm=60,
        levels=(
            Level(height_mm=140, girth_mm=810, take_in_mm=10),
            Level(height_mm=0, girth_mm=760, take_in_mm=80),
            Level(height_mm=-110, girth_mm=930),
            Level(height_mm=-200, girth_mm=1010),
        ),
        top=(140, 120, 135),
        bottom=(-190, -170, -195),
    ),
    "burdock": Block(
        name="Burdock overbust with hip, eight panels",
        panels_per_half=8,
        lacing_gap_mm=60,
        levels=(
            Level(height_mm=210, girth_mm=920),
            Level(height_mm=90, girth_mm=800, take_in_mm=10),
            Level(height_mm=0, girth_mm=740, take_in_mm=85),
            Level(height_mm=-110, girth_mm=940),
            Level(height_mm=-180, girth_mm=1000),
        ),
        top=(205, 195, 165),
        bottom=(-175, -150, -170),
    ),
}


def load(maker: User) -> None:
    """Keep the patterns."""
    for block in BLOCKS.values():
        keep_block(block=block, user=maker)


def kept() -> dict[str, PatternRevision]:
    """Return the kept patterns by name."""
    return {name: PatternRevision.objects.get(pattern__name=block.name, number=1) for name, block in BLOCKS.items()}
