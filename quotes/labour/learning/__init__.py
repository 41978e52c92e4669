"""Learning: what delivered jobs would change of the standard minutes, of the range of an estimate, and of losses.

Minutes rest on `quotes.labour.hours`, which reads the log; here is what of it is worth a change, and in which words.
Losses rest on what was issued against what was quoted: an entry is *set aside* where it cannot be believed, and thin data
are *shrunk* to what is assumed. Every figure that is assumed stands in `assumptions.json` with its source; the model of
materials and its sources are told in `fit.py`.

Days are handed in, nothing is drawn at random: the same entries give the same answer, in whatever order they come.
"""

from quotes.labour.learning.learning_json import learning_document
from quotes.labour.learning.material_use import (
    MaterialFactor,
    MaterialUse,
    PiecesSpoilt,
    SpoilageShare,
    material_factors,
    spoilage_shares,
)
from quotes.labour.learning.observations import SetAside
from quotes.labour.learning.proposals import Proposal, proposals
from quotes.labour.learning.ranges import learnt_range
from quotes.labour.learning.use_changes import UseChange, use_changes

__all__ = [
    "MaterialFactor",
    "MaterialUse",
    "PiecesSpoilt",
    "Proposal",
    "SetAside",
    "SpoilageShare",
    "UseChange",
    "learning_document",
    "learnt_range",
    "material_factors",
    "proposals",
    "spoilage_shares",
    "use_changes",
]
