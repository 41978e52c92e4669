"""What tests of photographs that are measured step by step begin with."""

import pytest
from django.test import Client as Browser
from support_measuring import FOUR, Reader, hand_in, measure_cards

from quotes.patterns import measuring


@pytest.fixture
def reader(monkeypatch: pytest.MonkeyPatch) -> Reader:
    found = Reader()
    monkeypatch.setattr(measuring, "look_in_child", found.look)
    monkeypatch.setattr(measuring, "read_in_child", found.read)
    return found


@pytest.fixture
def begun(browser: Browser, reader: Reader) -> str:
    """The address where two photographs wait to be measured."""
    measure_cards(browser)
    return hand_in(browser, *FOUR[:2])["Location"]
