"""What the database itself refuses: changes to what was sent, to what clients did there, and to a pattern's kept revisions."""

from inventory.ground.site.triggers import Trigger, any_changed

__all__ = ["ERASED", "TRIGGERS"]

_SEALED = (
    "figures",
    "inputs",
    "fingerprint",
    "schema_version",
    "number",
    "quote_id",
    "pattern_id",
    "sent_at",
    "valid_until",
    "promised",
)

_DONE = ("link_id", "kind", "option", "at", "key")

ERASED = "Erased client"
"""What stands in place of a person who was erased."""

# In place of what a client wrote themselves nothing else may come.
_REWRITTEN = " OR ".join(
    f"(NEW.{column} IS DISTINCT FROM OLD.{column} AND NEW.{column} NOT IN ('', '{ERASED}'))"
    for column in ("name", "words")
)

TRIGGERS = (
    Trigger(
        name="quote_sent_revision_never_changes",
        table="quotes_quoterevision",
        event="UPDATE",
        when=f"OLD.state <> 'draft' AND (NEW.state = 'draft' OR {any_changed(_SEALED)})",
        message="A sent revision never changes.",
    ),
    Trigger(
        name="quote_sent_revision_is_kept",
        table="quotes_quoterevision",
        event="DELETE",
        when="OLD.state <> 'draft'",
        message="A sent revision is kept.",
    ),
    Trigger(
        name="pattern_revision_never_changes",
        table="quotes_patternrevision",
        event="UPDATE",
        when="NEW.document IS DISTINCT FROM OLD.document OR NEW.number <> OLD.number",
        message="A revision of a pattern never changes.",
    ),
    Trigger(
        name="offer_act_never_changes",
        table="quotes_offeract",
        event="UPDATE",
        when=f"{any_changed(_DONE)} OR {_REWRITTEN}",
        message="What a client did at an offer never changes.",
    ),
    Trigger(
        name="offer_act_is_kept",
        table="quotes_offeract",
        event="DELETE",
        when="OLD.id IS NOT NULL",
        message="What a client did at an offer is kept.",
    ),
)
