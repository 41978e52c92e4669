"""Learning: standard minutes corrected by what was logged, and how far an estimate may be wrong.

The questions: which of the table's minutes does this workroom not keep, and by how much? How long will the next piece
take, and between what does it lie 8 times in 10? Would learnt minutes have foretold past jobs better than the table?

Words: an *entry* is what was logged for one operation of one job; its *factor* is logged ÷ table minutes; the *pace* is
the workroom's factor over all operations. An entry is *set aside* where a timer was forgotten or never started. Thin
data are *shrunk*: an operation leans on the pace, and the pace on the table, until entries say otherwise. Every figure
that is assumed stands in `assumptions.json` with its source; the model and its sources are told in `fit.py`.

Days are handed in, nothing is drawn at random: the same entries give the same answer, in whatever order they come.
"""

from quotes.labour.learning.backtest import Backtest, BacktestRow, backtest
from quotes.labour.learning.calibrate import Calibration, OperationFactor, Prediction, calibrate, predict
from quotes.labour.learning.learning_json import learning_document
from quotes.labour.learning.material_use import (
    MaterialFactor,
    MaterialUse,
    PiecesSpoilt,
    SpoilageShare,
    material_factors,
    spoilage_shares,
)
from quotes.labour.learning.observations import Observation, SetAside
from quotes.labour.learning.proposals import Proposal, proposals
from quotes.labour.learning.ranges import RangeChange, range_change
from quotes.labour.learning.use_changes import UseChange, use_changes

__all__ = [
    "Backtest",
    "BacktestRow",
    "Calibration",
    "MaterialFactor",
    "MaterialUse",
    "Observation",
    "OperationFactor",
    "PiecesSpoilt",
    "Prediction",
    "Proposal",
    "RangeChange",
    "SetAside",
    "SpoilageShare",
    "UseChange",
    "backtest",
    "calibrate",
    "learning_document",
    "material_factors",
    "predict",
    "proposals",
    "range_change",
    "spoilage_shares",
    "use_changes",
]
