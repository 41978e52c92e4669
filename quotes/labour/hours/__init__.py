"""Hours that can be believed: what a log of sittings says of a workroom, though nobody logs as a model would like.

The questions: how long will the next piece take as a whole, and between what does it lie 8 times in 10? What does each
operation take of its estimate? How good were past estimates by what was known then? Where can the log not be trusted?

Words: a *sitting* is one observation of a sum, the minutes of all operations worked in it; sittings that share an
operation are one *block*. An operation that was done and is in no sitting is *missing*: its minutes are lost, or in a
neighbour's block. An *explanation* says which, for the whole log. `fit.py` has the model under one explanation
(`equations.py` its arithmetic), `weighing.py` how they are weighed, `walk.py` how past errors correct what comes next, `judging.py` the judgement.

Minutes are without allowance throughout. Every figure that is assumed stands in `assumptions.json` with its source.
Nothing is drawn at random: the same log gives the same answer, in whatever order its jobs come.
"""

from quotes.labour.hours.assumptions import assumptions
from quotes.labour.hours.findings import NOT_BELIEVED
from quotes.labour.hours.hours_json import hours_document
from quotes.labour.hours.judging import JudgedJob, Judgement
from quotes.labour.hours.learning import Forecast, Hours, OperationFactor, Practice, foretell, learn
from quotes.labour.hours.log import Job, NextJob, Operation, Session
from quotes.labour.hours.log_file import read_log
from quotes.labour.hours.presence import PresentDay

__all__ = [
    "NOT_BELIEVED",
    "Forecast",
    "Hours",
    "Job",
    "JudgedJob",
    "Judgement",
    "NextJob",
    "Operation",
    "OperationFactor",
    "Practice",
    "PresentDay",
    "Session",
    "assumptions",
    "foretell",
    "hours_document",
    "learn",
    "read_log",
]
