"""What holds for every response: its headers, and what is said where the machine fails in the middle of it."""

import logging
import sys
from collections.abc import Callable

from django.conf import settings
from django.db import connections
from django.http import HttpRequest, HttpResponse
from django.template.loader import render_to_string
from django.views import defaults

from inventory.ground.faults import GONE, fault_of

__all__ = ["ContentSecurityPolicyMiddleware", "RepeatedReadingMiddleware", "failed"]

logger = logging.getLogger(__name__)


class ContentSecurityPolicyMiddleware:
    """Say what a page may load: only what this host serves, no inline script or style.

    Goes by the setting's name of Django 6, whose own middleware can take its place.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response
        self.policy = "; ".join(f"{name} {sources}" for name, sources in settings.SECURE_CSP.items())

    def __call__(self, request: HttpRequest) -> HttpResponse:
        response = self.get_response(request)
        response.headers.setdefault("Content-Security-Policy", self.policy)
        return response


def failed(request: HttpRequest) -> HttpResponse:
    """Tell what failed: a fault of the machine by its sentence and what to do, any other as ours.

    Django calls this for whatever was raised, of middleware too. Nothing here asks the database.
    """
    error = sys.exc_info()[1]
    fault = fault_of(error) if error else None
    if fault is None:
        return defaults.server_error(request)
    logger.error("Fault %s at %s %s", fault.code, request.method, request.path)
    is_part = request.headers.get("HX-Request") == "true"
    page = render_to_string(
        "_fault.html" if is_part else "fault.html", {"fault": fault, "was_act": not _reads(request)}
    )
    response = HttpResponse(page, status=fault.status, headers={"Cache-Control": "no-store"})
    response.fault = fault  # type: ignore[attr-defined]  # for the middleware below, which may read once more
    return response


class RepeatedReadingMiddleware:
    """Read a page once more, on a new connection, where the database server dropped the old one in the middle of it."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        response = self.get_response(request)
        if getattr(response, "fault", None) is not GONE or not _reads(request):
            return response
        for connection in connections.all(initialized_only=True):
            connection.close_if_unusable_or_obsolete()
        return self.get_response(request)


def _reads(request: HttpRequest) -> bool:
    return request.method in ("GET", "HEAD")
