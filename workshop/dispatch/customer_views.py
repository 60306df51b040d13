"""Pages about customers."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from workshop.core.access import EVERYONE, PACKERS, Request, allow
from workshop.core.forms import (
    refusals_on,
)
from workshop.core.saving.edit_conflicts import up_to_date
from workshop.dispatch import queries, services
from workshop.dispatch.forms import CustomerForm
from workshop.dispatch.lists import CUSTOMERS, OF_ONE_CUSTOMER
from workshop.dispatch.models import Customer


@require_GET
@allow(EVERYONE)
def customers(request: Request) -> HttpResponse:
    found = CUSTOMERS.read(request, Customer.objects.with_dispatches())
    context = {
        "may_change": request.user.role in PACKERS,
    }
    return found.answer("dispatch/customers.html", context)


@require_GET
@allow(EVERYONE)
def customer(request: Request, pk: int) -> HttpResponse:
    found = get_object_or_404(Customer, pk=pk)
    dispatches = queries.dispatches(on=timezone.localdate()).filter(customer=found)
    context = {
        "customer": found,
        "changes": found.history.select_related("history_user").order_by("-history_date")[:10],
        "may_change": request.user.role in PACKERS,
    }
    return OF_ONE_CUSTOMER.read(request, dispatches).answer("dispatch/customer.html", context)


@require_http_methods(["GET", "POST"])
@allow(PACKERS)
def new_customer(request: Request) -> HttpResponse:
    return _form(request, Customer())


@require_http_methods(["GET", "POST"])
@allow(PACKERS)
def change_customer(request: Request, pk: int) -> HttpResponse:
    return _form(request, get_object_or_404(Customer, pk=pk))


def _form(request: Request, row: Customer) -> HttpResponse:
    form = CustomerForm(request.POST or None, instance=row)
    if form.is_valid():
        with refusals_on(form), up_to_date(form):
            saved = services.save_customer(form.instance, by=request.user, at=timezone.now())
            messages.success(request, f"{saved} is in the book as shown here.")
            return redirect("dispatch:customer", pk=saved.pk)
    name = Customer.objects.get(pk=row.pk).name if row.pk else ""
    return render(request, "dispatch/customer_form.html", {"form": form, "name": name})
