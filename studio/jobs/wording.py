"""How the bench writes moments."""

from datetime import datetime

from django.utils import timezone

__all__ = ["moment_text"]


def moment_text(at: datetime) -> str:
    """Return a moment in the workroom's own time: `4 January, 09:05`; of another year with it: `4 January 2025, 09:05`."""
    local = timezone.localtime(at)
    year = "" if local.year == timezone.localdate().year else f" {local.year}"
    return f"{local.day} {local:%B}{year}, {local:%H:%M}"
