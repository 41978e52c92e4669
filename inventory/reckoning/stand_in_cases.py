"""What speaks for one thing in place of another: the rules of `stand_ins.json` held against what the shelf knows of both.

Words: a *thing* is a material in one form and length; *tells* are sentences that the client is told. Lengths and widths
in mm. Where the shelf does not know what a condition asks, it becomes a question.
"""

import re
from dataclasses import dataclass, field
from decimal import Decimal

from inventory.ground.bone_forms import BoneForm
from inventory.ground.colours import tone_difference, tone_of
from inventory.ground.defaults import shelf_defaults
from inventory.ground.materials import BONES, KINDS, MaterialKind
from inventory.ground.stock_units import StockUnit
from inventory.reckoning.stand_in_rules import StandInRule, ThingLooked, stand_in_rules

__all__ = ["Case", "Lacking", "Thing", "cut", "judged", "must_be_cut", "of_one_width"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Thing:
    """A material in one form and length.

    Attributes:
        make: code of the material; one make has one width, whether it is known or not.
        length_mm: that it comes in; 0 for none.
        measure_mm: bore of a grommet and of a tip, usable width of a cloth, else width; None where it is not known.
        name, colour: in the maker's words; `tone` as `#rrggbb`, empty for none.
        tex: of a thread.
    """

    make: str
    kind: MaterialKind
    form: BoneForm | None = None
    length_mm: float = 0.0
    measure_mm: float | None = None
    name: str = ""
    colour: str = ""
    tone: str = ""
    tex: Decimal | None = None

    @property
    def unit(self) -> StockUnit:
        """What it is counted and priced by."""
        return self.form.unit if self.form else self.kind.unit


@dataclass(frozen=True, slots=True, kw_only=True)
class Lacking:
    """What is short of a need.

    Attributes:
        short: how much is short; 0 where there is enough, but not in one lot.
        whole: all that the need asks for.
        unit_cost: of a stock unit; None without a price.
        places: of a bone, where it goes (`centre-back`, `beside-front`, `seam`, `mid-panel`); empty where not known.
        channel_mm: how wide its channel is; None where not known.
        is_seen: seen on the finished piece.
    """

    code: str
    thing: Thing
    short: int
    whole: int
    unit_cost: Decimal | None
    places: frozenset[str] = frozenset()
    channel_mm: float | None = None
    is_seen: bool = False


@dataclass(slots=True, kw_only=True)
class Case:
    """What speaks for a stand-in, rule by rule. `extra` is taken beyond the need; minutes and tips are of one piece."""

    rules: list[StandInRule] = field(default_factory=list)
    why: list[str] = field(default_factory=list)
    asks: list[str] = field(default_factory=list)
    tells: list[str] = field(default_factory=list)
    extra: int = 0
    minutes: int = 0
    tips: int = 0

    def add(self, code: str, *, is_known: bool = True, is_alike: bool = False, **mm: float) -> None:
        """Let a rule speak; `mm` are the figures in its sentences."""
        rule = stand_in_rules()[code]
        said = {name: f"{round(value, 1):g}" for name, value in mm.items()}
        self.rules.append(rule)
        words = rule.words_alike if is_alike and rule.words_alike else rule.words
        self.why.append(words.format(**said))
        if rule.asks and not is_alike:
            self.asks.append(rule.asks.format(**said))
        if rule.asks_unknown and not is_known:
            self.asks.append(rule.asks_unknown.format(**said))

    def must_be_as_wide(self, is_as_wide: bool | None) -> None:
        """Ask where the shelf does not know."""
        if is_as_wide is None:
            self.asks.append(stand_in_rules().unknown_width)


def judged(lacking: Lacking, by: Thing) -> Case | None:
    of = lacking.thing
    if of.kind in BONES and by.kind in BONES:
        return _bone(lacking, by)
    if of.kind is not by.kind:
        return None
    match of.kind:
        case MaterialKind.BUSK:
            return _busk(of, by)
        case MaterialKind.GROMMET:
            return _named("grommet-larger", of, by)
        case MaterialKind.CLOTH:
            is_as_wide = of.measure_mm is not None and by.measure_mm is not None and by.measure_mm >= of.measure_mm
            return _named("coutil-white", of, by) if is_as_wide and not lacking.is_seen else None
        case MaterialKind.WAIST_TAPE:
            return _named("twill-tape", of, by)
        case MaterialKind.CORD:
            return _cord(of, by)
        case MaterialKind.THREAD:
            return _thread(of, by)
        case _:
            return None


def _bone(lacking: Lacking, by: Thing) -> Case | None:
    case, of = Case(), lacking.thing
    as_wide = of_one_width(of, by)
    if _fits("flat-seven", of, by):
        least = stand_in_rules()["flat-seven"].channel_mm
        if lacking.channel_mm is not None and lacking.channel_mm < least:
            return None
        case.add("flat-seven", is_known=lacking.channel_mm is not None, channel=least)
        as_wide = True
    elif _fits("spiral-for-flat", of, by):
        if not lacking.places.isdisjoint(stand_in_rules()["spiral-for-flat"].not_at):
            return None
        case.add("spiral-for-flat", is_known=bool(lacking.places))
    elif of.kind is not by.kind:
        return None
    if as_wide is False:
        return None
    case.must_be_as_wide(as_wide)
    return case if _of_length(case, of, by) else None


def _of_length(case: Case, of: Thing, by: Thing) -> bool:
    """Whether a bone does by its length and its ends, with what speaks for it."""
    if of.form is BoneForm.COIL:
        if by.form is BoneForm.COIL and not case.rules:
            case.add("bone-alike")
        return by.form is BoneForm.COIL
    is_cut = must_be_cut(of, by)
    shorter = 0.0 if by.form is BoneForm.COIL else max(0.0, round(of.length_mm - by.length_mm, 1))
    if shorter > stand_in_rules()["bone-shorter"].shorter_mm:
        return False
    if shorter > shelf_defaults().buying.freely_shorter_mm:
        case.add("bone-shorter", shorter=shorter)
    elif shorter:
        case.add("bone-freely-shorter", shorter=shorter)
    elif not is_cut and not case.rules:
        case.add("bone-alike")
    if is_cut:
        cut(case, of, by)
    return True


def must_be_cut(of: Thing, by: Thing) -> bool:
    """Whether a bone has to be cut or its ends finished before it stands in for one of a length."""
    if by.kind not in BONES or of.kind not in BONES or of.form is BoneForm.COIL:
        return False
    has_raw_ends = of.form is BoneForm.TIPPED and by.form is BoneForm.CUT
    return by.form is BoneForm.COIL or by.length_mm > of.length_mm or has_raw_ends


def cut(case: Case, of: Thing, by: Thing) -> None:
    """Where the plan has raw ends, its tips are planned already; what takes none is rounded."""
    length = of.length_mm if by.form is BoneForm.COIL else min(of.length_mm, by.length_mm)
    case.add("bone-cut", length=length)
    case.minutes = case.rules[-1].minutes
    case.tips = case.rules[-1].tips if of.form is BoneForm.TIPPED and KINDS[by.kind].is_tipped else 0


def _busk(of: Thing, by: Thing) -> Case | None:
    shorter, is_as_wide = round(of.length_mm - by.length_mm, 1), of_one_width(of, by)
    if not 0 <= shorter <= stand_in_rules()["busk-shorter"].shorter_mm or is_as_wide is False:
        return None
    case, is_of_one_colour = Case(), _is_of_one_colour(of, by)
    case.add("busk-shorter", is_known=is_of_one_colour is not None, is_alike=not shorter, shorter=shorter)
    if is_of_one_colour is False:
        case.tells.append(case.rules[0].tells)
    case.must_be_as_wide(is_as_wide)
    return case


def _named(code: str, of: Thing, by: Thing) -> Case | None:
    """What a rule knows by its words or its bore; of tapes the width must be the same too."""
    is_as_wide = of_one_width(of, by) if of.kind is MaterialKind.WAIST_TAPE else True
    if not _fits(code, of, by) or is_as_wide is False:
        return None
    case = Case()
    case.add(code)
    case.must_be_as_wide(is_as_wide)
    return case


def _cord(of: Thing, by: Thing) -> Case | None:
    most = stand_in_rules()["cord-longer"].longer_mm
    is_as_wide, is_of_one_colour = of_one_width(of, by), _is_of_one_colour(of, by)
    longer = by.length_mm - of.length_mm if of.length_mm and by.length_mm else most
    if is_as_wide is False or is_of_one_colour is False or not 0 <= longer <= most:
        return None
    case = Case(extra=0 if by.length_mm else round(most))
    case.add("cord-longer", is_known=is_of_one_colour is not None, longer=longer)
    case.must_be_as_wide(is_as_wide)
    return case


def _thread(of: Thing, by: Thing) -> Case | None:
    tones = [_tone(of), _tone(by)]
    if all(tones) and tone_difference(*tones) > stand_in_rules()["thread-shade"].colour_difference:
        return None
    if of.tex is not None and by.tex is not None and of.tex != by.tex:
        return None
    case = Case()
    case.add("thread-shade")
    return case


def _fits(code: str, of: Thing, by: Thing) -> bool:
    rule = stand_in_rules()[code]
    return rule.of is not None and rule.by is not None and _is_looked(rule.of, of) and _is_looked(rule.by, by)


def _is_looked(looked: ThingLooked, thing: Thing) -> bool:
    """Whether a thing is what a rule looks at: by its measure where both know one, else by its words."""
    if looked.kind is not thing.kind:
        return False
    if looked.mm is not None and thing.measure_mm is not None:
        return looked.mm[0] <= thing.measure_mm <= looked.mm[1]
    said = f"{thing.name} {thing.colour}".casefold()
    has_words = all(re.search(rf"(?<![\w#]){re.escape(word)}(?!\w)", said) for word in looked.words)
    return has_words if looked.words else looked.mm is None


def of_one_width(of: Thing, by: Thing) -> bool | None:
    """Whether two things are of one width; None where it is not known."""
    if of.make == by.make:
        return True
    if of.measure_mm is None or by.measure_mm is None:
        return None
    return round(abs(of.measure_mm - by.measure_mm), 2) <= shelf_defaults().buying.same_width_mm


def _is_of_one_colour(of: Thing, by: Thing) -> bool | None:
    """Whether two things are of one colour by their words; None where one has none."""
    if of.make == by.make:
        return True
    if of.colour and by.colour:
        return of.colour.strip().casefold() == by.colour.strip().casefold()
    tones = [_tone(of), _tone(by)]
    return tones[0] == tones[1] if all(tones) else None


def _tone(thing: Thing) -> str:
    return thing.tone or tone_of(thing.colour) or tone_of(thing.name)
