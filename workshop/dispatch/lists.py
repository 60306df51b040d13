"""The lists of dispatches and of customers."""

from collections.abc import Iterable
from dataclasses import replace
from typing import Any

from django.urls import reverse

from workshop.core.lists.columns import (
    FLAT,
    Amount,
    Column,
    Day,
    Figure,
    Name,
    Operation,
    State,
    Tick,
)
from workshop.core.lists.listing import Choice, Listing
from workshop.dispatch.models import Customer, Dispatch, Whereabouts


def dispatch_page(dispatch: Dispatch) -> str:
    return reverse("dispatch:dispatch", args=[dispatch.operation.reference])


def customer_page(customer: Customer) -> str:
    return reverse("dispatch:customer", args=[customer.pk])


def _units_back(dispatch: Dispatch) -> Any:
    return dispatch.units_back or None


def _no_longer(customer: Customer) -> str:
    return "" if customer.is_active else "no longer supplied"


MAY_ARRIVE = frozenset(Whereabouts) - {Whereabouts.ARRIVED, Whereabouts.TAKEN_BACK}
CUSTOMER = Name(
    "Customer",
    lambda dispatch: dispatch.customer,
    to=lambda dispatch: customer_page(dispatch.customer),
    order=("customer__name",),
)
DISPATCHES = Listing(
    columns=[
        Operation("Dispatch", str, to=dispatch_page, order=("pk",)),
        Day("Sent on", lambda dispatch: dispatch.sent_on, order=("sent_on",), only=FLAT),
        CUSTOMER,
        Column("Their reference", lambda dispatch: dispatch.customer_reference),
        Amount("Units sent", lambda dispatch: dispatch.units_sent, unit="each"),
        Amount("Units back", _units_back, unit="each", place=""),
        State(
            "Where it is",
            lambda dispatch: dispatch.get_whereabouts_display(),
            key_of=lambda dispatch: dispatch.whereabouts,
        ),
    ],
    order=("-sent_on", "-pk"),
    order_words="newest first",
    none="Nothing has been sent out yet.",
    search=lambda rows, text: rows.mentioning(text),
    search_word="Customer or reference",
    choices=[Choice("where", "Where they are", Whereabouts.choices, "anywhere", "whereabouts")],
    days="sent_on",
    days_word="Sent from",
    log=lambda dispatch: dispatch.sent_on,
    file="dispatches",
)


def with_ticks(form: str, ticked: Iterable[str]) -> Listing:
    """The same, with a box for each that may have arrived by now."""
    box = Tick(
        "Arrived",
        lambda dispatch: dispatch.pk if dispatch.whereabouts in MAY_ARRIVE else None,
        name="dispatches",
        form=form,
        ticked=frozenset(ticked),
        label=lambda dispatch: f"{dispatch} arrived",
    )
    return replace(DISPATCHES, columns=[box, *DISPATCHES.columns])


OF_ONE_CUSTOMER = replace(
    DISPATCHES, columns=[one for one in DISPATCHES.columns if one is not CUSTOMER], log=None
)
CUSTOMERS = Listing(
    columns=[
        Name("Customer", str, to=customer_page, below=_no_longer, order=("name",), place="c1"),
        Column("Contact", lambda customer: customer.contact, order=("contact",)),
        Column("Telephone", lambda customer: customer.telephone),
        Figure("Dispatches", lambda customer: customer.sent, order=("sent",)),
        Day("Last sent", lambda customer: customer.last_sent, order=("last_sent",)),
    ],
    order=("name",),
    order_words="by name",
    none="No customer has been entered yet.",
    search=lambda rows, text: rows.mentioning(text),
    search_word="Name or contact",
    file="customers",
)
