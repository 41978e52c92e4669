"""The site's map as tests walk it: every named route of every feature, flat."""

from collections.abc import Iterator

from django.urls import URLPattern, URLResolver, get_resolver

__all__ = ["ROUTES"]


def _routes(entries: list, before: str = "") -> Iterator[tuple[str, str]]:
    for entry in entries:
        if isinstance(entry, URLResolver):
            yield from _routes(entry.url_patterns, before + str(entry.pattern))
        elif isinstance(entry, URLPattern):
            yield before + str(entry.pattern), entry.name


ROUTES = dict(_routes(get_resolver().url_patterns))
"""Route to name, as the features' `urls` say them; no route is said twice."""
