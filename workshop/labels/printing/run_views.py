"""Pages of a run's labels: the owner's decision, the count, cartons, and how it all stands."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from workshop.core.access import EVERYONE, OWNER, PACKERS, Request, allow
from workshop.core.errors import ActionRefused
from workshop.core.forms import (
    refusals_on,
)
from workshop.core.paper.pdf import pdf_response
from workshop.kettle.models import Batch
from workshop.labels import services
from workshop.labels.approval import worklist
from workshop.labels.approval.print_status import label_status
from workshop.labels.models import Print
from workshop.labels.printing import case_labels
from workshop.labels.printing.forms import (
    CartonForm,
    LabelCountForm,
    LabelDecisionForm,
    ReprintForm,
    market_asked,
)
from workshop.labels.printing.reconciliation import balance_of
from workshop.labels.printing.views import lot_or_404, no_label, shown
from workshop.labels.services import reprints
from workshop.labels.services.cartons import print_cartons
from workshop.labels.services.decisions import decide as decide_about
from workshop.ledger.services import on_hand


@require_GET
@allow(EVERYONE)
def standing(request: Request, code: str) -> HttpResponse:
    """How the labels of a lot stand, as a part of the page of its run."""
    lot = lot_or_404(code)
    balance = balance_of(lot)
    context = {"lot": lot, "balance": balance}
    if not balance.issued and not on_hand(lot):
        # Held against a label approved long after it went out, it would only alarm.
        context["is_past"] = True
        return shown(request, "labels/_standing.html", context)
    try:
        context["standing"] = label_status(lot)
    except ActionRefused as error:
        context["why"] = error.message
    return shown(request, "labels/_standing.html", context)


@require_GET
@allow(EVERYONE)
def untrue(request: Request) -> HttpResponse:
    """Finished lots in hand, the newest, whose label would be untrue; also of those printed."""
    rows = list(worklist.mismatched(worklist.finished_in_stock()))
    return shown(request, "labels/untrue.html", {"rows": rows, "most": worklist.MOST_LOOKED_AT})


@require_GET
@allow(EVERYONE)
def untrue_waiting(request: Request) -> HttpResponse:
    """How many lots that wait for their labels would get one that is untrue: a line of Today."""
    rows = list(worklist.mismatched(worklist.unlabelled(on=timezone.localdate())))
    return shown(request, "labels/_untrue_count.html", {"number": len(rows)})


@require_http_methods(["GET", "POST"])
@allow(OWNER)
def decide(request: Request, code: str) -> HttpResponse:
    """Mend, relabel or hold a lot that its approved label is untrue of."""
    lot = lot_or_404(code)
    market = market_asked(request.GET.get("market"))
    try:
        found = label_status(lot, market)
    except ActionRefused as error:
        return no_label(request, lot, error)
    form = LabelDecisionForm(request.POST or None)
    if form.is_valid():
        with refusals_on(form):
            decision = decide_about(
                lot, **form.cleaned_data, by=request.user, at=timezone.now(), market=market
            )
            said = f"Lot {lot}: {decision.get_kind_display()}. {decision.reason}"
            messages.success(request, said)
            return redirect("labels:label", code=lot.code)
    context = {"lot": lot, "standing": found, "form": form}
    return shown(request, "labels/decide.html", context)


@require_http_methods(["GET", "POST"])
@allow(PACKERS)
def count(request: Request, code: str) -> HttpResponse:
    """Labels issued, used, spoiled and returned must balance."""
    lot = lot_or_404(code)
    balance = balance_of(lot)
    rest = {"used": min(balance.missing, balance.units)} if not balance.was_counted else {}
    form = LabelCountForm(request.POST or None, initial=rest)
    if form.is_valid():
        with refusals_on(form):
            services.count_labels(lot, **form.cleaned_data, by=request.user, at=timezone.now())
            messages.success(request, f"Lot {lot}: {balance_of(lot).sentence}")
            return redirect("labels:count", code=lot.code)
    rows = lot.label_counts.select_related("by")
    context = {"lot": lot, "balance": balance, "form": form, "counts": rows}
    return shown(request, "labels/count.html", context)


@require_GET
@allow(PACKERS)
def printed(request: Request, pk: int) -> HttpResponse:
    """The PDF of a printing in the log, once more; nothing is noted."""
    found = get_object_or_404(Print.objects.select_related("lot__item__product__item"), pk=pk)
    try:
        return pdf_response(f"labels-{found.lot}", reprints.paper_of(found))
    except ActionRefused as error:
        return no_label(request, found.lot, error)


@require_http_methods(["GET", "POST"])
@allow(PACKERS)
def print_again(request: Request, pk: int) -> HttpResponse:
    """Labels that a jam spoiled, printed again under their numbers."""
    found = get_object_or_404(Print.objects.select_related("lot__item__product__item"), pk=pk)
    form = ReprintForm(request.POST or None, initial={"count": found.count})
    if form.is_valid():
        with refusals_on(form):
            again = reprints.print_again(
                found, **form.cleaned_data, by=request.user, at=timezone.now()
            )
            messages.success(request, f"{again.count} labels of lot {found.lot} are noted again.")
            return redirect("labels:printed", pk=again.pk)
    context = {"printed": found, "lot": found.lot, "form": form}
    return shown(request, "labels/print_again.html", context)


@require_http_methods(["GET", "POST"])
@allow(PACKERS)
def carton(request: Request, code: str) -> HttpResponse:
    """Numbered labels for the cartons of a lot."""
    lot = lot_or_404(code)
    market = market_asked(request.GET.get("market"))
    form = CartonForm(request.POST or None)
    if form.is_valid():
        with refusals_on(form):
            paper = print_cartons(
                lot, **form.cleaned_data, by=request.user, at=timezone.now(), market=market
            )
            return pdf_response(f"cartons-{lot}", paper)
    return shown(request, "labels/carton.html", {"lot": lot, "form": form})


@require_GET
@allow(EVERYONE)
def kettle_tag(request: Request, reference: str) -> HttpResponse:
    """A tag for the kettle or the pail: what is in it, of which batch and lot."""
    found = Batch.objects.with_names()
    batch = get_object_or_404(found, operation__reference=reference.upper())
    return pdf_response(f"tag-{reference}", case_labels.kettle_tag(batch, on=timezone.localdate()))
