"""What a sealed piece wants cut, by hand from its channels and edges.

A casing is as long as its channel and 20 mm, bought binding turns 20 mm in at each of eight ends: the defaults of the
takeoff (common practice). Two flats may stand in one channel, which has one casing.
"""

from dataclasses import replace

import pytest

from quotes.seal.sealed import SealedLine, SealedTakeoff
from quotes.takeoff.takeoff import BonePlace
from studio.cutting.wanted import Wanted, wanted_of
from studio.models import Job

pytestmark = pytest.mark.django_db
CASED = (BonePlace.SEAM, BonePlace.MID_PANEL)


def with_line(takeoff: SealedTakeoff, code: str, **facts: float) -> SealedTakeoff:
    """The same with a line of a roll more."""
    like = next(line for line in takeoff.lines if line.code == "waist-tape")
    line: SealedLine = replace(like, code=code, material=f"own-{code}", needed=replace(like.needed, family=code))
    return replace(takeoff, lines=(*takeoff.lines, line), **facts)


def of(material: str, wanted: tuple[Wanted, ...]) -> list[tuple[str, int, int]]:
    return [(want.where, want.length, want.count) for want in wanted if want.material == material]


def casings(takeoff: SealedTakeoff) -> float:
    return sum((run.channel_mm + 20) * run.count for run in takeoff.bones if run.place in CASED)


def test_bones_tape_and_cord_of_a_sealed_piece(job: Job):
    """Spirals come off the coil in five lengths, flats lie ready in two; the cord is 5.5 m, the tape 755 mm."""
    takeoff = job.option.takeoff
    wanted, untold = wanted_of(takeoff, job="Q1")
    assert untold == ()
    assert {(want.form, want.is_cut, want.size == want.length) for want in wanted} == {
        ("coil", True, False),
        ("tipped", False, True),
        ("", True, False),
    }
    lengths = [round(run.length_mm * 10) for run in takeoff.bones]
    assert [want.length for want in wanted if want.form] == lengths
    assert of("cord-flat-6", wanted) == [("lacing", 55_000, 1)]
    ((where, tape, count),) = of("twill-22", wanted)
    assert (where, count) == ("waist", 1)
    assert tape == pytest.approx(7550, abs=5)
    assert of("coutil-white", wanted) == []


def test_a_casing_a_channel(job: Job):
    takeoff = job.option.takeoff
    cased = [run for run in takeoff.bones if run.place in CASED]
    wanted, untold = wanted_of(with_line(takeoff, "casing", casing_mm=casings(takeoff)), job="Q1")
    expected = [(run.where, round((run.channel_mm + 20) * 10), run.count) for run in cased]
    assert of("own-casing", wanted) == expected
    assert untold == ()


def test_two_bones_in_one_channel_have_one_casing(job: Job):
    takeoff = job.option.takeoff
    bones = tuple(replace(run, count=run.count * (2 if run.place in CASED else 1)) for run in takeoff.bones)
    stacked = with_line(replace(takeoff, bones=bones), "casing", casing_mm=casings(takeoff))
    counts = [count for _, _, count in of("own-casing", wanted_of(stacked, job="Q1")[0])]
    assert counts == [run.count for run in takeoff.bones if run.place in CASED]


def test_casings_that_do_not_add_up_are_told_and_not_guessed(job: Job):
    odd = with_line(job.option.takeoff, "casing", casing_mm=1234.0)
    wanted, untold = wanted_of(odd, job="Q1")
    assert of("own-casing", wanted) == []
    assert untold == ("Q1: its casings are 1234 mm together; cut them by their channels.",)


def test_bought_binding_goes_round_four_edges_and_stays_whole_where_halves_are_not_alike(job: Job):
    takeoff = job.option.takeoff
    top, bottom = (sum(getattr(panel, edge) for panel in takeoff.pattern.panels) for edge in ("top_mm", "bottom_mm"))
    wanted, _ = wanted_of(with_line(takeoff, "binding", binding_mm=2 * (top + bottom) + 160), job="Q1")
    assert of("own-binding", wanted) == [
        ("top edge", round((top + 40) * 10), 2),
        ("bottom edge", round((bottom + 40) * 10), 2),
    ]
    uneven, _ = wanted_of(with_line(takeoff, "binding", binding_mm=9000.0), job="Q1")
    assert of("own-binding", uneven) == [("edges", 90_000, 1)]


def test_bones_that_were_sealed_without_their_material_are_found_by_their_kind(job: Job):
    takeoff = job.option.takeoff
    earlier = replace(takeoff, bones=tuple(replace(run, material="", form="") for run in takeoff.bones))
    now, then = (wanted_of(of_then, job="Q1")[0] for of_then in (takeoff, earlier))
    assert [(want.material, want.length) for want in now] == [(want.material, want.length) for want in then]
    assert all(want.material for want in then)
