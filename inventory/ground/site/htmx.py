"""A request as the middleware of htmx hands it on."""

from django.http import HttpRequest
from django_htmx.middleware import HtmxDetails

__all__ = ["HtmxRequest"]


class HtmxRequest(HttpRequest):
    """Knows whether a part of the page asks, and which."""

    htmx: HtmxDetails
