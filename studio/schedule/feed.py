"""The calendar feed: due dates and fittings as iCalendar (RFC 5545), for the maker's own calendar program.

Names and descriptions are text that people wrote: the library escapes and folds it, and characters that iCalendar text
cannot hold are left out here. Times are said in UTC, so that no definition of a time zone has to travel along.
"""

import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta

import icalendar

__all__ = ["Event", "feed"]

PRODUCT = "-//Staymaker's Daybook//Calendar feed//EN"


@dataclass(frozen=True, slots=True, kw_only=True)
class Event:
    """One entry of the feed.

    Attributes:
        uid: the same for the same event in every feed, and no other's.
        when: a day for an event of the whole day, or the moment at which it begins, with its time zone.
        updated: when it was last changed, with its time zone.
        minutes: how long it takes; 0 for a whole day or where that is not known.
    """

    uid: str
    when: date | datetime
    title: str
    updated: datetime
    description: str = ""
    minutes: int = 0


def feed(events: Sequence[Event], *, name: str, stamp: datetime) -> bytes:
    """Return the feed as the bytes of an .ics file: lines end with CRLF and have at most 75 octets.

    Args:
        name: what calendar programs call the feed.
        stamp: when it was made, with its time zone.

    The end of a whole day is the day after it, as the end is not part of an event.

    Raises:
        ValueError: a moment without a time zone, a uid that is empty or twice there.
    """
    uids = [event.uid for event in events]
    if not all(uids) or len(set(uids)) < len(uids):
        raise ValueError("Every event has a uid of its own.")
    calendar = icalendar.Calendar()
    calendar.add("prodid", PRODUCT)
    calendar.add("version", "2.0")
    calendar.add("name", _text(name))
    calendar.add("x-wr-calname", _text(name))
    for event in events:
        calendar.add_component(_component(event, _utc(stamp)))
    return bytes(calendar.to_ical())


def _component(event: Event, stamp: datetime) -> icalendar.Event:
    component = icalendar.Event()
    component.add("uid", _text(event.uid))
    component.add("dtstamp", stamp)
    component.add("last-modified", _utc(event.updated))
    if isinstance(event.when, datetime):
        begin = _utc(event.when)
        component.add("dtstart", begin)
        if event.minutes:
            component.add("dtend", begin + timedelta(minutes=event.minutes))
    else:
        component.add("dtstart", event.when)
        component.add("dtend", event.when + timedelta(days=1))
    component.add("summary", _text(event.title))
    if event.description:
        component.add("description", _text(event.description))
    return component


def _text(text: str) -> icalendar.vText:
    """Text without control characters other than tabs and line ends, which are all written alike."""
    lines = text.replace("\r\n", "\n").replace("\r", "\n")
    return icalendar.vText("".join(c for c in lines if c in "\t\n" or unicodedata.category(c) not in ("Cc", "Cs")))


def _utc(moment: datetime) -> datetime:
    if moment.tzinfo is None:
        raise ValueError("A moment of the feed has its time zone.")
    return moment.astimezone(UTC)
