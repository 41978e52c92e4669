"""Money of the pieces: payments, credits, finished accounts, closed months."""

from decimal import Decimal

from django.conf import settings
from django.db import models
from django.db.models import Q

from studio.models.jobs import Job
from studio.profit.kept_account import KEPT_ACCOUNT, KeptAccount


class Payment(models.Model):
    """What a client paid, or got back (below zero). A slip stays, and another row reverses it: the same kind, job and
    figures with the opposite sign, and why in its note.
    """

    class What(models.TextChoices):
        DEPOSIT = "deposit", "Deposit"
        INSTALMENT = "instalment", "Instalment"
        BALANCE = "balance", "Balance"
        REFUND = "refund", "Paid back"

    job = models.ForeignKey(Job, models.PROTECT, related_name="payments")
    number = models.PositiveIntegerField(unique=True)  # of the receipt
    what = models.CharField(max_length=10, choices=What)
    amount_minor = models.BigIntegerField()
    fee_minor = models.BigIntegerField(default=0)  # below zero only where a payment with a fee is reversed
    day = models.DateField()
    note = models.CharField(max_length=160, blank=True)
    key = models.UUIDField(unique=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+")
    noted_at = models.DateTimeField(null=True)  # None for those from before it was kept
    reverses = models.OneToOneField("self", models.PROTECT, null=True, related_name="reversed_by")

    class Meta:
        ordering = ("day", "id")
        constraints = (
            models.CheckConstraint(name="payment_is_of_something", condition=~Q(amount_minor=0)),
            models.CheckConstraint(
                name="payment_fee_goes_back_in_reversals_only",
                condition=Q(reverses=None, fee_minor__gte=0) | Q(reverses__isnull=False, fee_minor__lte=0),
            ),
        )

    def __str__(self) -> str:
        return f"Receipt {self.number}"


class Credit(models.Model):
    """A lower price, given after the invoice: net and tax that are not owed any more, and why.

    It is given in the month of its day. A slip stays, and another row takes it back: the same figures below zero.
    """

    job = models.ForeignKey(Job, models.PROTECT, related_name="credits")
    net_minor = models.BigIntegerField()
    tax_minor = models.BigIntegerField()
    why = models.CharField(max_length=160)
    day = models.DateField()
    key = models.UUIDField(unique=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+")
    noted_at = models.DateTimeField()
    reverses = models.OneToOneField("self", models.PROTECT, null=True, related_name="reversed_by")

    class Meta:
        ordering = ("day", "id")
        constraints = (
            models.CheckConstraint(
                name="credit_lowers_and_its_reversal_raises",
                condition=Q(reverses=None, net_minor__gte=0, tax_minor__gte=0)
                | Q(reverses__isnull=False, net_minor__lte=0, tax_minor__lte=0),
            ),
            models.CheckConstraint(name="credit_is_of_something", condition=~Q(net_minor=0) | ~Q(tax_minor=0)),
            models.CheckConstraint(name="credit_has_a_reason", condition=~Q(why="")),
        )

    def __str__(self) -> str:
        return f"Lower price of {self.job}"

    @property
    def amount_minor(self) -> int:
        """With tax."""
        return self.net_minor + self.tax_minor


class PieceAccount(models.Model):
    """What one finished piece earned, worked out on delivery and whenever something of it changes, until its month is
    closed. The figures that lists sort and sum by stand in columns; all of it in `document` (studio.profit.profit_json).
    """

    job = models.OneToOneField(Job, models.PROTECT, related_name="account")
    delivered_on = models.DateField()
    currency = models.CharField(max_length=3)
    net_minor = models.BigIntegerField()
    quoted_profit_minor = models.BigIntegerField()
    actual_profit_minor = models.BigIntegerField()
    labour_minor = models.BigIntegerField()
    per_hour_minor = models.BigIntegerField()
    minutes = models.PositiveIntegerField()
    overhead_minor = models.BigIntegerField()
    style = models.CharField(max_length=120, blank=True)
    construction = models.CharField(max_length=120)
    client_name = models.CharField(max_length=120)
    is_under_floor = models.BooleanField(default=False)
    is_unsure = models.BooleanField(default=False)  # more than a few of its minutes were never logged
    document = models.JSONField()
    frozen_at = models.DateTimeField(null=True)

    class Meta:
        ordering = ("-delivered_on", "-id")
        indexes = (models.Index(fields=("-delivered_on",), name="accounts_by_day"),)

    def __str__(self) -> str:
        return f"Account of {self.job}"

    @property
    def kept(self) -> KeptAccount:
        """The account as it was worked out, with what it was worked out from."""
        return KEPT_ACCOUNT.read(self.document)

    @property
    def margin_share(self) -> Decimal | None:
        """Profit as a share of net, unrounded; None where nothing was invoiced."""
        return Decimal(self.actual_profit_minor) / self.net_minor if self.net_minor > 0 else None


class ClosedMonth(models.Model):
    """A month whose figures stand; what comes to light later goes into the next. The last of them can be opened again."""

    first_day = models.DateField(unique=True)
    closed_at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+")

    class Meta:
        ordering = ("-first_day",)

    def __str__(self) -> str:
        return f"{self.first_day:%B %Y}"


class ReopenedMonth(models.Model):
    """That a closed month was opened again, and why: its row among the closed ones, as it stood, is gone."""

    first_day = models.DateField()
    closed_at = models.DateTimeField()
    closed_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+")
    reopened_at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+")
    why = models.CharField(max_length=160)

    class Meta:
        ordering = ("-reopened_at", "-id")
        constraints = (
            models.UniqueConstraint(name="month_reopened_once_a_closing", fields=("first_day", "closed_at")),
            models.CheckConstraint(name="reopened_month_has_a_reason", condition=~Q(why="")),
        )

    def __str__(self) -> str:
        return f"{self.first_day:%B %Y} opened again"
