"""The forms of a page as a browser would send them, by the HTML standard's rules for successful controls."""

from html.parser import HTMLParser

__all__ = ["PageForms", "SentForm"]


class SentForm:
    """Where a form goes and what it sends when it is left as it is shown."""

    def __init__(self, action: str) -> None:
        self.action = action
        self.values: dict[str, list[str]] = {}
        self.names: set[str] = set()

    def with_values(self, said: dict[str, object]) -> dict[str, object]:
        """What is sent when some fields are filled in."""
        return {**self.values, **said}


class PageForms(HTMLParser):
    """All forms of a page that post."""

    def __init__(self, html: str, address: str) -> None:
        super().__init__()
        self.address = address
        self.forms: list[SentForm] = []
        self._form: SentForm | None = None
        self._select: tuple[str, list[str], list[str]] | None = None
        self._textarea: str | None = None
        self.feed(html)

    def that_has(self, name: str) -> SentForm:
        """The form with a control of that name (or `name=value`), or with an action that ends so."""
        found = next((form for form in self.forms if name in form.names or form.action.endswith(name)), None)
        assert found is not None, f"{self.address} has no form with {name}"
        return found

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        found = {name: value or "" for name, value in attrs}
        if tag == "form" and found.get("method", "").lower() == "post":
            self._form = SentForm(found.get("action") or self.address)
            self.forms.append(self._form)
        form, name = self._form, found.get("name", "")
        if form is None:
            return
        if name:
            form.names |= {name, f"{name}={found.get('value', '')}"}
        is_tick = found.get("type") in ("checkbox", "radio")
        if (
            tag == "input"
            and name
            and found.get("type") not in ("file", "submit")
            and (not is_tick or "checked" in found)
        ):
            form.values.setdefault(name, []).append(found.get("value", "on" if is_tick else ""))
        elif tag == "select":
            self._select = (name, [], [])
        elif tag == "option" and self._select is not None:
            self._select[1].append(found.get("value", ""))
            if "selected" in found:
                self._select[2].append(found.get("value", ""))
        elif tag == "textarea":
            self._textarea = name
            form.values[name] = [""]

    def handle_data(self, data: str) -> None:
        if self._textarea and self._form is not None:
            self._form.values[self._textarea][0] += data.removeprefix("\n")

    def handle_endtag(self, tag: str) -> None:
        if tag == "form":
            self._form = None
        elif tag == "textarea":
            self._textarea = None
        elif tag == "select" and self._select is not None and self._form is not None:
            name, choices, chosen = self._select
            if name and (chosen or choices):
                self._form.values[name] = chosen or choices[:1]
            self._select = None
