"""The feed against RFC 5545: 3.1 (content lines), 3.3.11 (text), 3.6.1 (events), read here octet by octet."""

import re
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta, timezone

import pytest
from hypothesis import given
from hypothesis import strategies as st

from studio.schedule.feed import Event, feed

STAMP = datetime(2026, 2, 1, 8, 30, tzinfo=UTC)
CHANGED = datetime(2026, 1, 20, 17, 0, tzinfo=timezone(timedelta(hours=1)))
CALENDAR_NAMES = ("VERSION", "PRODID", "NAME", "X-WR-CALNAME")
EVENT_NAMES = ("UID", "DTSTAMP", "LAST-MODIFIED", "DTSTART;VALUE=DATE", "DTEND;VALUE=DATE", "SUMMARY")
FITTING = Event(uid="fitting-7", when=date(2026, 3, 1), title="Fitting; toile, second", updated=CHANGED)


def lines(data: bytes) -> list[str]:
    """The unfolded content lines; every physical line must be a line of the standard."""
    assert data.endswith(b"\r\n")
    physical = data[:-2].split(b"\r\n")
    for line in physical:
        assert 1 <= len(line) <= 75
        assert b"\r" not in line
        assert b"\n" not in line
        line.decode("utf-8")  # a fold never splits a character
    return data[:-2].replace(b"\r\n ", b"").decode("utf-8").split("\r\n")


def properties(data: bytes) -> dict[str, str]:
    """Name with parameters to value, of a feed with one event; values are not unescaped."""
    inner = [line.split(":", 1) for line in lines(data) if not line.startswith(("BEGIN:", "END:"))]
    found = dict(inner)
    assert len(found) == len(inner)
    return found


def unescaped(value: str) -> str:
    return re.sub(r"\\(.)", lambda found: "\n" if found[1] in "nN" else found[1], value)


def fed(**changed: object) -> dict[str, str]:
    return properties(feed([replace(FITTING, **changed)], name="Work", stamp=STAMP))  # type: ignore[arg-type]


def test_std_51_a_long_line_is_folded_between_characters():
    title = "Überwendlich genähtes Köperkorsett mit Löffelblanchett, fünfte Anprobe 🧵" * 5
    data = feed(
        [FITTING, Event(uid="long", when=date(2026, 3, 2), title=title, updated=CHANGED)], name="W", stamp=STAMP
    )
    assert "SUMMARY:" + title.replace(",", r"\,") in lines(data)
    assert max(len(line) for line in data.split(b"\r\n")) > 70  # it is not folded needlessly either


@given(title=st.text(min_size=1, max_size=200), description=st.text(max_size=300), name=st.text(max_size=90))
def test_std_51_any_text_makes_lines_of_the_standard_and_comes_back(title: str, description: str, name: str):
    data = feed(
        [Event(uid="any", when=date(2026, 3, 2), title=title, description=description, updated=CHANGED)],
        name=name,
        stamp=STAMP,
    )
    found = properties(data)

    def kept(text: str) -> str:
        text = text.replace("\r\n", "\n").replace("\r", "\n")
        return "".join(
            c for c in text if c in "\t\n" or not (ord(c) < 32 or 127 <= ord(c) < 160 or 0xD800 <= ord(c) < 0xE000)
        )

    assert unescaped(found["SUMMARY"]) == kept(title)
    assert unescaped(found.get("DESCRIPTION", "")) == kept(description)
    assert unescaped(found["NAME"]) == unescaped(found["X-WR-CALNAME"]) == kept(name)


def test_std_52_a_whole_day_ends_on_the_day_after():
    found = fed()
    assert found["DTSTART;VALUE=DATE"] == "20260301"
    assert found["DTEND;VALUE=DATE"] == "20260302"
    assert fed(when=date(2028, 2, 29))["DTEND;VALUE=DATE"] == "20280301"


def test_std_53_text_is_escaped_and_uid_and_stamp_are_there():
    found = fed(description="Bring:\nshoes; \\ chemise")
    assert found["SUMMARY"] == r"Fitting\; toile\, second"
    assert found["DESCRIPTION"] == r"Bring:\nshoes\; \\ chemise"
    assert found["UID"] == "fitting-7"
    assert found["DTSTAMP"] == "20260201T083000Z"
    assert found["LAST-MODIFIED"] == "20260120T160000Z"


def test_a_moment_is_said_in_utc_and_ends_after_its_minutes():
    begin = datetime(2026, 7, 1, 0, 30, tzinfo=timezone(timedelta(hours=2)))
    found = fed(when=begin, minutes=105)
    assert (found["DTSTART"], found["DTEND"]) == ("20260630T223000Z", "20260701T001500Z")
    assert "DTEND" not in fed(when=begin)


@pytest.mark.parametrize("attack", ["x\r\nBEGIN:VALARM", "x\nATTACH:http://attacker.example", "x\rEND:VEVENT"])
def test_no_text_begins_a_line_of_its_own(attack: str):
    event = Event(uid=attack, when=date(2026, 3, 1), title=attack, description=attack, updated=CHANGED)
    names = [line.partition(":")[0] for line in lines(feed([event], name=attack, stamp=STAMP))]
    assert sorted(names) == sorted([*("BEGIN END " * 2).split(), *CALENDAR_NAMES, *EVENT_NAMES, "DESCRIPTION"])


def test_a_feed_without_events_is_a_calendar_and_the_same_feed_is_the_same_bytes():
    empty = lines(feed([], name="Work", stamp=STAMP))
    assert (empty[0], empty[-1], len(empty)) == ("BEGIN:VCALENDAR", "END:VCALENDAR", 6)
    assert {"VERSION:2.0", "NAME:Work"} < set(empty)
    assert feed([FITTING], name="Work", stamp=STAMP) == feed([FITTING], name="Work", stamp=STAMP)


def test_events_come_in_the_order_given():
    events = [Event(uid=uid, when=date(2026, 3, 1), title=uid, updated=CHANGED) for uid in ("b", "a", "c")]
    assert [line for line in lines(feed(events, name="W", stamp=STAMP)) if line.startswith("UID")] == [
        "UID:b",
        "UID:a",
        "UID:c",
    ]


def test_slips_are_refused():
    with pytest.raises(ValueError, match="uid of its own"):
        feed([FITTING, FITTING], name="W", stamp=STAMP)
    with pytest.raises(ValueError, match="uid of its own"):
        fed(uid="")
    with pytest.raises(ValueError, match="time zone"):
        fed(when=datetime(2026, 3, 1, 10))  # noqa: DTZ001
    with pytest.raises(ValueError, match="time zone"):
        fed(updated=datetime(2026, 3, 1, 10))  # noqa: DTZ001
