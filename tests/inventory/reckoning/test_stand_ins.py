"""What stands in for what. Source of every rule: the trade's notes of this house, reordering, “substitutions (rank, ask,
record)”, marked there as from memory: bone up to 12 shorter (5 shorter: no question); never longer unless cut and tipped
(+ 5 min, + 2 tips); flat 7 for 1/4 in if channel ≥ 9; spiral for flat not at CB or beside busk; busk one step shorter
(≤ 25) if CF edge still held by a hook or bone, client told if colour differs; #0 for #00 only with larger hole and cord
check, whole column; coutil white for ivory only if hidden; tape twill for grosgrain; cord + 0.5 m longer always; thread
within one shade on inside lines only. Bores of #00 and #0: there too, 4.8–5 and 6–6.4 mm. Costs are added up by hand.
"""

from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.ground.bone_forms import BoneForm
from inventory.ground.colours import tone_difference
from inventory.ground.materials import BONES, MaterialKind
from inventory.reckoning.stand_in_cases import Lacking, Thing
from inventory.reckoning.stand_in_rules import read_stand_in_rules, stand_in_rules
from inventory.reckoning.stand_ins import Allowed, LyingThing, StandIn, may_stand_in, stand_ins

KIND = MaterialKind
FLAT = Thing(make="flat-7", kind=KIND.FLAT, form=BoneForm.TIPPED, length_mm=240, measure_mm=7, name="Flat steel 7 mm")
QUARTER = replace(FLAT, make="flat-quarter", measure_mm=6.35, name="Flat steel 1/4 in")
SPIRAL = Thing(make="spiral-7", kind=KIND.SPIRAL, form=BoneForm.COIL, measure_mm=7, name="Spiral 7 mm")
TIP = Thing(make="tip-7", kind=KIND.TIP, measure_mm=7)
BUSK = Thing(make="busk", kind=KIND.BUSK, length_mm=330.2, measure_mm=12.5, colour="silver")
GROMMET = Thing(make="grommet-00", kind=KIND.GROMMET, measure_mm=5, name="Grommet #00")
IVORY = Thing(make="coutil-ivory", kind=KIND.CLOTH, measure_mm=1340, name="Coutil", colour="ivory")
GROSGRAIN = Thing(make="grosgrain", kind=KIND.WAIST_TAPE, measure_mm=22, name="Grosgrain 22 mm")
CORD = Thing(make="cord", kind=KIND.CORD, measure_mm=6, name="Cord", colour="black")
THREAD = Thing(make="thread", kind=KIND.THREAD, name="Thread", colour="ivory")


def lack(thing: Thing = FLAT, short: int = 4, **facts: object) -> Lacking:
    said = {"code": "lacking", "whole": short, "unit_cost": Decimal("1.50"), **facts}
    return Lacking(thing=thing, short=short, **said)  # type: ignore[arg-type]


def lies(thing: Thing, free: int = 100, *, code: str = "other", cost: str | None = "2") -> LyingThing:
    return LyingThing(
        code=code, thing=thing, free=free, lots=(free,), unit_cost=None if cost is None else Decimal(cost)
    )


def found(lacking: Lacking, *lying: LyingThing, allowed: dict[str, Allowed] | None = None) -> tuple[StandIn, ...]:
    return stand_ins(lacking, lying, allowed=allowed or {}, hourly=Decimal(24))


def rules(lacking: Lacking, thing: Thing, free: int = 100) -> list[tuple[str, ...]]:
    return [row.rules for row in found(lacking, lies(thing, free))]


@pytest.mark.parametrize(
    ("shorter", "rule", "questions"),
    [(0, "bone-alike", 0), (5, "bone-freely-shorter", 0), (5.1, "bone-shorter", 1), (12, "bone-shorter", 1)],
)
def test_a_bone_up_to_five_shorter_needs_no_question_and_up_to_twelve_one(shorter: float, rule: str, questions: int):
    (row,) = found(lack(), lies(replace(FLAT, length_mm=240 - shorter)))
    assert row.rules == (rule,)
    assert len(row.asks) == questions
    assert (row.materials, row.minutes, row.tips) == (Decimal(2), 0, 0)  # four at 2.00 in place of four at 1.50


def test_a_bone_more_than_twelve_shorter_does_not_do():
    assert rules(lack(), replace(FLAT, length_mm=227.9)) == []


def test_a_longer_bone_is_cut_and_tipped_with_five_minutes_and_two_tips_a_piece():
    tips = lies(TIP, code="tip-7", cost="0.11")
    row = found(lack(), lies(replace(FLAT, length_mm=254)), tips)[0]
    assert row.rules == ("bone-cut",)
    assert (row.minutes, row.labour, row.tips, row.tip_cost) == (20, Decimal(8), 8, Decimal("0.88"))
    assert row.difference == Decimal("10.88")  # 2.00 + 20 minutes at 24 an hour + 8 × 0.11
    assert row.asks == ()


def test_tips_that_do_not_lie_free_are_asked_for_and_the_price_stays_open():
    (row,) = found(lack(), lies(replace(FLAT, length_mm=254)), lies(TIP, 7, code="tip-7"))
    assert row.difference is None
    assert "8 tips" in row.asks[0]


def test_what_takes_no_tips_is_only_cut():
    synthetic = Thing(make="s", kind=KIND.SYNTHETIC, form=BoneForm.TIPPED, length_mm=200, measure_mm=5)
    (row,) = found(lack(synthetic), lies(replace(synthetic, length_mm=220)))
    assert (row.tips, row.minutes) == (0, 20)


def test_bones_are_cut_from_a_coil_only_where_each_lot_holds_whole_ones():
    coil = replace(FLAT, form=BoneForm.COIL, length_mm=0)
    tips = lies(TIP, code="tip-7")
    enough = LyingThing(code="coil", thing=coil, free=1000, lots=(480, 500), unit_cost=Decimal(3))
    (row,) = found(lack(), enough, tips)
    assert (row.rules, row.quantity, row.materials) == (("bone-cut",), 960, Decimal("-3.12"))  # 0.96 × 3 − 4 × 1.50
    assert found(lack(), replace(enough, lots=(479, 500)), tips) == ()


@pytest.mark.parametrize(("channel", "questions"), [(9.0, 0), (None, 1), (8.9, None)])
def test_a_flat_of_seven_stands_in_for_a_quarter_inch_in_a_channel_of_nine(
    channel: float | None, questions: int | None
):
    rows = found(lack(QUARTER, channel_mm=channel), lies(FLAT))
    assert [(row.rules, len(row.asks)) for row in rows] == ([] if questions is None else [(("flat-seven",), questions)])


def test_a_quarter_inch_does_not_stand_in_for_seven():
    assert rules(lack(FLAT), QUARTER) == []


@pytest.mark.parametrize(
    ("places", "questions"),
    [({"seam"}, 0), (set(), 1), ({"seam", "centre-back"}, None), ({"beside-front"}, None)],
)
def test_spiral_stands_in_for_flat_but_not_at_the_back_nor_beside_the_busk(places: set[str], questions: int | None):
    rows = found(lack(places=frozenset(places)), lies(SPIRAL, 2000), lies(TIP, code="tip-7"))
    wanted = [] if questions is None else [(("spiral-for-flat", "bone-cut"), questions)]
    assert [(row.rules, len(row.asks)) for row in rows] == wanted


def test_flat_never_stands_in_for_spiral():
    pretipped = replace(SPIRAL, form=BoneForm.TIPPED, length_mm=240)
    assert rules(lack(pretipped), FLAT) == []


def test_a_busk_one_step_shorter_asks_whether_the_edge_is_held_and_tells_of_another_colour():
    shorter = replace(BUSK, make="other", length_mm=304.8)  # 13 and 12 in, which the trade writes as 330 and 305
    (row,) = found(lack(BUSK, 1), lies(shorter))
    assert (row.rules, len(row.asks), row.tells) == (("busk-shorter",), 1, ())
    (row,) = found(lack(BUSK, 1), lies(replace(shorter, colour="black")))
    assert len(row.tells) == 1
    (row,) = found(lack(BUSK, 1), lies(replace(shorter, colour="", name="Busk")))
    assert (len(row.asks), row.tells) == (2, ())
    assert rules(lack(BUSK, 1), replace(shorter, length_mm=279.4)) == []
    assert rules(lack(BUSK, 1), replace(shorter, length_mm=355.6)) == []
    assert rules(lack(BUSK, 1), replace(shorter, measure_mm=25)) == []


@pytest.mark.parametrize("bore", [6.0, 6.4, None])
def test_larger_grommets_stand_in_for_the_whole_column_only(bore: float | None):
    larger = replace(GROMMET, make="grommet-0", measure_mm=bore, name="Grommet #0")
    lacking = lack(GROMMET, 3, whole=28)
    (row,) = found(lacking, lies(larger, 28))
    assert (row.rules, row.replaces, row.quantity, len(row.asks)) == (("grommet-larger",), 28, 28, 1)
    assert rules(lacking, larger, 27) == []


@pytest.mark.parametrize("other", [replace(GROMMET, make="b"), replace(GROMMET, make="c", measure_mm=9.5, name="#2")])
def test_no_other_grommets_stand_in(other: Thing):
    assert rules(lack(GROMMET), other) == []


def test_white_coutil_stands_in_for_ivory_where_it_is_hidden():
    white = replace(IVORY, make="coutil-white", colour="white")
    lacking = lack(IVORY, 360)
    assert rules(lacking, white, 400) == [("coutil-white",)]
    assert rules(replace(lacking, is_seen=True), white, 400) == []
    assert rules(lack(replace(white, make="w"), 360), IVORY, 400) == []
    assert rules(lacking, replace(white, measure_mm=1200), 400) == []
    two_lots = replace(lies(white, 400), lots=(200, 200))
    assert found(lacking, two_lots) == ()


def test_twill_stands_in_for_grosgrain_of_its_width():
    twill = replace(GROSGRAIN, make="twill", name="Waist tape, twill 22 mm")
    assert rules(lack(GROSGRAIN, 760), twill, 800) == [("twill-tape",)]
    assert rules(lack(GROSGRAIN, 760), replace(twill, measure_mm=15), 800) == []
    assert rules(lack(twill, 760), GROSGRAIN, 800) == []


def test_a_cord_may_be_half_a_metre_longer():
    laces = replace(CORD, length_mm=5000)
    for length, does in ((5000, True), (5500, True), (5501, False), (4999, False)):
        assert bool(rules(lack(laces, 1), replace(laces, make="b", length_mm=length))) is does
    (row,) = found(lack(CORD, 1000, whole=5500), lies(replace(CORD, make="b"), 6000))
    assert (row.rules, row.replaces, row.quantity, row.asks) == (("cord-longer",), 5500, 6000, ())
    assert rules(lack(CORD, 5500), replace(CORD, make="b"), 5999) == []
    assert rules(lack(CORD, 5500), replace(CORD, make="b", colour="white"), 9000) == []


def test_thread_within_one_shade_is_asked_and_far_shades_are_not_offered():
    (row,) = found(lack(THREAD, 9000), lies(replace(THREAD, make="b", colour="white"), 9999))
    assert "inside lines only" in row.asks[0]
    assert rules(lack(THREAD, 9000), replace(THREAD, make="b", colour="black"), 9999) == []
    thin = replace(THREAD, tex=Decimal(27))
    assert rules(lack(replace(THREAD, tex=Decimal(40)), 9000), replace(thin, make="b"), 9999) == []


def test_what_the_maker_allows_goes_first_and_needs_no_question():
    shorter, strange = (
        lies(replace(FLAT, length_mm=236), code="a"),
        lies(replace(FLAT, measure_mm=10, make="x"), code="b"),
    )
    own = {"b": Allowed(asks_client=True, why="for heavy work")}
    first, second = found(lack(), shorter, strange, allowed=own)
    assert (first.code, first.rank, first.rules, first.asks) == ("b", 0, ("own",), ())
    assert "for heavy work" in first.why[0]
    assert len(first.tells) == 1
    assert (second.code, second.rules) == ("a", ("bone-freely-shorter",))


def test_what_is_kept_for_other_work_is_not_offered():
    assert rules(lack(), replace(FLAT, length_mm=238), 3) == []


def test_without_a_price_the_difference_stays_open():
    assert found(lack(), lies(replace(FLAT, length_mm=238), cost=None))[0].difference is None


lengths = st.sampled_from([0.0, 200.0, 230.0, 236.0, 240.0, 244.0, 254.0, 330.0])
things = st.builds(
    Thing,
    make=st.sampled_from("abc"),
    kind=st.sampled_from(list(KIND)),
    length_mm=lengths,
    measure_mm=st.sampled_from([None, 5.0, 6.0, 6.35, 7.0, 1340.0]),
    name=st.sampled_from(["", "Coutil", "Grosgrain", "Twill", "Grommet #0", "Grommet #00"]),
    colour=st.sampled_from(["", "white", "ivory", "black"]),
).flatmap(
    lambda thing: (
        st.builds(
            lambda form: replace(
                thing, form=form, length_mm=0.0 if form is BoneForm.COIL else thing.length_mm or 240.0
            ),
            st.sampled_from(list(BoneForm)),
        )
        if thing.kind in BONES
        else st.just(thing)
    )
)


@given(of=things, by=things, short=st.integers(1, 30), places=st.sampled_from([set(), {"seam"}, {"centre-back"}]))
def test_no_stand_in_is_longer_uncut_nor_of_another_kind(of: Thing, by: Thing, short: int, places: set[str]):
    """Spiral for flat is the one pair of kinds that the trade's notes name; a cord alone may be longer as it is."""
    for row in found(lack(of, short, places=frozenset(places)), lies(by, 100_000)):
        assert of.kind is by.kind or (of.kind, by.kind) == (KIND.FLAT, KIND.SPIRAL)
        assert by.kind in may_stand_in(of.kind)
        # Tape and thread are had by the metre, whatever length is written beside them.
        if by.length_mm > of.length_mm and of.kind not in (KIND.WAIST_TAPE, KIND.THREAD):
            assert "bone-cut" in row.rules or (of.kind is KIND.CORD and by.length_mm - of.length_mm <= 500)
        if row.minutes:
            assert "bone-cut" in row.rules
        assert "centre-back" not in places or by.kind is not KIND.SPIRAL or of.kind is KIND.SPIRAL


@given(of=things, by=things, free=st.integers(0, 60_000))
def test_no_more_is_taken_than_lies_free_in_words_that_are_whole(of: Thing, by: Thing, free: int):
    for row in found(lack(of, 20), lies(by, free)):
        assert 0 < row.quantity <= free
        assert row.why
        for sentence in (*row.why, *row.asks, *row.tells):
            assert sentence
            assert "{" not in sentence


def test_every_rule_says_who_says_so_and_ranks_are_apart():
    rows = stand_in_rules().rules
    assert all(row.source and row.when and row.words for row in rows)
    with pytest.raises(ValueError, match="stands twice"):
        read_stand_in_rules(
            {"about": "", "source": "", "unknown_width": "", "tips_lacking": "", "rules": [
                {"code": code, "rank": 1, "when": "w", "words": "w", "source": "s"} for code in "ab"
            ]}
        )  # fmt: skip


@pytest.mark.parametrize(
    ("tone", "other", "far"),
    [("#ff0000", "#00ff00", 170.6), ("#000000", "#ffffff", 100.0), ("#ffffff", "#fffff0", 7.6)],
)
def test_tones_are_as_far_apart_as_cie_1976_says(tone: str, other: str, far: float):
    """As tables of sRGB under D65 have them: red (53.24, 80.09, 67.20), green (87.73, −86.18, 83.18), ivory (99.64, −2.55, 7.16)."""
    assert tone_difference(tone, other) == pytest.approx(far, abs=0.2)
