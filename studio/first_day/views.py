"""The first day's page, the rates on it, and the login, which leads there while there is nobody to log in."""

from collections.abc import Callable
from functools import wraps
from typing import Any

from django.contrib import messages
from django.contrib.auth import login
from django.contrib.auth.decorators import login_not_required
from django.contrib.auth.views import LoginView
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods, require_safe

from inventory.ground.site.findings_form import RefusalsOn
from studio.first_day.forms import RoomForm, WishForm, user_form
from studio.first_day.loopback import is_from_here
from studio.first_day.opening import is_first_day, open_workroom
from studio.first_day.page import RateRow, opened_words, rate_rows

__all__ = ["Door", "first_day", "rates"]

View = Callable[[HttpRequest], HttpResponse]
BACKEND = "django.contrib.auth.backends.ModelBackend"


class Door(LoginView):
    """The login; while nobody uses this installation it leads to the first day."""

    redirect_authenticated_user = True

    def get(self, request: HttpRequest, *args: str, **kwargs: Any) -> HttpResponse:
        """The form of the login, or the way to the first day."""
        return redirect("first-day") if is_first_day() else super().get(request, *args, **kwargs)


def _while_nobody_is_here(view: View) -> View:
    """Answer only while there is no user, and only to whoever sits at the machine itself."""

    @wraps(view)
    def answer(request: HttpRequest) -> HttpResponse:
        if not is_first_day():
            return redirect("login")
        if not is_from_here(request):
            return render(request, "studio/first_day/elsewhere.html", status=403)
        return view(request)

    return login_not_required(answer)


@_while_nobody_is_here
@sensitive_post_parameters("password1", "password2")
@require_http_methods(["GET", "POST"])
def first_day(request: HttpRequest) -> HttpResponse:
    """First user, workroom and rates: one page, kept as a whole or not at all."""
    said = request.POST or None
    person, room, wishes = user_form(said), RoomForm(said), WishForm(said)
    forms = (person, room, wishes)
    if all(form.is_valid() for form in forms):
        with RefusalsOn(room, fields={"one_is": "one_is"}):
            user = person.save(commit=False)
            open_workroom(room.opening(wishes.wish), user)
            login(request, user, backend=BACKEND)
            messages.success(request, opened_words(_rates(wishes)))
            return redirect("quotes:new")
    is_wrong = any(form.errors for form in forms)
    context = {"person": person, "room": room, "wishes": wishes, "rates": _rates(wishes), "is_wrong": is_wrong}
    return render(request, "studio/first_day/first_day.html", context, status=422 if is_wrong else 200)


@_while_nobody_is_here
@require_safe
def rates(request: HttpRequest) -> HttpResponse:
    """The rates that the wishes give, while they are written."""
    return render(request, "studio/first_day/_rates.html", {"rates": _rates(WishForm(request.GET))})


def _rates(wishes: WishForm) -> list[RateRow]:
    """The rates with their working; none while the wishes are not whole."""
    return rate_rows(wishes.wish, wishes.rates, wishes.currency) if wishes.is_valid() else []
