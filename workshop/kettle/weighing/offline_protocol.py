"""What a tablet at the stove and the book say to each other; in full: `docs/weigh-up-offline.md`.

At /kettle/REFERENCE/weigh/, with `Accept: application/json`. `POST` brings a reading, as late as
the network lets it. Its fields, read by `ReadingForm` in `forms.py`:

    line, lot, reading_g, scale, note    shown_taken_g, kettle_g: what the device took to be in
    at      when, by its clock           confirmed: yes, after a second question
    token   new for each reading: one that comes twice is recorded once
    ticket  who weighed, signed by the book; whoever is signed in only carries it
    taken_back, taken_back_by            token and ticket of whoever took it back unsent

    200  recorded, or was already: said, taken, undo, offer    422  refused: sentence
    409  weighed elsewhere meanwhile, or hardly true: sentence; with `confirmed` and the same token
         it is recorded
    403, or a redirect to sign in (`core/access.py`): the device keeps the reading

`GET` answers the state, 304 while nothing changed; `?lot=&line=` which line takes a lot, or 422.
On the device `static/js/kettle-sync.js` sends and asks, `kettle-queue.js` keeps readings,
`kettle-worker.js` the page.
"""

from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.http import HttpResponse, HttpResponseNotModified, JsonResponse
from django.urls import reverse
from django.utils import timezone

from workshop.core import formatting
from workshop.core.access import Request
from workshop.core.errors import ActionRefused
from workshop.core.forms import refuse
from workshop.core.models import User
from workshop.kettle import services
from workshop.kettle.adjustments.kettle_contents import melt_on
from workshop.kettle.adjustments.options import offer_sentence
from workshop.kettle.models import Batch, Scale, Timer, Weighing
from workshop.kettle.services.record_weighing import Unseen
from workshop.kettle.views import batch_or_404
from workshop.kettle.weighing.change_mark import mark_of
from workshop.kettle.weighing.forms import ReadingForm
from workshop.kettle.weighing.screen import (
    Screen,
    ScreenLine,
    below_zero_said,
    line_for,
    lot_by_code,
    said,
    screen_of,
    standing_said,
    with_kept_words,
)
from workshop.ledger.models import Lot
from workshop.rules.quantities.scaling import MILLIGRAM_G
from workshop.rules.quantities.units import ceil_to, floor_to

OK, UNPROCESSABLE, CONFLICT = 200, 422, 409
BEFORE_IT_WAS_SENT = "before it reached the book"


def wants_json(request: Request) -> bool:
    return "application/json" in request.headers.get("Accept", "")


def answer(request: Request, reference: str) -> HttpResponse:
    """What the device is answered."""
    if request.method == "POST":
        return _answer_reading(request, reference)
    return _answer_state(request, reference)


def _answer_reading(request: Request, reference: str) -> HttpResponse:
    received = receive(request, reference)
    weighing = received.weighing
    if weighing is None:
        batch_or_404(reference)
        return JsonResponse({"sentence": received.refusal}, status=received.status)
    sentence, offer = recorded_said(weighing)
    undo = _undo_address(weighing, weighing.line.batch)
    told = {"said": sentence, "taken": _mg(weighing.line.taken_g), "undo": undo}
    return JsonResponse(told | ({"offer": offer} if offer else {}))


@dataclass(frozen=True)
class Received:
    """A reading that came in: recorded, or refused with a status and a sentence."""

    form: ReadingForm
    status: int
    weighing: Weighing | None = None

    @property
    def refusal(self) -> str:
        return str(next(iter(self.form.errors.values()))[0])


def receive(request: Request, reference: str) -> Received:
    """Record a reading, from the script or from the plain page."""
    form = ReadingForm(request.POST, reference=reference, carrier=request.user)
    if not form.is_valid():
        return Received(form, UNPROCESSABLE)
    try:
        return Received(form, OK, _written(**form.cleaned_data))
    except ActionRefused as error:
        refuse(form, error)
        return Received(form, CONFLICT if isinstance(error, Unseen) else UNPROCESSABLE)


def _written(*, taken_back: str, taken_back_by: User, **reading: Any) -> Weighing:
    """The reading; one that was taken back before it was sent stands struck through."""
    weighing = services.record_weighing(**reading)
    if taken_back:
        at, reason = timezone.now(), BEFORE_IT_WAS_SENT
        services.undo_reading(weighing, by=taken_back_by, at=at, reason=reason, token=taken_back)
    return weighing


def recorded_said(weighing: Weighing) -> tuple[str, dict[str, str] | None]:
    """What is said of a recorded reading, and what is offered if its line is above its band."""
    line, lot = weighing.line, weighing.posting.lot
    sentence = (
        f"Recorded: {said(weighing)}. {standing_said(line)}{below_zero_said(lot, lot.on_hand)}"
    )
    if not line.is_above_target:
        return sentence, None
    return sentence, offer_of(screen_of(line.batch, on=timezone.localdate()))


def offer_of(screen: Screen) -> dict[str, str] | None:
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


def _answer_state(request: Request, reference: str) -> HttpResponse:
    """What the page's script asks for again and again: nothing (304) as long as nothing changed.

    The mark is read before the state, so that what changes in between is asked for again.
    """
    mark = mark_of(reference, now=timezone.now())
    if request.headers.get("If-None-Match") == mark and not request.GET:
        return HttpResponseNotModified(headers={"ETag": mark})
    asked = look_up(batch_or_404(reference), request)
    if asked.sentence:
        return JsonResponse({"sentence": asked.sentence}, status=UNPROCESSABLE)
    state = {"state": state_of(asked.screen), "offer": offer_of(asked.screen)}
    return JsonResponse(state | asked.line_of_lot, headers={"ETag": mark})


@dataclass(frozen=True)
class Asked:
    """The batch as it stands, with the line and the lot that were asked for, or the next ones."""

    screen: Screen
    here: ScreenLine | None
    lot: Lot | None
    sentence: str = ""
    is_of_lot: bool = False

    @property
    def line_of_lot(self) -> dict[str, Any]:
        """Which line takes the lot, where one was asked for."""
        if not (self.is_of_lot and self.here and self.lot):
            return {}
        return {"line": self.here.line.pk, "lot": _lot_json(self.lot)}


def look_up(batch: Batch, request: Request) -> Asked:
    """The line asked for or the next one; a lot's code picks the line that takes it."""
    today = timezone.localdate()
    screen = screen_of(batch, on=today)
    here = screen.line(request.GET.get("line")) or screen.next()
    own = here.lot if here else None
    code = request.GET.get("lot", "")
    if not code:
        return Asked(screen, here, own)
    try:
        lot = with_kept_words(lot_by_code(code), batch)
        return Asked(screen, line_for(screen, lot, on=today, first=here), lot, is_of_lot=True)
    except ActionRefused as error:
        return Asked(screen, here, own, error.message)


def state_of(screen: Screen) -> dict[str, Any]:
    """What the page's script knows of the batch; grams are whole thousandths, none is rounded."""
    return {
        # A page made for another shape must be loaded again: lines were added, or all is poured.
        "shape": f"{len(screen.lines)} {screen.batch.is_being_weighed}",
        "lines": [_line_json(row) for row in screen.lines],
        "scales": {str(scale.pk): _scale_json(scale) for scale in screen.scales},
        "undo": _undo_address(screen.last, screen.batch) if screen.last else "",
        "timers": [_timer_json(timer, screen.batch) for timer in screen.timers],
    }


def _undo_address(weighing: Weighing, batch: Batch) -> str:
    return reverse("kettle:undo", args=[batch.operation.reference, weighing.pk])


def _timer_json(timer: Timer, batch: Batch) -> dict[str, Any]:
    """A running timer; `due` is when it rings, as ISO 8601 with its offset."""
    address = reverse("kettle:end-timer", args=[batch.operation.reference, timer.pk])
    return {"href": address, "name": timer.name, "due": timer.due_at.isoformat()}


def _line_json(row: ScreenLine) -> dict[str, Any]:
    line = row.line
    return {
        "pk": line.pk,
        "name": line.item.name,
        "planned": line.is_planned,
        "target": _mg(line.aim_g),
        "low": _mg(ceil_to(line.low_g, MILLIGRAM_G)),
        "high": _mg(floor_to(line.high_g, MILLIGRAM_G)),
        "band": row.band,
        "taken": _mg(line.taken_g),
        "forGood": row.for_good,
        "none": row.none,
        "scale": row.scale.pk,
        "cautions": row.to_mind,
        "lots": [_lot_json(lot) for lot in row.proposal.choices],
        "lot": row.lot.code if row.lot else "",
    }


def _lot_json(lot: Lot) -> dict[str, Any]:
    return {
        "code": lot.code,
        "shown": lot.shown_code,
        "item": lot.item.name,
        "left": _mg(lot.on_hand),
        # All that the page says behind what is left.
        "best": (f" · best before {formatting.day(lot.best_before)}" if lot.best_before else "")
        + (f" · {lot.place_name}" if lot.place_name else "")
        + (f" · {lot.kept_words}" if lot.kept_words else ""),
    }


def _scale_json(scale: Scale) -> dict[str, Any]:
    most, step = (
        formatting.with_unit(grams, "g") for grams in (scale.capacity_g, scale.division_g)
    )
    return {
        "division": _mg(scale.division_g),
        "capacity": _mg(scale.capacity_g),
        "most": f"The {scale.name} takes at most {most}. Weigh it in several goes.",
        "steps": f"The {scale.name} shows steps of {step}; read it again, or choose the scale "
        "you used.",
    }


def _mg(grams: Decimal) -> int:
    """Grams as the script counts them, in whole thousandths."""
    return int(grams.scaleb(3))
