"""How the bench writes moments."""

from datetime import datetime

from django.utils import timezone

__all__ = ["moment_text"]


def moment_text(at: datetime) -> str:
    """Return a moment in the workroom's own time: `4 January, 09:05`."""
    local = timezone.localtime(at)
    return f"{local.day} {local:%B, %H:%M}"
