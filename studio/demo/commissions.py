"""The demo's two years of commissions, from `commissions.json`: who asked for what, and what they answered."""

from collections.abc import Mapping
from datetime import date, timedelta

from inventory.ground.codec import Document
from quotes.clients.clients import keep_measures
from quotes.desk.quoting import accept, decline, offer_of_today, send, start_quote
from quotes.models import Client, PatternRevision, QuoteRevision
from quotes.seal.snapshot import offer_fingerprint
from studio.demo.diary import Diary, workday
from studio.demo.making import Making
from studio.demo.story import Person, Piece, story

__all__ = ["option", "plan"]

FIRST_DAYS_AGO = 745
LAST_DAYS_AGO = 9
DAYS_BETWEEN = (7, 16)
LATELY_DAYS_AGO = 55  # what was asked for since then was all taken, so that the bench is full today
ANSWERED = 0.5  # of the quotes that are not taken; the rest runs out
MEASURES_LAST_DAYS = 10
DUE_AFTER_DAYS = 49
VALID_DAYS = 21


def option(name: str, construction: str, cloths: Mapping[str, str], **choices: object) -> Document:
    """An option as a commission says it."""
    return {"name": name, "construction": construction, "cloths": cloths, "choices": choices}


def plan(diary: Diary, patterns: dict[str, PatternRevision]) -> None:
    """Put the quotes of two years into the diary; what is taken plans its own making."""
    asking = _Asking(diary, patterns)
    days_ago = FIRST_DAYS_AGO
    while days_ago >= LAST_DAYS_AGO:
        asking.plan(days_ago)
        days_ago -= diary.chance.randint(*DAYS_BETWEEN)


class _Asking:
    """Clients who ask for a quote, one after the other."""

    def __init__(self, diary: Diary, patterns: dict[str, PatternRevision]) -> None:
        self._diary, self._patterns = diary, patterns

    def plan(self, days_ago: int) -> None:
        """Plan a quote and its answer."""
        chance = self._diary.chance
        pieces = [row for row in story().pieces if days_ago > row.until_days_ago]
        piece = chance.choices(pieces, [row.often for row in pieces])[0]
        person = chance.choice(story().clients)
        fate, answers_after = chance.random(), chance.randint(2, 12)
        taken = 1.0 if days_ago < LATELY_DAYS_AGO else piece.taken
        asked_on = workday(self._diary.day(days_ago))
        answered_on = workday(asked_on + timedelta(days=answers_after))

        def quote() -> None:
            revision = self._quoted(person, piece, asked_on)
            if fate < taken:
                self._diary.plan(answered_on, lambda: self._take(revision, answered_on))
            elif fate < taken + (1 - taken) * ANSWERED:
                self._diary.plan(answered_on, lambda: self._decline(revision))

        self._diary.plan(asked_on, quote)

    def _quoted(self, person: Person, piece: Piece, on: date) -> QuoteRevision:
        maker = self._diary.maker
        row = option("As talked over", piece.construction, piece.cloths, **piece.choices)
        revision = start_quote(
            client=self._measured(person, on),
            title=piece.title,
            due=on + timedelta(days=DUE_AFTER_DAYS),
            pattern=self._patterns[piece.pattern],
            options=[row],
            user=maker,
        )
        until = on + timedelta(days=VALID_DAYS)
        seen = offer_fingerprint(offer_of_today(revision, valid_until=until))
        return send(revision=revision, valid_until=until, seen=seen, user=maker)

    def _measured(self, person: Person, on: date) -> Client:
        """The client, measured anew where the last measures are old."""
        client, _ = Client.objects.get_or_create(name=person.name, defaults={"notes": person.notes})
        last = client.measurement_sets.order_by("-taken_on").first()
        if last is None or (on - last.taken_on).days > MEASURES_LAST_DAYS:
            codes = ("underbust", "waist", "high-hip", "full-hip")
            keep_measures(
                client=client,
                taken_on=on,
                unit="cm",
                notes="",
                takes_mm={
                    code: [girth + self._diary.chance.randint(-4, 4) for _ in range(3)]
                    for code, girth in zip(codes, person.girths_mm, strict=True)
                },
                user=self._diary.maker,
            )
        return client

    def _take(self, revision: QuoteRevision, on: date) -> None:
        accept(revision=revision, option="As talked over", user=self._diary.maker)
        Making(self._diary, revision).begin(on)

    def _decline(self, revision: QuoteRevision) -> None:
        decline(revision=revision, user=self._diary.maker)
