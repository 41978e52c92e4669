"""A copy proved in a process of its own, so that the books under use are never what is looked at."""

import json
import subprocess
import sys

import msgspec
from django.conf import settings

from inventory.ground.findings import refuse
from studio.keeping.proof import Proof

__all__ = ["proved"]


def proved(environment: dict[str, str], *, migrated: bool = False) -> Proof:
    """Return what the database of an environment says when it is opened; first brought up to today where `migrated`.

    Raises:
        Refused: the process that looks failed.
    """
    done = subprocess.run(
        [sys.executable, "-m", "studio.keeping.proof", *(["migrate"] if migrated else [])],
        env={**environment, "DJANGO_SETTINGS_MODULE": "studio.settings"},
        cwd=settings.BASE_DIR,
        capture_output=True,
        text=True,
        errors="replace",
    )
    try:
        return msgspec.convert(json.loads(done.stdout), Proof)
    except ValueError:
        words = (done.stderr.strip().splitlines() or [f"it ended with {done.returncode}"])[-1]
        raise refuse("copy.not-opened", "database", f"The copy cannot be opened: {words.rstrip('.')}.") from None
