"""A log's file to jobs, strictly: every fault with its path, nothing guessed. The form stands in `log.schema.json`."""

import json
from collections.abc import Sequence
from datetime import date
from functools import cache
from pathlib import Path
from typing import Any

from inventory.ground.codec import Document
from inventory.ground.findings import Finding, Refused, stop
from inventory.ground.reading import calendar_day
from inventory.ground.schema import schema_findings
from quotes.labour.hours.log import Job, NextJob, Operation, Session

__all__ = ["read_log"]

NO_DAY = date(2000, 1, 1)
"""Stands for a day that cannot be read until its fault is raised."""


def read_log(document: object) -> tuple[tuple[Job, ...], tuple[NextJob, ...]]:
    """Return the jobs of a log and those to come.

    Raises:
        Refused: every key, number, date, name or code that does not fit, with its path.
    """
    faults = schema_findings(document, _schema(), code="log")
    if faults:
        raise Refused(faults)
    assert isinstance(document, dict)
    reader = _Reader()
    jobs = tuple(reader.job(row, f"jobs[{at}]") for at, row in enumerate(document["jobs"]))
    nexts = tuple(reader.next_job(row, f"next[{at}]") for at, row in enumerate(document.get("next", ())))
    reader.once([row.name for row in jobs], "jobs", "job", "job")
    reader.once([row.name for row in nexts], "next", "job", "job")
    if reader.faults:
        raise Refused(reader.faults)
    return jobs, nexts


class _Reader:
    """Collects faults while it reads."""

    def __init__(self) -> None:
        self.faults: list[Finding] = []

    def job(self, row: Document, place: str) -> Job:
        begun, delivered = (self._day(row[key], f"{place}.{key}") for key in ("begun", "delivered"))
        if begun > delivered:
            self._fault("log.order", f"{place}.delivered", f"It is delivered on {delivered}, before it is begun.")
        codes = [each["code"] for each in row["operations"]]
        self.once(codes, f"{place}.operations", "code", "operation")
        return Job(
            name=row["job"],
            begun=begun,
            delivered=delivered,
            operations=tuple(
                Operation(code=each["code"], estimated_min=float(each["estimated_min"]), done=each["done"])
                for each in row["operations"]
            ),
            sessions=tuple(
                self._session(each, f"{place}.sessions[{at}]", set(codes)) for at, each in enumerate(row["sessions"])
            ),
        )

    def next_job(self, row: Document, place: str) -> NextJob:
        self.once([each["code"] for each in row["operations"]], f"{place}.operations", "code", "operation")
        job = NextJob(
            name=row["job"],
            estimates={each["code"]: float(each["estimated_min"]) for each in row["operations"]},
            maker=row.get("maker", ""),
        )
        if not job.default_min > 0:
            self._fault("log.nothing-to-do", f"{place}.operations", "Its estimates are all 0: there is nothing to do.")
        return job

    def once(self, names: Sequence[str], place: str, key: str, what: str) -> None:
        """Note each name that stood there before."""
        seen: set[str] = set()
        for at, name in enumerate(names):
            if name in seen:
                self._fault("log.twice", f"{place}[{at}].{key}", f"The {what} {name!r} is there twice.", "Keep one.")
            seen.add(name)

    def _session(self, row: Document, place: str, codes: set[str]) -> Session:
        for at, code in enumerate(row["operations"]):
            if code not in codes:
                self._fault(
                    "log.unknown-code",
                    f"{place}.operations[{at}]",
                    f"The job has no operation {code!r}.",
                    "Add it to the job's operations, with its estimate.",
                )
            elif code in row["operations"][:at]:
                self._fault("log.twice", f"{place}.operations[{at}]", f"The operation {code!r} is there twice.")
        return Session(
            day=self._day(row["date"], f"{place}.date"),
            minutes=float(row["minutes"]),
            operations=tuple(row["operations"]),
            maker=row.get("maker", ""),
        )

    def _day(self, text: str, place: str) -> date:
        try:
            day = calendar_day(text, place, "log.date")
        except Refused as refusal:
            self.faults += refusal.findings
            return NO_DAY
        if not 1970 <= day.year <= 2999:
            self._fault("log.date", place, f"{text} is outside the years 1970 to 2999.")
            return NO_DAY
        return day

    def _fault(self, code: str, place: str, message: str, hint: str = "") -> None:
        self.faults.append(stop(code, place, message, hint))


@cache
def _schema() -> dict[str, Any]:
    schema: dict[str, Any] = json.loads(Path(__file__).with_name("log.schema.json").read_text(encoding="utf-8"))
    return schema
