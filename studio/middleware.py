"""Headers on every response."""

from collections.abc import Callable

from django.conf import settings
from django.http import HttpRequest, HttpResponse

__all__ = ["ContentSecurityPolicyMiddleware"]


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
