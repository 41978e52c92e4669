"""Numbers with commas and points, against a library's own formats of numbers (CLDR, by Babel) and against ISO 80000-1, 7.3.

What stays open is open by that standard: it lets a comma or a point be the decimal sign, and groups digits by three.
"""

import contextlib
from decimal import Decimal
from fractions import Fraction

import pytest
from babel.numbers import format_decimal
from hypothesis import assume, given
from hypothesis import strategies as st

from inventory.spreadsheet.points import Mark, NumberCell, OpenMark, evidence_words, judged_marks, number_of

LOCALES = {
    "de_DE": ",",
    "de_CH": ".",
    "de_AT": ",",
    "en_GB": ".",
    "en_US": ".",
    "fr_FR": ",",
    "fr_CH": ",",
    "it_IT": ",",
}
AMOUNTS = st.decimals(min_value=0, max_value=999_999_999, places=2)


def judged(*texts: str, told: Mark | None = None) -> Mark | None:
    return judged_marks(enumerate(texts, start=2), told).mark


def plain_spaces(text: str) -> str:
    """As the cells of a table reach the reader; Babel groups by narrow and non-breaking spaces."""
    return text.replace("\u202f", " ").replace("\u00a0", " ")


@given(AMOUNTS, st.sampled_from(sorted(LOCALES)))
def test_what_a_locale_writes_reads_back_equal(amount: Decimal, locale: str):
    written = plain_spaces(format_decimal(amount, format="#,##0.00", locale=locale))
    assert number_of(written) == Fraction(amount)


@given(st.lists(st.decimals(min_value=0, max_value=9_999_999, places=3), min_size=1), st.sampled_from(sorted(LOCALES)))
def test_a_column_of_one_locale_reads_back_equal_or_is_asked_about(amounts: list[Decimal], locale: str):
    """Three decimals may look like thousands: then the other cells decide, or nobody does."""
    written = [plain_spaces(format_decimal(amount, format="#,##0.###", locale=locale)) for amount in amounts]
    column = judged_marks(enumerate(written), None)
    if column.is_asked:
        assert column.mark is None
        column = judged_marks(enumerate(written), LOCALES[locale])
    assume(column.mark is not None or not column.open)
    assert [number_of(text, column.mark) for text in written] == [Fraction(amount) for amount in amounts]


@pytest.mark.parametrize(
    ("text", "number"),
    [
        ("1.049,60", "1049.60"),
        ("1,049.60", "1049.60"),
        ("1 049,60", "1049.60"),
        ("1'049.60", "1049.60"),
        ("1’049", "1049"),
        ("1.049.600", "1049600"),
        ("12,5", "12.5"),
        ("0,125", "0.125"),
        ("1234,500", "1234.500"),
        ("45,-", "45"),
        ("45.–", "45"),
        (",5", "0.5"),
        ("-1.049,60", "-1049.60"),
    ],
)
def test_what_can_be_read_in_one_way_needs_no_column(text: str, number: str):
    assert number_of(text) == Fraction(number)


@pytest.mark.parametrize("text", ["1/2", "½", " 1/2 "])
def test_halves_are_halves(text: str):
    assert number_of(text) == Fraction(1, 2)
    assert number_of(f"3 {text}") == Fraction(7, 2)


@pytest.mark.parametrize("text", ["1.04,9,60", "1,04,960.5", "12,34.50", "1..5", "1.049,60,1", "", "Paar", "1 04,5"])
def test_what_is_no_number_is_none(text: str):
    with pytest.raises(ValueError, match="not a number"):
        number_of(text)


def test_what_stays_open_is_open_until_told():
    with pytest.raises(OpenMark, match=r"“1,500” may be 1\.500 or 1500\."):
        number_of("1,500")
    assert (number_of("1,500", ","), number_of("1,500", ".")) == (Fraction(3, 2), 1500)
    assert (number_of("1.500", ","), number_of("1.500", ".")) == (1500, Fraction(3, 2))


def test_a_column_is_judged_by_those_of_its_cells_that_can_be_read_in_one_way():
    assert judged("1.500", "12,50") == ","
    assert judged("1.500", "€ 12.50 / m") == "."
    assert judged("1.500", "2.250") is None
    assert judged("1.500", "12,50", "12.50") is None
    assert judged("1.500", "3 Paar", "1/2 m") is None
    assert judged("1.500", told=".") == "."
    column = judged_marks([(4, "1.500"), (5, "45,50 EUR"), (9, "1.049,60 EUR")], None)
    assert (column.is_asked, evidence_words(column)) == (False, ["decimal comma by “45,50” in row 5 and 1 more"])


def test_a_workbooks_own_numbers_are_neither_open_nor_evidence():
    assert number_of(NumberCell("1.500"), ",") == Fraction(3, 2)
    # The text alone would be found in what was read before.
    assert number_of("1.500", ",") == 1500
    assert judged(NumberCell("12.50"), "1.500") is None


@given(st.text(max_size=30), st.sampled_from([",", ".", None]))
def test_no_text_is_worse_than_no_number(text: str, mark: Mark | None):
    judged_marks([(2, text)], mark)
    with contextlib.suppress(ValueError):
        assert number_of(text, mark).denominator > 0
