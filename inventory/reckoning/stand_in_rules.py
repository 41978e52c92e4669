"""What may stand in for what, as data: the rules of `stand_ins.json`, each with rank, condition, question and source."""

from functools import cache

import msgspec

from inventory.ground.materials import MaterialKind
from inventory.ground.reading import data_beside

__all__ = ["StandInRule", "StandInRules", "ThingLooked", "read_stand_in_rules", "stand_in_rules"]


class ThingLooked(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What a rule looks at of a thing: its kind, what it measures (bore of grommets, else width), words of its name."""

    kind: MaterialKind
    mm: tuple[float, float] | None = None
    words: tuple[str, ...] = ()


class StandInRule(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One rule.

    Attributes:
        rank: 0 goes first; what several rules allow together ranks as the last of them.
        when: the condition in words.
        of, by: what is lacking and what stands in; None for bones of one kind and for what the maker has allowed.
        shorter_mm, longer_mm: by how much it may differ in length.
        channel_mm: how wide the channel must be.
        not_at: places of bones at which it does not do.
        is_hidden: only where it is not seen.
        colour_difference: from where on two tones are not looked at as one shade, in CIE 1976 L*a*b*.
        words, words_alike: why it does; the second where it is as long.
        asks: what the maker is asked; `asks_unknown` only where the shelf's facts do not decide.
        tells: what the client is told.
        minutes, tips: more work and more tips for each piece.
    """

    code: str
    rank: int
    when: str
    words: str
    source: str
    of: ThingLooked | None = None
    by: ThingLooked | None = None
    shorter_mm: float = 0.0
    longer_mm: float = 0.0
    channel_mm: float = 0.0
    not_at: tuple[str, ...] = ()
    is_hidden: bool = False
    colour_difference: float = 0.0
    words_alike: str = ""
    asks: str = ""
    asks_unknown: str = ""
    tells: str = ""
    minutes: int = 0
    tips: int = 0


class StandInRules(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """All of them, and what is asked whatever the rule: of widths that are not known, of tips that do not lie there."""

    about: str
    source: str
    unknown_width: str
    tips_lacking: str
    rules: tuple[StandInRule, ...]

    def __getitem__(self, code: str) -> StandInRule:
        return next(rule for rule in self.rules if rule.code == code)


@cache
def stand_in_rules() -> StandInRules:
    """Return the rules that are shipped."""
    return read_stand_in_rules(data_beside(__file__, "stand_ins.json"))


def read_stand_in_rules(document: object) -> StandInRules:
    """Return the rules that a document says. Raises ValueError for one that is not just of its form: a fault of ours."""
    found = msgspec.convert(document, StandInRules)
    for names in ([rule.code for rule in found.rules], [str(rule.rank) for rule in found.rules]):
        if len(set(names)) != len(names):
            raise ValueError(f"A code or a rank stands twice: {', '.join(names)}.")
    return found
