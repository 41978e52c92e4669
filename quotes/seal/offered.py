"""What an offer names beside its figures: who offers, in which language, on which paper, and what each material is called."""

from dataclasses import dataclass
from datetime import date

from inventory.ground.colours import NEUTRAL_TONE
from quotes.seal.worn import WornGarment

__all__ = ["Offer", "OfferedMaterial", "Offerer"]


@dataclass(frozen=True, slots=True, kw_only=True)
class OfferedMaterial:
    """A material of the offer as the client reads it: its name, its colour in the maker's words.

    `tone` is what it is drawn in, as `#rrggbb`; `swatch` the digest of a picture of it, empty for none.
    """

    code: str
    name: str
    colour: str
    tone: str = NEUTRAL_TONE
    swatch: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Offerer:
    """Who offers, beside the letterhead; empty where the workroom has not said."""

    legal_name: str = ""
    email: str = ""
    phone: str = ""
    registration_number: str = ""
    tax_number: str = ""
    payment_details: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Offer:
    """How an offer is put to its client.

    Attributes:
        language: ISO 639 code, one of `quotes.languages.catalogue.LANGUAGES`.
        paper: as the typesetter names it: `a4` or `us-letter`.
        promised: the day on which the maker promises it; None for no promise.
        terms: the maker's own terms in that language; empty for the usual ones.
        materials: those of all options, each once.
        logo: digest of the workroom's logo; empty for none.
        worn: each option's garment as it is shown; empty for what was put before offers showed it.
    """

    language: str = "en"
    paper: str = "a4"
    promised: date | None = None
    offerer: Offerer = Offerer()
    terms: str = ""
    materials: tuple[OfferedMaterial, ...] = ()
    logo: str = ""
    worn: tuple[WornGarment, ...] = ()

    def worn_as(self, option: str) -> WornGarment | None:
        """Return an option's garment as it is shown; None where it is not."""
        return next((garment for garment in self.worn if garment.option == option), None)

    def material(self, code: str) -> OfferedMaterial:
        """Return a material by its code; one that the list lacks goes by its code."""
        return next(
            (row for row in self.materials if row.code == code), OfferedMaterial(code=code, name=code, colour="")
        )
