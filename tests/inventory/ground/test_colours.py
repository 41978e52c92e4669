"""Colours in words. Sources: CSS Color Module Level 4, 6.1 (named colours); trade names are those of `colours.json`."""

import pytest

from inventory.ground.colours import NEUTRAL_TONE, TONE, tone_of


@pytest.mark.parametrize(
    ("words", "tone"),
    [
        ("Rebecca purple", "#663399"),
        ("navy", "#000080"),
        ("BLACK", "#000000"),
        ("light sea-green", "#20b2aa"),
        ("Satin coutil, ivory", "#fffff0"),
        ("black and gold", "#000000"),
        ("very dark olive green", "#556b2f"),
    ],
)
def test_words_of_css_are_its_tones(words: str, tone: str):
    assert tone_of(words) == tone


@pytest.mark.parametrize("words", ["", "quince branches", "no. 7", "水色"])
def test_words_that_name_no_colour_have_no_tone(words: str):
    assert tone_of(words) == ""


@pytest.mark.parametrize("words", ["bottle green", "bordeaux", "old gold", "dusty rose"])
def test_names_that_cloths_go_by_are_known(words: str):
    assert TONE.fullmatch(tone_of(words))
    assert tone_of(words) != tone_of(words.split()[-1]) or " " not in words


def test_plum_is_the_fruit_and_not_the_pale_violet_of_css():
    red, green, blue = (int(tone_of("plum")[at : at + 2], 16) for at in (1, 3, 5))
    assert max(red, green, blue) < 128


def test_the_tone_of_what_no_word_names_is_a_tone():
    assert TONE.fullmatch(NEUTRAL_TONE)
