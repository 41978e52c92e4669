"""Stored documents: plain JSON data and back. Against the standard library's own JSON and dataclasses."""

import json
import subprocess
import sys
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from enum import StrEnum
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.ground.codec import Codec, plain


class Colour(StrEnum):
    RED = "red"
    BLUE = "blue"


@dataclass(frozen=True, slots=True, kw_only=True)
class Ribbon:
    colour: Colour
    metres: Decimal
    bought: date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawer:
    name: str
    ribbons: tuple[Ribbon, ...]
    depth_mm: float = 0.0


def in_metres(document: Mapping[str, Any]) -> Mapping[str, Any]:
    """Version 1 counted centimetres."""
    rows = [{**row, "metres": f"{Decimal(row['centimetres']) / 100:f}"} for row in document["ribbons"]]
    return {**document, "ribbons": rows}


DRAWER = Codec(kind=Drawer, version=2, upgrades={1: in_metres})
ribbons = st.builds(
    Ribbon,
    colour=st.sampled_from(Colour),
    metres=st.decimals(min_value=0, max_value=10**9, places=4),
    bought=st.none() | st.dates(),
)
drawers = st.builds(
    Drawer,
    name=st.text(),
    ribbons=st.lists(ribbons).map(tuple),
    depth_mm=st.floats(allow_nan=False, allow_infinity=False),
)


@given(drawers)
def test_what_is_written_reads_back_to_the_same(drawer: Drawer):
    assert DRAWER.read(json.loads(json.dumps(DRAWER.written(drawer)))) == drawer


def test_an_earlier_version_is_brought_up_when_it_is_read_and_stays_as_it_was():
    kept = {"name": "top", "ribbons": [{"colour": "red", "centimetres": "250"}]}
    assert DRAWER.read(kept).ribbons == (Ribbon(colour=Colour.RED, metres=Decimal("2.50")),)
    assert kept == {"name": "top", "ribbons": [{"colour": "red", "centimetres": "250"}]}


def test_decimals_are_written_without_an_exponent():
    assert plain(Decimal("1E+3")) == "1000"


@pytest.mark.parametrize(
    ("change", "place"),
    [
        ({"name": 3}, r"\$\.name"),
        ({"ribbons": [{"colour": "green", "metres": "1"}]}, r"ribbons\[0\]\.colour"),
        ({"ribbons": [{"colour": "red"}]}, "metres"),
        ({"depth_mm": "deep"}, r"\$\.depth_mm"),
    ],
)
def test_what_is_not_of_its_form_is_refused_with_the_place(change: dict[str, Any], place: str):
    with pytest.raises(ValueError, match=place):
        DRAWER.read({"version": 2, "name": "top", "ribbons": [], **change})


def test_what_has_no_place_in_a_document_is_a_fault_of_the_program():
    with pytest.raises(TypeError, match="object"):
        plain(object())


def test_a_set_stands_in_a_document_in_one_order():
    assert plain({3, 1, 2}) == plain(frozenset({2, 3, 1}))


_AT_ONCE = """
import sys
from dataclasses import make_dataclass
from threading import Barrier, Thread
from inventory.ground.codec import Codec

sys.setswitchinterval(1e-6)
names = [f"n{number}" for number in range(20)]
inner = {name: 1 for name in names}
codecs = []
for _ in range(100):
    part = make_dataclass("Part", [(name, int) for name in names])
    codecs.append(Codec(kind=make_dataclass("Whole", [("one", part), ("more", list[part])]), version=1))
gate, read = Barrier(8), []

def reads():
    for codec in codecs:
        gate.wait()
        read.append(codec.read({"one": inner, "more": [inner] * 3}).more[2].n19)

readers = [Thread(target=reads) for _ in range(8)]
for reader in readers:
    reader.start()
for reader in readers:
    reader.join()
print(read == [1] * 800)
"""


def test_a_kind_may_be_read_for_the_first_time_by_many_threads_at_once():
    """In a process of its own, which a library that is not ready for it ends by signal 11."""
    done = subprocess.run([sys.executable, "-c", _AT_ONCE], capture_output=True, text=True)
    assert (done.returncode, done.stdout) == (0, "True\n"), done.stderr
