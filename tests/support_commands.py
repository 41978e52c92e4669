"""Running the commands as a script would: arguments in, exit code and JSON document out."""

import json
from io import StringIO
from pathlib import Path
from typing import Any

from django.core.management import call_command

__all__ = ["run", "stop_codes"]


def run(name: str, *arguments: str | Path) -> tuple[int, dict[str, Any]]:
    """Run a command with `--json` and return its exit code and what stood on standard output."""
    out = StringIO()
    exit_code = 0
    try:
        call_command(name, *map(str, arguments), "--json", stdout=out)
    except SystemExit as leaving:
        exit_code = int(leaving.code or 0)
    document: dict[str, Any] = json.loads(out.getvalue())
    return exit_code, document


def stop_codes(document: dict[str, Any]) -> set[str]:
    """The codes of a refusal's stops; every finding must have all its keys and one clear sentence."""
    for found in document["findings"]:
        assert set(found) == {"code", "severity", "where", "message", "hint"}
        assert found["message"].endswith((".", "?", "!"))
        assert found["where"]
        assert "Traceback" not in found["message"]
        assert "Error" not in found["message"]
    return {found["code"] for found in document["findings"] if found["severity"] == "stop"}
