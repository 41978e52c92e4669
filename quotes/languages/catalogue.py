"""Catalogues of what clients read: English is the message itself, other languages stand in a `.po` beside this module."""

import gettext
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from functools import cache
from io import BytesIO
from pathlib import Path

from babel.dates import format_date
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po
from babel.numbers import format_percent

from inventory.ground.wording import money_text

__all__ = ["LANGUAGES", "Catalogue", "catalogue"]

LANGUAGES = {"en": "English", "de": "Deutsch", "fr": "Français"}
"""Languages that a client may be written to in, by ISO 639 code, each by its own name."""

_LOCALES = {"en": "en_GB", "de": "de_DE", "fr": "fr_FR"}


@dataclass(frozen=True, slots=True)
class Catalogue:
    """A language: `translations` holds its messages, `locale` says how it writes amounts and days."""

    language: str
    locale: str
    translations: gettext.NullTranslations

    def text(self, message: str, **facts: object) -> str:
        """Return a message in this language, its named places filled in."""
        return self.translations.gettext(message).format(**facts)

    def count(self, one: str, many: str, number: int, **facts: object) -> str:
        """Return the form of a message that goes with a number; `{number}` in it is that number."""
        return self.translations.ngettext(one, many, number).format(number=number, **facts)

    def money(self, amount: Decimal, currency: str) -> str:
        """Return an amount, already rounded: `€1,030.20`, `1.030,20 €`."""
        return money_text(amount, currency, locale=self.locale)

    def day(self, day: date | None) -> str:
        """Return a day: `4 January 2027`, `4. Januar 2027`; empty for none."""
        return "" if day is None else format_date(day, "long", locale=self.locale)

    def percent(self, share: Decimal) -> str:
        """Return a share with as many decimals as it has: `4.5%`, `4,5 %`."""
        decimals = max(0, -int((share * 100).normalize().as_tuple().exponent))
        pattern = "#,##0" + ("." + "0" * decimals if decimals else "") + ("%" if self.language == "en" else "\u00a0%")
        return format_percent(share, pattern, locale=self.locale)


@cache
def catalogue(language: str) -> Catalogue:
    """Return a language's catalogue. Raises KeyError for one that is not among `LANGUAGES`."""
    locale = _LOCALES[language]
    if language == "en":
        return Catalogue(language, locale, gettext.NullTranslations())
    with Path(__file__).with_name(f"{language}.po").open("rb") as file:
        messages = read_po(file, locale=locale, abort_invalid=True)
    compiled = BytesIO()
    write_mo(compiled, messages)
    compiled.seek(0)
    return Catalogue(language, locale, gettext.GNUTranslations(compiled))
