"""The list of what is kept for which work."""

from datetime import date
from typing import Any

import django_tables2 as tables

from inventory.ground.wording import day_text
from inventory.models import Reservation

__all__ = ["ReservationTable"]


class ReservationTable(tables.Table):
    """What is kept for which work."""

    reference = tables.Column(verbose_name="Work", linkify=("inventory:reservation", [tables.A("reference")]))
    title = tables.Column(verbose_name="Piece")
    needed_by = tables.DateColumn(verbose_name="Needed by", format="j M Y")
    state = tables.Column(verbose_name="State", order_by=("state", "is_firm"))

    class Meta:
        model = Reservation
        fields = ("reference", "title", "needed_by", "state")

    def __init__(self, data: Any, *, on: date, **kwargs: Any) -> None:
        super().__init__(data, **kwargs)
        self.on = on

    def render_state(self, record: Reservation) -> str:
        """Firm, soft until a day, or over."""
        if record.state != Reservation.State.OPEN:
            return str(record.get_state_display())
        if record.is_firm or record.expires_on is None:
            return "Accepted"
        return f"{'Expired on' if record.expires_on < self.on else 'Quoted, until'} {day_text(record.expires_on)}"
