"""Dispatches: the list, one dispatch and its papers, sending out and taking back."""

from typing import Any

from django.contrib import messages
from django.db.models import QuerySet
from django.http import HttpResponse, QueryDict
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from workshop.core import formatting
from workshop.core.access import EVERYONE, PACKERS, Request, allow
from workshop.core.errors import ActionRefused
from workshop.core.forms import (
    refusals_on,
    refuse,
)
from workshop.core.models import Workshop
from workshop.core.paper.pdf import pdf, pdf_response
from workshop.core.web.pagination import asked_for
from workshop.dispatch import queries, services
from workshop.dispatch.dispatch_lines import SentLine, lines_of
from workshop.dispatch.forms import (
    ArrivalForm,
    ArrivalsForm,
    DispatchForm,
    LineSet,
    ProposeForm,
    ReturnForm,
    WordBackForm,
)
from workshop.dispatch.lists import DISPATCHES, MAY_ARRIVE, with_ticks
from workshop.dispatch.lot_proposals import on_the_shelf, with_proposal
from workshop.dispatch.models import DeliveryConfirmation, Dispatch, Whereabouts
from workshop.dispatch.services import delivery_confirmation
from workshop.ledger.amendments.views import corrections_of

MOST_DRAWN = 6
MOST_NAMED = 6


@require_GET
@allow(EVERYONE)
def home(request: Request) -> HttpResponse:
    return _list(request, ArrivalsForm(day=timezone.localdate()))


def _list(request: Request, form: ArrivalsForm) -> HttpResponse:
    """Dispatches, narrowed down by words, by days and by where they are."""
    where = next((one for one in Whereabouts if one == asked_for(request, "where")), None)
    may_send = request.user.role in PACKERS
    may_tick = may_send and where in MAY_ARRIVE
    ticked = request.POST.getlist("dispatches")
    today = timezone.localdate()
    listing = with_ticks("arrivals", ticked) if may_tick else DISPATCHES
    found = listing.read(request, queries.dispatches(on=today))
    found.at = reverse("dispatch:home")
    context = {
        "days": queries.days_on_the_way(),
        "travelling": [] if found.is_narrowed else queries.travelling(on=today, most=MOST_DRAWN),
        "page": found.page,
        "q": found.text,
        "where": where or "",
        "where_word": where.label if where else "",
        "may_send": may_send,
        "arrivals": form if may_tick else None,
    }
    return found.answer("dispatch/home.html", context)


@require_POST
@allow(PACKERS)
def arrived_many(request: Request) -> HttpResponse:
    """Word of several dispatches at once, from the list; wrong input comes back on it."""
    form = ArrivalsForm(request.POST, day=timezone.localdate())
    if form.is_valid():
        values = form.cleaned_data
        with refusals_on(form):
            kept = delivery_confirmation.confirm_delivery(
                values["dispatches"],
                arrived_on=values["arrived_on"],
                token=values["token"],
                by=request.user,
                at=timezone.now(),
            )
            messages.success(request, _said_to_have_arrived(kept))
            return redirect(f"{reverse('dispatch:home')}?{request.GET.urlencode()}")
    return _list(request, form)


def _said_to_have_arrived(kept: list[DeliveryConfirmation]) -> str:
    if not kept:
        return "That was already recorded; nothing was added."
    named = ", ".join(str(one.dispatch) for one in kept[:MOST_NAMED])
    more = f" and {len(kept) - MOST_NAMED} more" if len(kept) > MOST_NAMED else ""
    return f"Arrived on {formatting.day(kept[0].arrived_on)}: {named}{more}."


def dispatch_or_404(reference: str) -> Dispatch:
    rows: QuerySet[Dispatch] = queries.dispatches(on=timezone.localdate()).select_related(
        "operation__opened_by", "taken_back__by"
    )
    return get_object_or_404(rows, operation__reference=reference)


@require_GET
@allow(EVERYONE)
def dispatch(request: Request, reference: str) -> HttpResponse:
    return _page(request, dispatch_or_404(reference), ArrivalForm(day=timezone.localdate()))


def _page(request: Request, found: Dispatch, form: ArrivalForm) -> HttpResponse:
    lines = lines_of(found)
    may_send = request.user.role in PACKERS
    words = list(DeliveryConfirmation.objects.with_names().filter(dispatch=found))
    word = next((one for one in words if one.stands), None)
    # What came back in part has arrived; a wrong word of it may still be put right.
    may_be_asked = bool(words) or found.whereabouts != Whereabouts.ARRIVED
    is_asked = may_be_asked and not word and not found.taken_back
    context = {
        "dispatch": found,
        "lines": lines,
        "total": _totals(lines),
        "returns": found.returns.select_related("operation__opened_by").order_by("pk"),
        "may_send": may_send,
        "days": queries.days_on_the_way(),
        "word": word,
        "taken_back": [one for one in words if not one.stands],
        "corrections": corrections_of(found.operation),
        "arrival_form": form if may_send and is_asked else None,
    }
    return render(request, "dispatch/dispatch.html", context)


@require_POST
@allow(PACKERS)
def arrived(request: Request, reference: str) -> HttpResponse:
    found = dispatch_or_404(reference)
    form = ArrivalForm(request.POST, day=timezone.localdate())
    if form.is_valid():
        with refusals_on(form):
            kept = delivery_confirmation.confirm_delivery(
                [found], **form.cleaned_data, by=request.user, at=timezone.now()
            )
            messages.success(request, _said_to_have_arrived(kept))
            return redirect("dispatch:dispatch", reference=reference)
    return _page(request, found, form)


@require_http_methods(["GET", "POST"])
@allow(PACKERS)
def take_word_back(request: Request, reference: str, pk: int) -> HttpResponse:
    """A word of an arrival that was a mistake; it stays on the page, struck through."""
    words = DeliveryConfirmation.objects.with_names().filter(
        dispatch__operation__reference=reference
    )
    word = get_object_or_404(words, pk=pk)
    form = WordBackForm(request.POST or None)
    if form.is_valid():
        values = form.cleaned_data
        back = delivery_confirmation.reverse_confirmation(
            word, **values, by=request.user, at=timezone.now()
        )
        said = f"{word.dispatch} arrived on {formatting.day(word.arrived_on)}"
        messages.success(
            request,
            f"Taken back: {said} ({back.reason})." if back else "That was taken back before.",
        )
        return redirect("dispatch:dispatch", reference=reference)
    return render(request, "dispatch/take_word_back.html", {"word": word, "form": form})


def _totals(lines: list[SentLine]) -> dict[str, Any]:
    return {"sent": sum(line.sent for line in lines), "back": sum(line.back for line in lines)}


@require_GET
@allow(EVERYONE)
def packing_slip(request: Request, reference: str) -> HttpResponse:
    found = dispatch_or_404(reference)
    lines = lines_of(found)
    context = {
        "dispatch": found,
        "lines": lines,
        "total": _totals(lines),
        "workshop": Workshop.objects.first(),
        "corrections": corrections_of(found.operation),
    }
    return pdf_response(f"packing-slip-{found}", pdf("dispatch/print/packing_slip.html", context))


@require_http_methods(["GET", "POST"])
@allow(PACKERS)
def new(request: Request) -> HttpResponse:
    """Send lots out. The buttons that fill rows write nothing."""
    if "fill" in request.POST:
        return _filled(request)
    if request.method == "GET":
        initial = {"sent_on": timezone.localdate(), "customer": request.GET.get("customer")}
        rows = LineSet(prefix="rows", initial=_asked_lots(request))
        return _new_page(request, DispatchForm(initial=initial), rows, ProposeForm())
    form = DispatchForm(request.POST)
    rows = LineSet(request.POST, prefix="rows")
    if form.is_valid() & rows.is_valid():
        values = {name: value for name, value in form.cleaned_data.items() if name != "customer"}
        try:
            sent = services.dispatch(
                form.cleaned_data["customer"],
                rows.lines(),
                **values,
                by=request.user,
                at=timezone.now(),
            )
        except services.RefusedLine as error:
            rows.refuse(error)
        except ActionRefused as error:
            refuse(form, error)
        else:
            messages.success(request, _said(sent))
            return redirect("dispatch:dispatch", reference=sent.operation.reference)
    return _new_page(request, form, rows, ProposeForm())


def _asked_lots(request: Request) -> list[dict[str, str]]:
    return [{"lot": code} for code in request.GET.getlist("lot")[:20]]


def _said(sent: Dispatch) -> str:
    lots = ", ".join(
        f"{formatting.number(line.sent)} of lot {line.lot}" for line in lines_of(sent)[:6]
    )
    return f"{sent}, {formatting.day(sent.sent_on)}: {lots} to {sent.customer}."


def _filled(request: Request) -> HttpResponse:
    """The same page with what was typed, the lots proposed if asked for, and more empty rows."""
    data: QueryDict = request.POST
    propose = ProposeForm(data if data.get("product") or data.get("wanted") else None)
    if propose.is_valid():
        today = timezone.localdate()
        data, short = with_proposal(request.POST, **propose.cleaned_data, on=today)
        if short:
            messages.warning(
                request,
                f"{formatting.number(short)} short: no more of {propose.cleaned_data['product']} "
                "is released and in date.",
            )
    # Bound but not checked: what is still empty is not yet a mistake.
    form = DispatchForm(initial={name: data.get(name, "") for name in DispatchForm.base_fields})
    rows = LineSet(initial=_typed_rows(data), prefix="rows")
    return _new_page(request, form, rows, propose)


def _typed_rows(data: QueryDict) -> list[dict[str, str]]:
    rows = [
        {"lot": data.get(f"rows-{row}-lot", ""), "units": data.get(f"rows-{row}-units", "")}
        for row in range(100)
    ]
    return [row for row in rows if row["lot"] or row["units"]]


def _new_page(request: Request, form: Any, rows: Any, propose: ProposeForm) -> HttpResponse:
    shelf = on_the_shelf(timezone.localdate())
    context = {"form": form, "rows": rows, "propose": propose, "shelf": shelf}
    return render(request, "dispatch/new.html", context)


@require_http_methods(["GET", "POST"])
@allow(PACKERS)
def take_back(request: Request, reference: str) -> HttpResponse:
    found = dispatch_or_404(reference)
    form = ReturnForm(request.POST or None, lines=lines_of(found), day=timezone.localdate())
    if form.is_valid():
        values = {name: form.cleaned_data[name] for name in ("returned_on", "reason", "token")}
        try:
            returned = services.record_return(
                found, form.lines(), **values, by=request.user, at=timezone.now()
            )
        except services.RefusedLine as error:
            form.add_error(f"units_{error.lot.pk}", error.message)
        except ActionRefused as error:
            refuse(form, error)
        else:
            messages.success(
                request,
                f"{returned}: back on the shelf, and the lots are on hold until somebody looks.",
            )
            return redirect("dispatch:dispatch", reference=reference)
    return render(request, "dispatch/take_back.html", {"dispatch": found, "form": form})
