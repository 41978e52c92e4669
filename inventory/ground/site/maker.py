"""Who asks."""

from django.contrib.auth.models import User
from django.http import HttpRequest

__all__ = ["maker"]


def maker(request: HttpRequest) -> User:
    """Who asks; the login stands before every page."""
    assert isinstance(request.user, User)
    return request.user
