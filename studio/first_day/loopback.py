"""Whether a request comes from the machine itself, so that nobody else opens a workroom that has no users yet."""

from ipaddress import ip_address

from django.http import HttpRequest
from django.http.request import split_domain_port

__all__ = ["is_from_here"]

_OF_A_PROXY = ("HTTP_FORWARDED", "HTTP_X_FORWARDED", "HTTP_X_REAL_IP", "HTTP_VIA")
"""How the headers begin that a proxy adds: behind one, every request comes from this machine."""


def is_from_here(request: HttpRequest) -> bool:
    """Return whether a request came over loopback, was asked of a loopback name, and was passed on by nobody."""
    name, _ = split_domain_port(request.get_host())
    is_passed_on = any(header.startswith(_OF_A_PROXY) for header in request.META)
    is_named_so = name == "localhost" or _is_loopback(name.strip("[]"))
    return not is_passed_on and is_named_so and _is_loopback(str(request.META.get("REMOTE_ADDR", "")))


def _is_loopback(text: str) -> bool:
    try:
        address = ip_address(text)
    except ValueError:
        return False
    inner = getattr(address, "ipv4_mapped", None)
    return (inner or address).is_loopback
