"""Orders to suppliers, what a material cost from when on, and the joint order as it was planned."""

from datetime import date
from decimal import Decimal
from uuid import uuid4

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.utils.functional import cached_property

from inventory.models.items import StockItem
from inventory.models.materials import MILLIONTHS, StockMaterial
from inventory.models.suppliers import Offer, Supplier
from inventory.replenish.explained_plan import EXPLAINED_PLAN, ExplainedPlan


class PurchaseOrder(models.Model):
    """An order to one supplier, in the supplier's currency at the rate of the day it was made."""

    class State(models.TextChoices):
        DRAFT = "draft", "Draft"
        PLACED = "placed", "Placed"
        PARTLY = "partly", "Partly received"
        RECEIVED = "received", "Received"
        CANCELLED = "cancelled", "Cancelled"

    number = models.PositiveIntegerField(unique=True)
    supplier = models.ForeignKey(Supplier, models.PROTECT, related_name="orders")
    state = models.CharField(max_length=10, choices=State, default=State.DRAFT)
    currency = models.CharField(max_length=3)
    rate_millionths = models.PositiveBigIntegerField()
    postage_minor = models.PositiveBigIntegerField(default=0)
    # Freight and duty charged so far, in minor units of the studio's currency; borne by the lines by value.
    charged_minor = models.BigIntegerField(default=0)
    made_on = models.DateField()
    placed_on = models.DateField(null=True)
    expected_on = models.DateField()
    # As it was when the order was placed, where another day was written since.
    first_expected_on = models.DateField(null=True)
    received_on = models.DateField(null=True)
    key = models.UUIDField(unique=True, default=uuid4)  # of the form that drafted it: a double click drafts once
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+")
    version = models.PositiveIntegerField(default=1)

    class Meta:
        ordering = ("-number",)
        constraints = (
            models.CheckConstraint(
                name="order_is_dated_once_placed",
                condition=Q(state__in=["draft", "cancelled"]) | Q(placed_on__isnull=False),
            ),
        )

    def __str__(self) -> str:
        return f"Order {self.number} to {self.supplier}"

    @property
    def state_words(self) -> str:
        """Its state in words; cancelled where nothing came, which earlier versions kept as received."""
        is_empty = self.state == self.State.RECEIVED and not any(line.received for line in self.lines.all())
        return str(self.State.CANCELLED.label if is_empty else self.get_state_display())

    @property
    def is_open(self) -> bool:
        """Whether something of it is still expected."""
        return self.state in (self.State.PLACED, self.State.PARTLY)

    def days_late(self, *, on: date) -> int:
        """For how many days an open order should have come already."""
        return max(0, (on - self.expected_on).days) if self.is_open else 0


class OrderNewDay(models.Model):
    """A line of an order's diary: another day was written on which it should come. Written once."""

    order = models.ForeignKey(PurchaseOrder, models.CASCADE, related_name="new_days")
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+")
    was = models.DateField()
    day = models.DateField()
    why = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ("-at", "-id")

    def __str__(self) -> str:
        return f"{self.order} expected on {self.day:%d %b %Y}"


class PurchaseLine(models.Model):
    """Packs of an item. `quantity` is what they hold in base units; `received` is a cache of its lots' receipts."""

    order = models.ForeignKey(PurchaseOrder, models.CASCADE, related_name="lines")
    item = models.ForeignKey(StockItem, models.PROTECT, related_name="purchase_lines")
    offer = models.ForeignKey(Offer, models.SET_NULL, null=True, related_name="+")
    their_code = models.CharField(max_length=60, blank=True)
    packs = models.PositiveIntegerField()
    pack_thousandths = models.PositiveBigIntegerField()
    pack_unit = models.CharField(max_length=3)
    quantity = models.PositiveBigIntegerField()
    price_minor = models.PositiveBigIntegerField()  # of a pack
    wanted_dye_lot = models.CharField(max_length=60, blank=True)
    why = models.CharField(max_length=300, blank=True)
    received = models.BigIntegerField(default=0)
    is_closed = models.BooleanField(default=False)  # nothing more is expected

    class Meta:
        ordering = ("id",)
        constraints = (
            models.CheckConstraint(
                name="purchase_line_is_of_something", condition=Q(packs__gte=1, quantity__gte=1, received__gte=0)
            ),
        )
        indexes = (
            models.Index(fields=("item",), condition=Q(is_closed=False, received__lt=F("quantity")), name="lines_due"),
        )

    def __str__(self) -> str:
        return f"{self.packs} packs of {self.item}"

    @property
    def amount_minor(self) -> int:
        """The price of the line."""
        return self.packs * self.price_minor

    @property
    def outstanding(self) -> int:
        """What is still expected."""
        return 0 if self.is_closed else max(0, self.quantity - self.received)


class PriceRecord(models.Model):
    """What new quotes took for a stock unit of a material, from a day on, and where the price came from."""

    material = models.ForeignKey(StockMaterial, models.CASCADE, related_name="price_records")
    unit_cost_millionths = models.BigIntegerField()
    since = models.DateTimeField()
    source = models.CharField(max_length=120)

    class Meta:
        ordering = ("-since", "-id")

    def __str__(self) -> str:
        return f"{self.material} from {self.since:%d %b %Y}"

    @property
    def unit_cost(self) -> Decimal:
        """What one stock unit cost."""
        return self.unit_cost_millionths / MILLIONTHS


class KeptPlan(models.Model):
    """A joint order that was worked out, with the question that it answers; orders are made from it once."""

    made_at = models.DateTimeField()
    question = models.CharField(max_length=64)  # fingerprint of stock, needs, offers as they were
    document = models.JSONField()  # as EXPLAINED_PLAN writes it
    ordered_at = models.DateTimeField(null=True)
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+")

    class Meta:
        ordering = ("-id",)

    def __str__(self) -> str:
        return f"Plan of {self.made_at:%d %b %Y}"

    @cached_property
    def plan(self) -> ExplainedPlan:
        """The plan as it was worked out, with its reasons."""
        return EXPLAINED_PLAN.read(self.document)
