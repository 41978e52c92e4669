"""A hand at the site in a real browser: it presses, writes and chooses as people do, counts its presses, and keeps every
fault that the browser tells of.

A press is a click on a button, a link or a choice; typing is none (the product's own way of counting).
"""

import re
from collections.abc import Iterator
from contextlib import contextmanager
from urllib.parse import urlsplit

from playwright.sync_api import Browser, ConsoleMessage, Locator, Page, Request, Response, expect

__all__ = ["PHONE", "Hand"]

PHONE = {
    "viewport": {"width": 390, "height": 844},
    "device_scale_factor": 3,
    "is_mobile": True,
    "has_touch": True,
}
"""A phone of common size, as a browser context is told of it."""

# What is refused by the policy of the page is told of by an event, whatever else the browser writes of it.
_TELL_OF_POLICY = """document.addEventListener("securitypolicyviolation", (event) =>
  console.error(`policy ${event.violatedDirective}: ${event.blockedURI}`))"""

_WATCH_FOR_ANSWER = """() => {
  window.answerStands = new Promise((stands) => document.addEventListener("htmx:afterSettle", () => stands(), { once: true }));
}"""
_MOST_TABS = 120


class Hand:
    """One person at one tab. `presses` counts; `faults` are one line each: errors, failures, requests that leave the host.

    >>> hand.open("/quotes/"); hand.press("link", "Start a quote")  # doctest: +SKIP
    >>> hand.write("The piece", "Underbust"); hand.choose("Front", "Busk")  # doctest: +SKIP
    """

    def __init__(self, page: Page, house: str, faults: list[str]) -> None:
        self.page, self.house, self.faults = page, house, faults
        self.presses = 0
        self._refusals: list[int] = []
        # Asked once: a page that is being left answers nothing.
        self._touches: bool = page.evaluate("navigator.maxTouchPoints > 0")
        page.on("console", self._on_console)
        page.on("pageerror", lambda error: self.faults.append(f"error in a script: {error}"))
        page.on("request", self._on_request)
        page.on("requestfailed", self._on_failed)
        page.on("response", self._on_response)

    @classmethod
    def at(cls, browser: Browser, house: str, faults: list[str], device: dict[str, object] | None = None) -> "Hand":
        """A hand in a fresh context: no session, no cookies; `device` as a context is told of it."""
        context = browser.new_context(base_url=house, locale="en-GB", **(device or {}))
        context.set_default_timeout(15_000)
        context.add_init_script(_TELL_OF_POLICY)
        return cls(context.new_page(), house, faults)

    def tab(self) -> "Hand":
        """Another tab of the same person: the same session, presses of its own."""
        return Hand(self.page.context.new_page(), self.house, self.faults)

    def open(self, address: str) -> None:
        """Go to an address of the site; counts as no press."""
        self.page.goto(address)

    def come_in(self, name: str = "maker", password: str = "pins and chalk") -> None:
        """Log in by the form: one press."""
        self.open("/login/")
        self.write("Username", name)
        self.write("Password", password)
        self.press("button", "Come in")
        expect(self.page.get_by_role("heading", level=1, name="Today")).to_be_visible()

    def press(self, role: str, name: str, *, within: Locator | None = None) -> None:
        """Press what has this role and this whole name; on a phone by touch."""
        self._touch((within or self.page).get_by_role(role, name=name, exact=True))

    def write(self, label: str, text: str) -> None:
        """Write into the field of this label, in place of what stands there."""
        self.page.get_by_label(re.compile(rf"^{re.escape(label)}(\s+if any)?$")).fill(text)

    def choose(self, label: str, option: str) -> None:
        """Choose the one option whose words hold `option`, in a list or among radio buttons: one press."""
        field = self.field(label)
        choices = field.locator("select")
        if choices.count():
            words = choices.locator("option").all_inner_texts()
            found = [word for word in words if word.strip() == option] or [word for word in words if option in word]
            assert len(found) == 1, f"{label}: {option!r} fits {found} of {words}"
            choices.select_option(label=found[0])
            self.presses += 1
        else:
            self._touch(field.get_by_role("radio", name=option))

    def field(self, label: str) -> Locator:
        """The field of this label with its choices and its errors."""
        words = re.compile(rf"^\s*{re.escape(label)}(\s+if any)?\s*$")
        return self.page.locator(".field", has=self.page.locator("label, legend", has_text=words))

    def sees(self, text: str | re.Pattern[str]) -> None:
        """Wait until the page says `text`, somewhere visible."""
        expect(self.page.get_by_text(text).first).to_be_visible()

    def sees_not(self, text: str | re.Pattern[str]) -> None:
        """The page does not say `text`."""
        expect(self.page.get_by_text(text)).to_have_count(0)

    @contextmanager
    def refused(self, status: int) -> Iterator[None]:
        """What is done within is answered with this status, which is no fault then."""
        self._refusals.append(status)
        with self.page.expect_response(lambda answer: answer.status == status):
            yield
        self._refusals.remove(status)

    @contextmanager
    def settled(self) -> Iterator[None]:
        """Wait until the answer to what is done within stands in the page in place of a part of it."""
        self.page.evaluate(_WATCH_FOR_ANSWER)
        yield
        self.page.evaluate("() => window.answerStands")

    def tab_to(self, found: Locator) -> None:
        """By the keyboard alone: press Tab until this has the focus, which must be seen there."""
        expect(found).to_be_visible()
        for _ in range(_MOST_TABS):
            self.page.keyboard.press("Tab")
            if found.evaluate("element => element === document.activeElement"):
                assert found.evaluate(_SHOWS_FOCUS), f"The focus is not seen: {found}"
                return
        raise AssertionError(f"Tab does not reach {found}")

    def _touch(self, found: Locator) -> None:
        if self._touches:
            found.tap()
        else:
            found.click()
        self.presses += 1

    def _on_console(self, message: ConsoleMessage) -> None:
        # A status is judged where the response is.
        if message.type == "error" and not message.text.startswith("Failed to load resource"):
            self.faults.append(f"error in the console of {self.page.url}: {message.text}")

    def _on_request(self, request: Request) -> None:
        asked = urlsplit(request.url)
        if asked.scheme not in ("data", "blob", "about") and asked.netloc != urlsplit(self.house).netloc:
            self.faults.append(f"a request leaves the host: {request.url}")

    def _on_failed(self, request: Request) -> None:
        # Who goes on before a page has wholly come cuts its requests off, and a download opens no page: no faults.
        if request.failure != "net::ERR_ABORTED":
            self.faults.append(f"a request failed: {request.method} {request.url}: {request.failure}")

    def _on_response(self, response: Response) -> None:
        if response.status >= 400 and response.status not in self._refusals:
            self.faults.append(f"{response.status} for {response.request.method} {response.url}")


# The ring of the focus is drawn as an outline or as a shadow.
_SHOWS_FOCUS = """element => {
  const style = getComputedStyle(element)
  const isOutlined = style.outlineStyle !== "none" && parseFloat(style.outlineWidth) >= 1
  return element.matches(":focus-visible") && (isOutlined || style.boxShadow !== "none")
}"""
