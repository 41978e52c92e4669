"""The site's map as tests walk it: every named route of every feature, flat."""

from collections.abc import Callable, Iterator
from typing import Any

from django.urls import URLPattern, URLResolver, get_resolver

__all__ = ["POSTED", "ROUTES"]


def _routes(entries: list, before: str = "") -> Iterator[tuple[str, URLPattern]]:
    for entry in entries:
        if isinstance(entry, URLResolver):
            yield from _routes(entry.url_patterns, before + str(entry.pattern))
        elif isinstance(entry, URLPattern):
            yield before + str(entry.pattern), entry


def _takes_posts(view: Callable[..., Any]) -> bool:
    """Whether a view answers a form that is posted: by what limits its methods, else by what it reads."""
    if (of_class := getattr(view, "view_class", None)) is not None:
        return hasattr(of_class, "post")
    while True:
        free = dict(zip(view.__code__.co_freevars, view.__closure__ or (), strict=True))
        if "request_method_list" in free:
            return "POST" in free["request_method_list"].cell_contents
        if not hasattr(view, "__wrapped__"):
            return bool({"POST", "FILES", "method"} & set(view.__code__.co_names))
        view = view.__wrapped__


_ENTRIES = dict(_routes(get_resolver().url_patterns))
ROUTES = {route: entry.name for route, entry in _ENTRIES.items()}
"""Route to name, as the features' `urls` say them; no route is said twice."""
POSTED = frozenset(entry.name for entry in _ENTRIES.values() if _takes_posts(entry.callback))
"""The names of the routes that take a posted form."""
