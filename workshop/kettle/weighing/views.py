"""The pages of the weigh-up: one line at a time; what its script asks is `offline_protocol.py`."""

from decimal import Decimal
from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods
from django.views.decorators.vary import vary_on_headers

from workshop.core import formatting
from workshop.core.access import EVERYONE, MAKERS, Request, allow
from workshop.core.saving.new_tokens import new_token
from workshop.kettle import services
from workshop.kettle.models import Weighing
from workshop.kettle.record.views import act_page, way_back
from workshop.kettle.views import batch_or_404
from workshop.kettle.weighing.forms import ReasonForm, UnplannedForm
from workshop.kettle.weighing.offline_protocol import (
    CONFLICT,
    Asked,
    answer,
    look_up,
    offer_of,
    receive,
    recorded_said,
    state_of,
    wants_json,
)
from workshop.kettle.weighing.reading_origin import ticket_for
from workshop.kettle.weighing.screen import below_zero_said, lot_by_code, pointer, said, screen_of
from workshop.ledger.services import on_hand


@require_http_methods(["GET", "POST"])
@vary_on_headers("Accept")
@allow(EVERYONE, write=MAKERS)
def weigh(request: Request, reference: str) -> HttpResponse:
    """Show a line of the batch, or record a reading of it."""
    if wants_json(request):
        return answer(request, reference)
    if request.method == "POST":
        return _record(request, reference)
    batch = batch_or_404(reference)
    if batch.is_ended:
        messages.warning(request, f"{batch} is {batch.get_state_display()}.")
        return redirect("kettle:batch", reference=reference)
    return _page(request, look_up(batch, request))


def _page(request: Request, asked: Asked, *, asks: bool = False) -> HttpResponse:
    screen = asked.screen
    # When every line is in, the form stays on the page, unseen, for the line chosen next.
    row = asked.here or screen.lines[0]
    context: dict[str, Any] = {
        "batch": screen.batch,
        "screen": screen,
        "here": row,
        "all_in": asked.here is None,
        "lot": asked.lot,
        "sentence": asked.sentence,
        "asks": asks,
        "typed": request.POST.get("reading_g", ""),
        "note": request.POST.get("note", ""),
        "token": request.POST.get("token") or new_token(),
        "ticket": ticket_for(request.user, screen.batch.operation.reference),
        "scale_pk": request.POST.get("scale") or str(row.scale.pk),
        "pointer": pointer(row.line),
        "without_tare_g": screen.taken_g + max(row.line.to_go_g, Decimal(0)),
        "state": state_of(screen),
        "offer": offer_of(screen),
        "choosing": "choose" in request.GET,
        "may_weigh": request.user.role in MAKERS,
    }
    return render(request, "kettle/weigh.html", context)


def _record(request: Request, reference: str) -> HttpResponse:
    """A reading from the plain page: on to the next line, or the page again with a sentence."""
    received = receive(request, reference)
    if received.weighing is not None:
        return _recorded(request, received.weighing)
    screen = screen_of(batch_or_404(reference), on=timezone.localdate())
    here = screen.line(request.POST.get("line")) or screen.next()
    lot = received.form.cleaned_data.get("lot")
    lot = lot_by_code(lot.code) if lot else here.lot if here else None
    asked = Asked(screen, here, lot, received.refusal)
    return _page(request, asked, asks=received.status == CONFLICT)


def _recorded(request: Request, weighing: Weighing) -> HttpResponse:
    sentence, offer = recorded_said(weighing)
    messages.success(request, f"{sentence} {offer['sentence']}" if offer else sentence)
    line = weighing.line
    address = reverse("kettle:weigh", args=[line.batch.operation.reference])
    return redirect(address if line.is_done else f"{address}?line={line.pk}")


@require_http_methods(["GET", "POST"])
@allow(MAKERS)
def undo(request: Request, reference: str, pk: int) -> HttpResponse:
    """Take one reading back, with a reason; it stays in the record, struck through.

    `?why=` is the reason that the page before already named.
    """
    batch = batch_or_404(reference)
    readings = Weighing.objects.with_names().filter(line__batch=batch)
    weighing = get_object_or_404(readings, pk=pk)
    form = ReasonForm(request.POST or None, initial={"reason": request.GET.get("why")})

    def take_back() -> str:
        services.undo_reading(
            weighing,
            by=request.user,
            at=timezone.now(),
            reason=form.words,
            token=form.cleaned_data["token"],
        )
        return f"Taken back: {said(weighing)} ({form.words})."

    return act_page(
        request,
        batch,
        form,
        take_back,
        heading=f"Take back {said(weighing)}?",
        lead="The reading stays in the record, struck through, with the reason beside it.",
        back=way_back(batch),
    )


@require_http_methods(["GET", "POST"])
@allow(MAKERS)
def add(request: Request, reference: str) -> HttpResponse:
    """Add something that the formula does not plan, or work leftover bulk in again."""
    batch = batch_or_404(reference)
    initial = {"scale": batch.scale_id, "lot": request.GET.get("lot", "")}
    form = UnplannedForm(request.POST or None, initial=initial)

    def put_in() -> str:
        lot = form.cleaned_data["lot"]
        weighing = services.add_unplanned(
            batch, lot.item, **form.cleaned_data, by=request.user, at=timezone.now()
        )
        return f"Added: {said(weighing)}.{below_zero_said(lot, on_hand(lot))}"

    return act_page(
        request,
        batch,
        form,
        put_in,
        heading=f"Add something unplanned to {batch}",
        lead="Leftover bulk that is worked in again goes in here too, up to the rework limit "
        f"of the formula, {formatting.number(batch.version.rework_limit)} %.",
        back=way_back(batch),
    )
