"""Private links to sealed offers, and what clients did there."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from quotes.models.quotes import QuoteRevision


class OfferLink(models.Model):
    """A way for one client to read one sealed revision until a moment, unless it is revoked before."""

    revision = models.ForeignKey(QuoteRevision, models.PROTECT, related_name="offer_links")
    # What the address carries, signed (quotes.offers.links).
    nonce = models.CharField(max_length=64, unique=True)
    expires_at = models.DateTimeField()
    revoked_at = models.DateTimeField(null=True)
    made_at = models.DateTimeField()
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, related_name="+")

    class Meta:
        ordering = ("-made_at", "-id")

    def __str__(self) -> str:
        return f"Link to {self.revision}"


class OfferAct(models.Model):
    """What a client did at a link: asked, or accepted an option in their name. The maker's answer stands beside it."""

    class Kind(models.TextChoices):
        ASKED = "asked", "Asked"
        ACCEPTED = "accepted", "Accepted"

    link = models.ForeignKey(OfferLink, models.PROTECT, related_name="acts")
    kind = models.CharField(max_length=10, choices=Kind)
    name = models.CharField(max_length=120, blank=True)
    option = models.CharField(max_length=80, blank=True)
    words = models.TextField(blank=True)
    at = models.DateTimeField()
    key = models.UUIDField(unique=True)
    answer = models.TextField(blank=True)
    answered_at = models.DateTimeField(null=True)

    class Meta:
        ordering = ("at", "id")
        constraints = (
            models.CheckConstraint(
                name="offer_act_says_what_was_done",
                condition=Q(kind="asked") & ~Q(words="") | Q(kind="accepted") & ~Q(name="") & ~Q(option=""),
            ),
        )

    def __str__(self) -> str:
        return f"{self.get_kind_display()} at {self.link}"
