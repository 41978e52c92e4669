"""Forms that ask about what is unlikely: the question stands at a tick “Yes, it is right”, and nothing is saved before it."""

from collections.abc import Sequence
from typing import Any

from django import forms

from inventory.ground.findings import Finding, doubts_token

__all__ = ["SureForm"]

_FIELD = "sure_of"


class _Tick(forms.CheckboxInput):
    """A tick that sends the text that it stands for."""

    def value_from_datadict(self, data: Any, files: Any, name: str) -> Any:
        return data.get(name, "")

    def format_value(self, value: Any) -> None:
        """What was sent before answered another question."""


class SureForm(forms.Form):
    """A form that can ask. The tick is there once something was asked, and answers that question alone."""

    @property
    def sure_of(self) -> str:
        """The yes that was sent; empty for none."""
        return str(self.data.get(_FIELD, ""))

    def ask(self, doubts: Sequence[Finding], *, words: str = "Yes, it is right") -> None:
        """Ask instead of doing it."""
        # Ticked anew for each question: whoever changed the amounts is asked again.
        tick = _Tick(attrs={"value": doubts_token(doubts)}, check_test=lambda value: False)
        self.fields[_FIELD] = forms.CharField(required=False, label=words, widget=tick)
        for found in doubts:
            self.add_error(_FIELD, f"{found.message} {found.hint}".strip())

    def ask_unless_sure(self, doubts: Sequence[Finding], *, words: str = "Yes, it is right") -> None:
        """Ask what was not answered with yes."""
        if doubts and self.sure_of != doubts_token(doubts):
            self.ask(doubts, words=words)
