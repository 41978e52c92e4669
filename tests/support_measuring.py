"""Photographs handed in and measured to the end, step by step, as the page does it; and what stands for the reader."""

from collections.abc import Callable
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
from django.core.files.uploadedfile import SimpleUploadedFile
from django.http import HttpResponse
from django.test import Client as Browser

from inventory.ground.findings import refuse, warn
from quotes.pattern.drawing import ReadOptions
from quotes.pattern.geometry import x_at
from quotes.pattern.readers import read_pattern
from quotes.photograph.cards import PrintScale
from quotes.photograph.reading import Look, PhotoPiece, PhotoReading
from quotes.photograph.solve import LENS, LensPrior

__all__ = ["FOUR", "PAGE", "Reader", "a_look", "a_reading", "hand_in", "measure_cards", "measured", "step", "table_of"]

PAGE = "/patterns/photographs/"
MOST_STEPS = 12
UNDERBUST = Path(__file__).parents[1] / "fixtures" / "patterns" / "underbust.svg"
FOUR = [(f"{name}.jpg", b"a picture") for name in ("one", "two", "three", "four")]


def measure_cards(browser: Browser, along: str = "25", across: str = "18") -> HttpResponse:
    return browser.post(f"{PAGE}cards/", {"along": along, "across": across})


def hand_in(browser: Browser, *files: tuple[str, bytes], address: str = PAGE, **headers: str) -> HttpResponse:
    uploads = [SimpleUploadedFile(name, data) for name, data in files]
    return browser.post(address, {"photographs": uploads}, headers=headers)


def measured(browser: Browser, address: str) -> HttpResponse:
    """The answer to the last step: the way to the table, or the page that says what cannot be used."""
    for _ in range(MOST_STEPS):
        answer = browser.post(address, headers={"HX-Request": "true"})
        if "HX-Redirect" in answer or answer.context["page"].is_refused:
            return answer
    raise AssertionError(answer.content.decode())


def table_of(browser: Browser, answer: HttpResponse) -> str:
    """The address of the table on which photographs lie in the end that were just handed in."""
    assert answer.status_code == 302, answer.content.decode()
    last = measured(browser, answer["Location"])
    assert "HX-Redirect" in last, last.content.decode()
    return last["HX-Redirect"]


@cache
def a_reading() -> PhotoReading:
    """Two panels of the underbust, a pixel a millimetre."""
    pieces = [
        PhotoPiece(
            photo="paper.jpg",
            outline=panel.outline,
            notches=tuple((x_at(edge, panel.waist_mm) or 0.0, panel.waist_mm) for edge in (panel.front, panel.back)),
            plus_minus_mm=0.1,
            outline_px=tuple((x + 500, 500 - y) for x, y in panel.outline),
        )
        for panel in read_pattern(UNDERBUST, ReadOptions()).pattern.panels[:2]
    ]
    return PhotoReading(
        photo="paper.jpg",
        px_per_mm=1.0,
        cards=4,
        residual_px=0.04,
        size_px=(1000, 1000),
        shown=b"\xff\xd8 a JPEG",
        pieces=tuple(pieces),
        findings=(warn("photograph.at-the-rim", "paper.jpg", "Something was left out."),),
    )


def a_look(sure: float = 1.0) -> Look:
    before = LensPrior(mean=np.zeros(LENS), covariance=np.eye(LENS) * 0.01, focal_px=1234.5, middle=(399.5, 539.5))
    after = replace(before, mean=np.linspace(0.001, 1 / 3, LENS), covariance=np.eye(LENS) * 0.01 / (1 + sure))
    return Look(camera=(800, 1080, 1234.5), before=before, after=after)


class Reader:
    """Reads nothing: writes down what it was asked for, refuses what it was told to, and does what comes between."""

    def __init__(self) -> None:
        self.asked: list[str] = []
        self.lenses: dict[str, LensPrior | None] = {}
        self.refuses: set[str] = set()
        self.overruns: dict[str, str] = {}
        self.meanwhile: Callable[[], object] = lambda: None

    def look(self, data: bytes, name: str, scale: PrintScale) -> Look:
        self._ask("look", name)
        return a_look()

    def read(self, data: bytes, name: str, scale: PrintScale, lens: LensPrior | None) -> PhotoReading:
        self._ask("read", name)
        self.lenses[name] = lens
        pieces = tuple(replace(piece, photo=name) for piece in a_reading().pieces)
        return replace(a_reading(), photo=name, pieces=pieces)

    def _ask(self, what: str, name: str) -> None:
        self.asked.append(f"{what} {name}")
        self.meanwhile()
        if f"{what} {name}" in self.overruns:
            raise refuse(
                self.overruns[f"{what} {name}"], name, "The file could not be read within 90 seconds.", "Less."
            )
        if f"{what} {name}" in self.refuses:
            raise refuse("photograph.too-dark", name, "The picture is too dark.", "Use more lamps.")


def step(browser: Browser, address: str) -> Any:
    return browser.post(address, headers={"HX-Request": "true"})
