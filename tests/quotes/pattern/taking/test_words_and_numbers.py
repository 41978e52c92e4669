"""What words on a drawing mean, and which number each piece gets by them."""

import pytest

from quotes.pattern.sheet import Label
from quotes.pattern.taking.numbering import Named, told_numbers
from quotes.pattern.taking.words import said

# Common practice, no source: phrases as they stand on makers' and bought patterns.


@pytest.mark.parametrize(
    ("words", "number", "lengths", "allowance"),
    [
        ("Panel 2: 10 mm seam allowance included", 2, (), 10.0),
        ("Seam allowance 1: 1.5 cm", None, (), 15.0),
        ("Square 1: 5 cm", None, (50.0,), None),
    ],
)
def test_a_number_before_a_colon_takes_nothing_from_the_length_after_it(
    words: str, number: int | None, lengths: tuple[float, ...], allowance: float | None
):
    found = said(words)
    assert (found.number if number else None, found.allowance_mm) == (number, allowance)
    assert not lengths or found.lengths_mm == lengths


@pytest.mark.parametrize(
    ("words", "number"),
    [
        ("3", 3),
        (" 3. ", 3),
        ("(3)", 3),
        ("3a", 3),
        ("03", 3),
        ("Panel 3", 3),
        ("panel-3", 3),
        ("panel_3", 3),
        ("no. 3", 3),
        ("No 3", 3),
        ("#3", 3),
        ("P3", 3),
        ("piece 3 of 6", 3),
        ("Side front 2", 2),
        ("3 (cut 2)", 3),
        ("Panel 3, cut 2 on fold, size 12", 3),
        ("5 cm", None),
        ("1 in", None),
        ("10mm", None),
        ('2"', None),
        ("1 1/2 in", None),
        ("½ inch", None),
        ("5 x 5 cm", None),
        ("cut 2", None),
        ("Cut 4 x", None),
        ("x2", None),
        ("2 pieces", None),
        ("size 12", None),
        ("EU 38", None),
        ("1 cm seam allowance", None),
        ("waist 66 cm", None),
        ("page 3 of 12", None),
        ("scale 1:1", None),
        ("100 %", None),
        ("2027", None),
        ("grain", None),
        ("join to panel 3", None),
        ("joins 3", None),
        ("sew to piece 4", None),
        ("attach to 2", None),
        ("matches panel 5", None),
        ("to panel 3", None),
        ("Panel 2, joins panel 3", 2),
        ("join here", None),
    ],
)
def test_what_numbers_a_panel(words: str, number: int | None):
    assert said(words).number == number


@pytest.mark.parametrize(
    ("words", "lengths"),
    [
        ("5 cm", (50.0,)),
        ("5 x 10 cm", (50.0, 100.0)),
        ("2 in x 2 in", (50.8, 50.8)),
        ("1 inch (2.54 cm)", (25.4, 25.4)),
        ('1 1/2"', (38.1,)),
        ("½ in", (12.7,)),
        ("2,5 cm", (25.0,)),
        ("scale 1:1", ()),
        ("3", ()),
    ],
)
def test_lengths(words: str, lengths: tuple[float, ...]):
    assert said(words).lengths_mm == pytest.approx(lengths)


@pytest.mark.parametrize(
    ("words", "allowance", "holds"),
    [
        ("1 cm seam allowance", 10.0, None),
        ("1 cm seam allowance included", 10.0, True),
        ("Includes 1/2 in SA", 12.7, True),
        ("S.A. 15 mm", 15.0, None),
        ("add 1 cm seam allowance", 10.0, False),
        ("seam allowance not included", None, False),
        ("no seam allowance", None, False),
        ("without seam allowance", None, False),
        ("1 cm", None, None),
    ],
)
def test_allowances(words: str, allowance: float | None, holds: bool | None):
    assert said(words).allowance_mm == (None if allowance is None else pytest.approx(allowance))
    assert said(words).allowance_in is holds


def test_other_words():
    assert said("cut 2 on fold").quantity == 2
    assert said("cut 2 on fold").is_fold
    assert said("waist line").is_waist
    assert said("waist 66 cm").waist_mm == 660.0
    assert said("closed waist measurement: 61 cm").waist_mm == 610.0
    assert said("Waist circumference 61 cm").lengths_mm == ()
    assert not said("waist 66 cm").is_waist
    assert said("closed waist 26 in").is_closed
    assert said("Grainline").is_grain
    assert [said(word).size for word in ("Size 12", "XL", "M", "taille 38")] == ["12", "XL", "M", "38"]


def named(*texts: str, names: tuple[str, ...] = (), height: float = 10.0) -> Named:
    return Named(names=names, inside=tuple(Label(text=text, at=(0, 0), where="", height=height) for text in texts))


def numbers(*pieces: Named) -> list[int | None]:
    return [told.number for told in told_numbers(pieces)]


def test_a_neighbour_named_beside_an_edge_numbers_no_panel():
    pieces = [named("1", "join to panel 2"), named("2", "joins panel 1", "joins panel 3"), named("3", "join to 2")]
    assert numbers(*pieces) == [1, 2, 3]
    assert [said(words).joins for words in ("join to panel 2", "Panel 2, joins 3", "joins", "3")] == [2, 3, None, None]


def test_a_word_goes_before_a_bare_number_and_that_before_a_name():
    assert numbers(named("7", "Panel 1", names=("P9",)), named("2")) == [None, 2]
    assert told_numbers([named("7", "Panel 1", names=("P9",)), named("2")])[0].contradicting == (1, 9)
    assert numbers(named("7", "Panel 1"), named("2", names=("back-5",))) == [1, 2]


def test_the_larger_of_two_bare_numbers_counts():
    small = Label(text="8", at=(0, 0), where="", height=4.0)
    large = Label(text="2", at=(0, 0), where="", height=12.0)
    assert numbers(named("1"), Named(names=(), inside=(small, large))) == [1, 2]


def test_what_stands_at_every_piece_numbers_none():
    pieces = [named(str(number), "12", "Cut 2", names=("drawing 7",)) for number in (1, 2, 3)]
    assert numbers(*pieces) == [1, 2, 3]


def test_names_of_places_go_from_front_to_back():
    assert numbers(named("back"), named("Side front"), named("CF"), named("side")) == [4, 2, 1, 3]
    assert numbers(named("Front 1"), named("Front 2"), named("Back 1"), named("Back 2")) == [1, 2, 3, 4]
    assert numbers(named("front"), named("front"), named("back"), named("back")) == [1, 1, 2, 2]
    assert numbers(named("front"), named("")) == [None, None]


def test_letters_and_names_that_programs_give():
    assert numbers(named("B"), named("A"), named("C")) == [2, 1, 3]
    assert numbers(*(named(names=(f"Layer {number}",)) for number in (2, 1, 3))) == [2, 1, 3]
    assert numbers(*(named(names=(f"path{number}",)) for number in (12, 13, 19))) == [None, None, None]


@pytest.mark.parametrize(
    ("words", "allowance_mm"),
    [
        ("Sew with 5/8 in seam allowance", 15.875),
        ('Sew with 1/2" seam allowance included', 12.7),
        ("sew with 1 1/2 cm seam allowance", 15.0),
        ("Sew with 1.5 cm seam allowance", 15.0),
        ("sew 10 mm seam allowance", 10.0),
        ("Seam allowance: sew 15 mm", 15.0),
        ("Attach 2 cm seam allowance", 20.0),
    ],
)
def test_an_allowance_to_sew_is_no_panel_to_sew_to(words: str, allowance_mm: float):
    assert said(words).allowance_mm == pytest.approx(allowance_mm)
    assert said(words).joins is None


@pytest.mark.parametrize(
    "words", ["match 2 notches", "sew 2 rows of stitching", "Panel 5, sew 2 channels", "sew on 2.5 cm test square"]
)
def test_what_is_counted_or_measured_is_no_panel_to_sew_to(words: str):
    assert said(words).joins is None


def test_a_square_to_sew_on_is_still_as_long_as_it_says():
    assert said("sew on 2.5 cm test square").lengths_mm == (25.0,)
