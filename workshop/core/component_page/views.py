"""One page with every part that pages are made of, for whoever builds or changes one."""

from datetime import date
from decimal import Decimal

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from workshop.core.access import OWNER, Request, allow
from workshop.core.component_page.forms import SampleForm
from workshop.core.lists.people import PEOPLE
from workshop.core.models import User
from workshop.core.web.pictograms import PICTOGRAMS

PAPERS = [
    ("ground", "Paper"),
    ("sheet", "Sheet, field"),
    ("wash", "Wash"),
    ("line", "Hairline"),
    ("edge", "Edge, tick"),
    ("ink", "Ink"),
    ("quiet", "Quiet ink"),
    ("main", "Bottle green"),
    ("wax", "Wax"),
    ("oat", "Oat"),
    ("leaf", "Leaf"),
    ("mind", "Attention"),
    ("wait", "Waiting"),
    ("good", "Allowed"),
    ("stop", "Stopped"),
    ("way", "On its way"),
]


@require_GET
@allow(OWNER)
def looks(request: Request) -> HttpResponse:
    context = {
        "papers": PAPERS,
        "pictograms": [(name, name.replace("-", " ")) for name in PICTOGRAMS],
        "list": PEOPLE.read(request, User.objects.all()),
        "form": SampleForm({"item": "castor", "quantity": "5 pt", "expiry": "30/2/28"}),
        "in_kettle": Decimal(1854),
        "batch": Decimal(2450),
        "nothing": Decimal(0),
        "large": Decimal(9000),
        "day": date(2026, 11, 25),
    }
    return render(request, "core/looks.html", context)
