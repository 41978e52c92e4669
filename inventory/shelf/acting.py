"""Acts of a page that count once, however often its form is sent: a double click, a press on two devices, a page sent again.

A form carries the key that its page was made with (`{% act_key %}`). What it does is done in one transaction, one act
after another, and the address that it led to is kept beside it; the same key with the same words leads there again.
Other words under the same key, of somebody who went back and changed them, are another act. A form that changes what
is there carries no key: sent again, it says once more how things are to be.
"""

import hashlib
import json
from collections.abc import Callable
from datetime import timedelta
from functools import partial, wraps
from typing import Any, Concatenate, ParamSpec, TypeVar

from django.db import connection, transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django_htmx.http import HttpResponseClientRedirect

from inventory.ground.defaults import shelf_defaults
from inventory.models import DoneAct

__all__ = ["ACT_KEY", "act_once", "counts_once"]

ACT_KEY = "act_key"
"""The name of the field that carries the key."""

Said = ParamSpec("Said")
Request = TypeVar("Request", bound=HttpRequest)

_ONE_AFTER_ANOTHER = 7_301_604
"""The number of the lock under which acts go one after another on PostgreSQL; on SQLite writers do so anyhow."""
_WITHOUT_WORDS = ("csrfmiddlewaretoken",)
_CHUNK = 1 << 16


def counts_once(
    view: Callable[Concatenate[Request, Said], HttpResponse],
) -> Callable[Concatenate[Request, Said], HttpResponse]:
    """Make a view whose form makes something count once; all that it does to a posted form is one transaction."""

    @wraps(view)
    def answer(request: Request, /, *args: Said.args, **kwargs: Said.kwargs) -> HttpResponse:
        if request.method != "POST":
            return view(request, *args, **kwargs)
        return act_once(request, partial(view, request, *args, **kwargs))

    return answer


def act_once(request: HttpRequest, act: Callable[[], HttpResponse]) -> HttpResponse:
    """Do what a posted form asks for, or answer with where the same form led before.

    Args:
        act: saves, and answers with the way to what it made; any other answer, such as the form with its faults, leaves
            nothing saved. Whatever takes long is done before.

    Raises:
        Refused: as `act` does; then nothing is saved, and the same form may be sent again.
    """
    fingerprint = _fingerprint(request)
    with transaction.atomic():
        if connection.vendor == "postgresql":
            with connection.cursor() as cursor:
                cursor.execute("SELECT pg_advisory_xact_lock(%s)", [_ONE_AFTER_ANOTHER])
        if (before := _led_before(request, fingerprint)) is not None:
            return before
        response = act()
        led_to = response.headers.get("HX-Redirect") or response.headers.get("Location")
        if led_to is None:
            transaction.set_rollback(True)
        elif fingerprint:
            _forget_old_acts()
            DoneAct.objects.create(fingerprint=fingerprint, led_to=led_to)
    return response


def _led_before(request: HttpRequest, fingerprint: str) -> HttpResponse | None:
    done = DoneAct.objects.filter(fingerprint=fingerprint).first() if fingerprint else None
    return None if done is None else _leading(request, done.led_to)


def _forget_old_acts() -> None:
    """Nobody sends a form again that was sent so long ago."""
    kept = timedelta(days=shelf_defaults().acts.kept_days)
    DoneAct.objects.filter(at__lt=timezone.now() - kept).delete()


def _leading(request: HttpRequest, address: str) -> HttpResponse:
    is_by_htmx = request.headers.get("HX-Request") == "true"
    return HttpResponseClientRedirect(address) if is_by_htmx else redirect(address)


def _fingerprint(request: HttpRequest) -> str:
    """What a form says, with its key and its address; empty where it carries no key."""
    if not request.POST.get(ACT_KEY):
        return ""
    words: list[Any] = sorted((name, said) for name, said in request.POST.lists() if name not in _WITHOUT_WORDS)
    said = hashlib.sha256(json.dumps([request.path, request.GET.urlencode(), words]).encode())
    for name, files in sorted(request.FILES.lists()):
        for file in files:
            said.update(json.dumps([name, file.size]).encode())
            for chunk in file.chunks(_CHUNK):
                said.update(chunk)
            file.seek(0)
    return said.hexdigest()
