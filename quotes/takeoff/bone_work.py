"""What a bone takes at the bench, and what that costs: the part of labour that the choice among bones turns on."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal

from inventory.ground.bone_forms import BoneForm
from inventory.ground.materials import KINDS, MaterialKind
from quotes.takeoff.drivers import Driver
from quotes.takeoff.takeoff import BoneRun

__all__ = ["BONE_DRIVERS", "BoneWork", "driver_of"]

BONE_DRIVERS = (Driver.CUT_BONE, Driver.TIPPED_BONE, Driver.ROUNDED_BONE, Driver.PRECUT_BONE, Driver.CUT_FLAT)
"""What bones are counted as, each bone as one of them."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BoneWork:
    """Minutes of the operations that bones take, allowance and pace in them, and what a minute costs.

    Attributes:
        minute_cost: wage and overhead, in the currency of the materials; 0 where only materials are to be weighed.
        unit_min: minutes of a bone, by the driver that counts it.
        operation: the operation of each driver; `setup_min` what each operation takes once.
    """

    minute_cost: Decimal = Decimal(0)
    unit_min: Mapping[Driver, float] = field(default_factory=dict)
    operation: Mapping[Driver, str] = field(default_factory=dict)
    setup_min: Mapping[str, float] = field(default_factory=dict)

    def cost_of(self, driver: Driver) -> Decimal:
        """What the minutes of one bone cost."""
        return self.minute_cost * Decimal(repr(self.unit_min.get(driver, 0.0)))

    def setups(self) -> dict[str, Decimal]:
        """What each operation costs once, before the first bone."""
        return {code: self.minute_cost * Decimal(repr(minutes)) for code, minutes in self.setup_min.items()}


def driver_of(run: BoneRun) -> Driver:
    """Return what a bone is counted as in the table of minutes."""
    kind = MaterialKind(run.kind)
    if run.is_cut:
        own = {MaterialKind.SPIRAL: Driver.CUT_BONE, MaterialKind.FLAT: Driver.CUT_FLAT}
        return own.get(kind, Driver.ROUNDED_BONE)
    is_raw = run.drawer_form is BoneForm.CUT and KINDS[kind].is_tipped
    return Driver.TIPPED_BONE if is_raw else Driver.PRECUT_BONE
