"""What to buy: the joint order, its reasons, and orders made from it."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST

from inventory.buying.plan_age import plan_age_words
from inventory.buying.reorder_page import reorder_page
from inventory.buying.reordering import make_orders, plan_to_keep
from inventory.ground.findings import Refused
from inventory.ground.site.maker import maker
from inventory.models import KeptPlan
from inventory.replenish.plan import SECONDS
from inventory.shelf.acting import act_once, counts_once
from inventory.stock.today import late_orders


def show(request: HttpRequest) -> HttpResponse:
    """The last plan, whether the books still are as it found them, and what is late while it is not used."""
    kept, today = KeptPlan.objects.first(), timezone.localdate()
    is_used = kept is not None and kept.ordered_at is not None
    context = {
        "page": reorder_page(kept, on=today),
        "age": plan_age_words(kept, on=today),
        "late": [] if is_used else late_orders(on=today),
    }
    return render(request, "inventory/buying/reorder.html", context)


@require_POST
def plan(request: HttpRequest) -> HttpResponse:
    """Work the joint order out anew; the search is over before anybody waits for it."""
    try:
        made = plan_to_keep(on=timezone.localdate(), user=maker(request), seconds=SECONDS)
    except Refused as refusal:
        messages.error(request, str(refusal))
        return redirect("inventory:reorder")
    return act_once(request, lambda: _kept(made))


def _kept(plan: KeptPlan) -> HttpResponse:
    plan.save()
    return redirect("inventory:reorder")


@require_POST
@counts_once
def orders(request: HttpRequest, pk: int) -> HttpResponse:
    """Draft the plan's orders, once."""
    kept = get_object_or_404(KeptPlan, pk=pk)
    try:
        made = make_orders(kept, user=maker(request), on=timezone.localdate())
    except Refused as refusal:
        messages.error(request, str(refusal))
        return redirect("inventory:reorder")
    numbers = ", ".join(str(order.number) for order in made)
    messages.success(request, f"Drafted: order {numbers}. Look at each, then place it.")
    return redirect("inventory:orders")
