"""The bench's tables, by subject."""

from studio.models.jobs import ChangeOrder, Fitting, Job, JobNote, JobOperation, JobPhoto, SeamPass
from studio.models.laying import JointLay, JointSearch, JointShare
from studio.models.money import ClosedMonth, Credit, Payment, PieceAccount, ReopenedMonth
from studio.models.planning import CalendarLink, DayOff, LearntChange, LogHabit, PromisedDay, WorkingHours
from studio.models.time import AlsoWorked, DayPresent, TimeEntry

__all__ = [
    "AlsoWorked",
    "CalendarLink",
    "ChangeOrder",
    "ClosedMonth",
    "Credit",
    "DayOff",
    "DayPresent",
    "Fitting",
    "Job",
    "JobNote",
    "JobOperation",
    "JobPhoto",
    "JointLay",
    "JointSearch",
    "JointShare",
    "LearntChange",
    "LogHabit",
    "Payment",
    "PieceAccount",
    "PromisedDay",
    "ReopenedMonth",
    "SeamPass",
    "TimeEntry",
    "WorkingHours",
]
