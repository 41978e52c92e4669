"""Harmed files for one reader, led by what of the code they reach: `python tests/soak/fuzz.py READER RUNS REPORT`.

Writes a report as JSON: how many files were read, refused in words, or stopped at a limit, the slowest in seconds of the
processor, and the first file of each fault with its traceback. The engine is Atheris, which counts the branches that a file
reaches and goes on from those that reach new ones; what harms a file is `mutations.py`.
"""

import base64
import contextlib
import io
import json
import random
import resource
import signal
import sys
import time
import traceback
from collections.abc import Callable
from pathlib import Path

PROJECT = Path(__file__).parents[2]
MOST_BYTES = 400_000
MOST_FAULTS = 40


class OverTime(BaseException):
    """The processor time of one file is used up; no reader catches it."""


class Fuzz:
    """Reads files with one reader and counts what becomes of them."""

    def __init__(self, read: Callable[[bytes], None], refusal: type[Exception], runs: int, report: Path) -> None:
        self.read, self.refusal, self.runs, self.report = read, refusal, runs, report
        self.cpu_seconds = 0.0
        self.counts = {"files": 0, "read": 0, "refused": 0, "over_time": 0, "over_memory": 0, "fault": 0}
        self.slowest = 0.0
        self.faults: dict[str, dict[str, str]] = {}

    def one(self, data: bytes) -> None:
        """Read one file; what is no refusal in words is kept as a fault."""
        if self.counts["files"] >= self.runs:
            return
        self.counts["files"] += 1
        begun = time.process_time()
        signal.setitimer(signal.ITIMER_VIRTUAL, self.cpu_seconds)
        try:
            with contextlib.redirect_stdout(io.StringIO()):
                self.read(data)
            became = "read"
        except self.refusal as refusal:
            became = "refused"
            self._must_be_sayable(refusal, data)
        except RecursionError:
            became = "refused"
        except OverTime:
            became = "over_time"
        except MemoryError:
            became = "over_memory"
        except Exception:  # noqa: BLE001  (all that is no refusal is what is looked for)
            became = "fault"
            self._note(data, traceback.format_exc())
        finally:
            signal.setitimer(signal.ITIMER_VIRTUAL, 0)
        self.counts[became] += 1
        self.slowest = max(self.slowest, time.process_time() - begun)
        if self.counts["files"] == self.runs or not self.counts["files"] % 1000:
            self._write()

    def _write(self) -> None:
        peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1000
        told = {**self.counts, "slowest_cpu_seconds": round(self.slowest, 2), "peak_mb": peak}
        self.report.write_text(json.dumps({**told, "faults": list(self.faults.values())}), encoding="utf-8")

    def _must_be_sayable(self, refusal: Exception, data: bytes) -> None:
        for found in getattr(refusal, "findings", ()):
            if not (found.where and found.message.strip().endswith((".", "!"))):
                self._note(data, f"no sentence: {found!r}")
            try:
                f"{found.where}: {found.message} {found.hint}".encode()
            except UnicodeEncodeError:
                self._note(data, f"no text: {found!r}")

    def _note(self, data: bytes, told: str) -> None:
        places = [line.strip() for line in told.splitlines() if line.strip().startswith("File ")]
        key = " ".join(places[-2:]) + told.splitlines()[-1].split(":")[0] if places else told[:90]
        if key not in self.faults and len(self.faults) < MOST_FAULTS:
            self.faults[key] = {"told": told[-1500:], "file": base64.b64encode(data).decode()}


def _stop(number: int, frame: object) -> None:
    raise OverTime


def main() -> None:
    """Fuzz one reader until its files are used up; ends the process."""
    import atheris

    sys.path[:0] = [str(PROJECT), str(PROJECT / "tests"), str(PROJECT / "tests" / "soak")]
    with atheris.instrument_imports(include=["inventory", "quotes", "svgelements", "ezdxf"]):
        from mutations import harmed
        from readers_of_files import READERS_OF_FILES

        from inventory.ground.confined import MOST_MEMORY_BYTES
        from inventory.ground.defaults import shelf_defaults
        from inventory.ground.findings import Refused
    reader, runs, report = READERS_OF_FILES[sys.argv[1]], int(sys.argv[2]), Path(sys.argv[3])
    fuzz = Fuzz(reader.read, Refused, runs, report)
    fuzz.cpu_seconds = shelf_defaults().reading.cpu_seconds
    signal.signal(signal.SIGVTALRM, _stop)
    luck = random.Random(sys.argv[1])
    corpus = report.with_suffix(".files")
    corpus.mkdir(exist_ok=True)
    for at, seed in enumerate(reader.seeds):
        (corpus / f"seed-{at}").write_bytes(seed)

    def mutate(data: bytes, most: int, seed: int) -> bytes:
        goes_on = len(data) > 20 and luck.random() < 0.5
        return harmed(data if goes_on else luck.choice(reader.seeds), seed, most)

    options = [f"-atheris_runs={runs + 100}", "-seed=20", f"-max_len={MOST_BYTES}", "-timeout=120", "-len_control=0"]
    atheris.Setup(
        [sys.argv[0], str(corpus), *options, "-rss_limit_mb=0", "-verbosity=0", f"-artifact_prefix={corpus}/"],
        fuzz.one,
        custom_mutator=mutate,
    )
    most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1000 + MOST_MEMORY_BYTES
    resource.setrlimit(resource.RLIMIT_DATA, (most, most))
    atheris.Fuzz()


if __name__ == "__main__":
    main()
