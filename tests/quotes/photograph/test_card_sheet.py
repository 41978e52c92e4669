"""The printed sheet, read back by a PDF renderer and a marker detector that know nothing of how it was drawn."""

import io
import json
from pathlib import Path

import cv2
import numpy as np
import pypdf
import pypdfium2
import pytest
from support_commands import run, stop_codes

from quotes.photograph.card_sheet import card_sheet_pdf
from quotes.photograph.cards import cards, check_bars, marker_bits

DOTS_PER_MM = 12.0


@pytest.fixture(scope="module")
def printed() -> np.ndarray:
    """The sheet as grey dots, by PDFium."""
    page = pypdfium2.PdfDocument(card_sheet_pdf())[0]
    drawn = page.render(scale=DOTS_PER_MM * 25.4 / 72, grayscale=True).to_pil()
    # The renderer rounds the page up to whole dots and stretches it so far.
    return np.asarray(drawn.resize((round(297 * DOTS_PER_MM), round(210 * DOTS_PER_MM)), reducing_gap=None))


def test_the_page_is_a4_landscape_at_its_size_and_holds_no_pixels() -> None:
    reader = pypdf.PdfReader(io.BytesIO(card_sheet_pdf()))
    (page,) = reader.pages
    assert [float(side) * 25.4 / 72 for side in page.mediabox[2:]] == pytest.approx([297.0, 210.0], abs=0.01)
    assert not page.images


def test_every_marker_is_found_in_its_place_by_the_published_dictionary(printed: np.ndarray) -> None:
    """DICT_5X5_250 as OpenCV ships it; corners to 0.05 mm."""
    detector = cv2.aruco.ArucoDetector(cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_5X5_250))
    corners, ids, _ = detector.detectMarkers(printed)
    found = dict(zip(ids.ravel().tolist(), corners, strict=True))
    assert sorted(found) == list(range(68))
    for card in cards():
        middle = np.array([card.left + card.width / 2, card.top + card.height / 2])
        for marker in card.marker_ids:
            fine = cv2.cornerSubPix(
                printed, found[marker].reshape(-1, 1, 2).astype(np.float32), (6, 6), (-1, -1), (3, 30, 0.001)
            ).reshape(-1, 2)
            # The middle of a dot lies half a dot from its edge.
            seen = (fine + 0.5) / DOTS_PER_MM
            assert np.abs(seen - (card.marker_corners(marker) + middle)).max() < 0.05


def test_chequer_corners_stand_where_the_definition_puts_them(printed: np.ndarray) -> None:
    for card in cards():
        wanted = card.inner_corners() + np.array([card.left + card.width / 2, card.top + card.height / 2])
        start = (wanted * DOTS_PER_MM - 0.5).astype(np.float32).reshape(-1, 1, 2)
        seen = (cv2.cornerSubPix(printed, start.copy(), (12, 12), (-1, -1), (3, 40, 0.001)) + 0.5) / DOTS_PER_MM
        assert np.abs(seen.reshape(-1, 2) - wanted).max() < 0.05


def test_the_check_bars_are_as_long_as_they_say(printed: np.ndarray) -> None:
    """Dark from end to end along the bar, white beyond it."""
    for bar in check_bars():
        axis = 0 if bar.start[1] == bar.end[1] else 1
        across = round(bar.start[1 - axis] * DOTS_PER_MM)
        line = (
            printed[across - 1 : across + 1].mean(axis=0)
            if axis == 0
            else printed[:, across - 1 : across + 1].mean(axis=1)
        )
        lo, hi = (round(value * DOTS_PER_MM) for value in (bar.start[axis] - 2, bar.end[axis] + 2))
        ink = (255 - line[lo:hi]).sum() / 255 / DOTS_PER_MM
        # The ticks across the ends stand half their width beyond them.
        assert ink == pytest.approx(bar.nominal_mm + bar.width, abs=0.1)
        assert bar.end[axis] - bar.start[axis] == pytest.approx(bar.nominal_mm)


def test_words_say_which_card_is_which_and_how_long_the_bars_are() -> None:
    text = pypdfium2.PdfDocument(card_sheet_pdf())[0].get_textpage().get_text_range()
    assert {"A", "B", "C", "D", "250 mm", "180 mm"} <= set(text.split("\r\n"))


def test_bits_are_those_of_the_published_dictionary() -> None:
    published = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_5X5_250)
    for card in cards():
        for marker in card.marker_ids:
            drawn = cv2.aruco.generateImageMarker(published, marker, 7)[1:-1, 1:-1] // 255
            assert (marker_bits(marker) == drawn).all()


def test_the_command_writes_the_sheet_and_asks_for_both_bars(tmp_path: Path) -> None:
    code, answer = run("cards", "--pdf", tmp_path / "cards.pdf")
    assert code == 0
    assert answer["check_bars"] == [{"name": "along", "nominal_mm": 250.0}, {"name": "across", "nominal_mm": 180.0}]
    assert (tmp_path / "cards.pdf").read_bytes() == card_sheet_pdf()
    assert json.dumps(answer)


def test_a_place_that_cannot_be_written_is_refused(tmp_path: Path) -> None:
    code, answer = run("cards", "--pdf", tmp_path / "no" / "cards.pdf")
    assert (code, stop_codes(answer)) == (1, {"option.pdf"})
