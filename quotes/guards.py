"""What the database itself refuses: changes to what was sent and to a pattern's kept revisions."""

from inventory.ground.site.triggers import Trigger, any_changed

__all__ = ["TRIGGERS"]

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
)
