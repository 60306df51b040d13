"""The weigh-up: one line at a time, as a plain page and, for its script, as JSON."""

from decimal import Decimal
from typing import Any

from django.contrib import messages
from django.http import HttpResponse, HttpResponseNotModified, JsonResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods
from django.views.decorators.vary import vary_on_headers

from workshop.core import formatting
from workshop.core.access import EVERYONE, MAKERS, Request, allow
from workshop.core.errors import ActionRefused
from workshop.core.forms import refuse
from workshop.core.models import User
from workshop.core.saving.new_tokens import new_token
from workshop.kettle import services
from workshop.kettle.adjustments.kettle_contents import melt_on
from workshop.kettle.adjustments.options import offer_sentence
from workshop.kettle.models import Batch, Weighing
from workshop.kettle.record.views import act_page, way_back
from workshop.kettle.services.record_weighing import Unseen
from workshop.kettle.views import batch_or_404
from workshop.kettle.weighing.change_mark import mark_of
from workshop.kettle.weighing.forms import ReadingForm, ReasonForm, UnplannedForm
from workshop.kettle.weighing.operator_ticket import ticket_for
from workshop.kettle.weighing.screen import (
    Screen,
    ScreenLine,
    as_json,
    line_for,
    lot_by_code,
    lot_json,
    mg,
    pointer,
    said,
    screen_of,
    standing_said,
    undo_address,
    with_kept_words,
)
from workshop.ledger.models import Lot
from workshop.ledger.services import on_hand

OK, UNPROCESSABLE, CONFLICT = 200, 422, 409
BEFORE_IT_WAS_SENT = "before it reached the book"


def wants_json(request: Request) -> bool:
    return "application/json" in request.headers.get("Accept", "")


@require_http_methods(["GET", "POST"])
@vary_on_headers("Accept")
@allow(EVERYONE, write=MAKERS)
def weigh(request: Request, reference: str) -> HttpResponse:
    """Show a line of the batch, or record a reading of it."""
    if request.method == "POST":
        return _record(request, reference)
    if wants_json(request):
        return _state(request, reference)
    batch = batch_or_404(reference)
    if batch.is_ended:
        messages.warning(request, f"{batch} is {batch.get_state_display()}.")
        return redirect("kettle:batch", reference=reference)
    return _look(request, batch)


def _state(request: Request, reference: str) -> HttpResponse:
    """What the page's script asks for again and again: nothing (304) as long as nothing changed.

    The mark is read before the state, so that what changes in between is asked for again.
    """
    mark = mark_of(reference, now=timezone.now())
    if request.headers.get("If-None-Match") == mark and not request.GET:
        return HttpResponseNotModified(headers={"ETag": mark})
    answer = _look(request, batch_or_404(reference))
    if answer.status_code == OK:
        answer["ETag"] = mark
    return answer


def _look(request: Request, batch: Batch) -> HttpResponse:
    """The line asked for or the next one; a lot's code picks the line that takes it."""
    today = timezone.localdate()
    screen = screen_of(batch, on=today)
    here = screen.line(request.GET.get("line")) or screen.next()
    lot, sentence = here.lot if here else None, ""
    if asked := request.GET.get("lot", ""):
        try:
            lot = with_kept_words(lot_by_code(asked), batch)
            here = line_for(screen, lot, on=today, first=here)
        except ActionRefused as error:
            sentence, lot = error.message, here.lot if here else None
    if wants_json(request):
        return _answer(screen, here, lot if asked else None, sentence)
    return _page(request, screen, here, lot, sentence)


def _answer(
    screen: Screen, here: ScreenLine | None, lot: Lot | None, sentence: str
) -> JsonResponse:
    if sentence:
        return JsonResponse({"sentence": sentence}, status=422)
    found = {"line": here.line.pk, "lot": lot_json(lot)} if here and lot else {}
    return JsonResponse({"state": as_json(screen), "offer": _offer(screen), **found})


def _offer(screen: Screen) -> dict[str, str] | None:
    """What is offered while a line is above its band; the script shows it, the page links to it.

    `{"sentence": "12.5 g too much Wax. …", "address": the page with the figures}`, else None.
    It comes with the state and with the answer to the reading that left the band.
    """
    if not screen.batch.is_being_weighed or not any(
        row.line.is_above_target for row in screen.lines
    ):
        return None
    address = reverse("kettle:mend", args=[screen.batch.operation.reference])
    return {"sentence": offer_sentence(melt_on(screen)), "address": address}


def _page(
    request: Request,
    screen: Screen,
    here: ScreenLine | None,
    lot: Lot | None,
    sentence: str,
    *,
    asks: bool = False,
) -> HttpResponse:
    # When every line is in, the form stays on the page, unseen, for the line chosen next.
    row = here or screen.lines[0]
    context: dict[str, Any] = {
        "batch": screen.batch,
        "screen": screen,
        "here": row,
        "all_in": here is None,
        "lot": lot,
        "sentence": sentence,
        "asks": asks,
        "typed": request.POST.get("reading_g", ""),
        "note": request.POST.get("note", ""),
        "token": request.POST.get("token") or new_token(),
        "ticket": ticket_for(request.user, screen.batch.operation.reference),
        "scale_pk": request.POST.get("scale") or str(row.scale.pk),
        "pointer": pointer(row.line),
        "without_tare_g": screen.taken_g + max(row.line.to_go_g, Decimal(0)),
        "state": as_json(screen),
        "offer": _offer(screen),
        "choosing": "choose" in request.GET,
        "may_weigh": request.user.role in MAKERS,
    }
    return render(request, "kettle/weigh.html", context)


def _record(request: Request, reference: str) -> HttpResponse:
    """Answer a reading: 200 recorded, 422 refused, 409 if another device weighed the line.

    After a 409 the same reading with the same token and `confirmed=yes` is recorded.
    """
    form = ReadingForm(request.POST, reference=reference, carrier=request.user)
    status = UNPROCESSABLE
    if form.is_valid():
        try:
            weighing = _written(**form.cleaned_data)
        except ActionRefused as error:
            refuse(form, error)
            status = CONFLICT if isinstance(error, Unseen) else UNPROCESSABLE
        else:
            return _recorded(request, weighing)
    batch = batch_or_404(reference)
    sentence = str(next(iter(form.errors.values()))[0])
    if wants_json(request):
        return JsonResponse({"sentence": sentence}, status=status)
    screen = screen_of(batch, on=timezone.localdate())
    here = screen.line(request.POST.get("line")) or screen.next()
    lot = form.cleaned_data.get("lot")
    lot = lot_by_code(lot.code) if lot else here.lot if here else None
    return _page(request, screen, here, lot, sentence, asks=status == CONFLICT)


def _written(*, taken_back: str, taken_back_by: User, **reading: Any) -> Weighing:
    """The reading; one that was taken back before it was sent stands struck through."""
    weighing = services.record_weighing(**reading)
    if taken_back:
        at, reason = timezone.now(), BEFORE_IT_WAS_SENT
        services.undo_reading(weighing, by=taken_back_by, at=at, reason=reason, token=taken_back)
    return weighing


def _recorded(request: Request, weighing: Weighing) -> HttpResponse:
    line, lot, batch = weighing.line, weighing.posting.lot, weighing.line.batch
    sentence = f"{said(weighing)}. {standing_said(line)}{_below_zero(lot, lot.on_hand)}"
    offer = _offer(screen_of(batch, on=timezone.localdate())) if line.is_above_target else None
    if wants_json(request):
        undo = undo_address(weighing, batch)
        answer = {"said": sentence, "taken": mg(line.taken_g), "undo": undo}
        return JsonResponse(answer | ({"offer": offer} if offer else {}))
    messages.success(request, " ".join([sentence, offer["sentence"]]) if offer else sentence)
    address = reverse("kettle:weigh", args=[batch.operation.reference])
    return redirect(address if line.is_done else f"{address}?line={line.pk}")


def _below_zero(lot: Lot, held: Decimal) -> str:
    if held >= 0:
        return ""
    return f" The book now says {formatting.with_unit(held, 'g')} for lot {lot}: count it."


@require_http_methods(["GET", "POST"])
@allow(MAKERS)
def undo(request: Request, reference: str, pk: int) -> HttpResponse:
    """Take one reading back, with a reason; it stays in the record, struck through."""
    batch = batch_or_404(reference)
    readings = Weighing.objects.with_names().filter(line__batch=batch)
    weighing = get_object_or_404(readings, pk=pk)
    form = ReasonForm(request.POST or None)

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
        return f"Added: {said(weighing)}.{_below_zero(lot, on_hand(lot))}"

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
