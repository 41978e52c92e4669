"""Quotes and their revisions. A revision that left the draft state never changes again."""

from datetime import date
from uuid import uuid4

from django.conf import settings
from django.db import models
from django.db.models import Q

from quotes.models.patterns import PatternRevision
from quotes.seal.sealed import SealedOption
from quotes.seal.snapshot import SNAPSHOT, Snapshot


class Quote(models.Model):
    """What one client asked for, through all its revisions."""

    number = models.PositiveIntegerField(unique=True)
    # Of the form that started it, so that a form sent twice starts one quote.
    key = models.UUIDField(unique=True, default=uuid4, editable=False)
    client = models.ForeignKey("quotes.Client", models.PROTECT, related_name="quotes")
    title = models.CharField(max_length=160)
    due = models.DateField(null=True, blank=True)
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ("-number",)

    def __str__(self) -> str:
        return f"Quote {self.number}: {self.title}"


class RevisionQuerySet(models.QuerySet["QuoteRevision"]):
    def latest_of_each(self) -> "RevisionQuerySet":
        """The last revision of each quote."""
        last = self.filter(quote=models.OuterRef("quote")).order_by("-number").values("pk")[:1]
        return self.filter(pk=models.Subquery(last))

    def standing(self, state: str, *, on: date) -> "RevisionQuerySet":
        """Those that stand in `state` on a day; a sent one past its validity counts as expired."""
        State = QuoteRevision.State
        if state == State.EXPIRED:
            return self.filter(state=State.SENT, valid_until__lt=on)
        if state == State.SENT:
            return self.filter(state=State.SENT, valid_until__gte=on)
        return self.filter(state=state)


class QuoteRevision(models.Model):
    """One state of a quote.

    `inputs` is a commission as its file says it (options, extras, rates; the pattern stands in its own revision) and
    `figures` the snapshot that it came to, worked out when the inputs change and never on reading. Sending seals the
    snapshot: all documents are made from it alone, and the database refuses to change it (quotes.guards).
    """

    class State(models.TextChoices):
        DRAFT = "draft", "Draft"
        SENT = "sent", "Sent"
        ACCEPTED = "accepted", "Accepted"
        DECLINED = "declined", "Declined"
        EXPIRED = "expired", "Expired"
        REPLACED = "replaced", "Replaced"

    quote = models.ForeignKey(Quote, models.PROTECT, related_name="revisions")
    number = models.PositiveIntegerField()
    # Expired is never stored: a sent revision past `valid_until` has expired (see `standing`).
    state = models.CharField(max_length=10, choices=State, default=State.DRAFT)
    pattern = models.ForeignKey(PatternRevision, models.PROTECT, related_name="+")
    inputs = models.JSONField()
    figures = models.JSONField()
    schema_version = models.PositiveSmallIntegerField()
    fingerprint = models.CharField(max_length=64, blank=True)
    sent_at = models.DateTimeField(null=True, blank=True)
    valid_until = models.DateField(null=True, blank=True)
    # The day that the maker promised when it was sent; what the client wishes stays `Quote.due`.
    promised = models.DateField(null=True, blank=True)
    decided_at = models.DateTimeField(null=True, blank=True)
    accepted_option = models.CharField(max_length=80, blank=True)
    # What the client saw, for the books to sum: the accepted option's price, else the first one's, in minor units.
    currency = models.CharField(max_length=3)
    price_minor = models.BigIntegerField()
    # Counts the changes of a draft: a form that was opened before another change is told so.
    version = models.PositiveIntegerField(default=1)
    changed_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+")

    objects = RevisionQuerySet.as_manager()

    class Meta:
        ordering = ("quote", "-number")
        constraints = (
            models.UniqueConstraint(fields=("quote", "number"), name="quote_revision_number_is_unique"),
            models.UniqueConstraint(fields=("quote",), condition=Q(state="draft"), name="quote_has_one_draft_at_most"),
            models.CheckConstraint(
                name="quote_sent_revision_is_dated_and_sealed",
                condition=Q(state="draft", sent_at__isnull=True, fingerprint="")
                | (~Q(state="draft") & Q(sent_at__isnull=False, valid_until__isnull=False) & ~Q(fingerprint="")),
            ),
            models.CheckConstraint(
                name="quote_acceptance_names_its_option",
                condition=Q(state="accepted") & ~Q(accepted_option="") | ~Q(state="accepted") & Q(accepted_option=""),
            ),
        )

    def __str__(self) -> str:
        return f"{self.quote}, revision {self.number}"

    @property
    def snapshot(self) -> Snapshot:
        """The figures, typed, in the form of today; read once for as long as they stand."""
        read: tuple[object, Snapshot] | None = self.__dict__.get("_read_figures")
        if read is None or read[0] is not self.figures:
            read = self.__dict__["_read_figures"] = (self.figures, SNAPSHOT.read(self.figures))
        return read[1]

    @property
    def accepted(self) -> SealedOption:
        """The option that was accepted. Raises KeyError while none is."""
        return self.snapshot.quotation.option(self.accepted_option)

    def standing(self, *, on: date) -> "QuoteRevision.State":
        """The state on a day: what is stored, or expired."""
        state = QuoteRevision.State(self.state)
        if state is self.State.SENT and self.valid_until is not None and self.valid_until < on:
            return self.State.EXPIRED
        return state
