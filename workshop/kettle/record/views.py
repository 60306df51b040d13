"""What is done around the weighing: checks, the pour, decisions, closing and opening again."""

from collections.abc import Callable, Sequence
from decimal import Decimal
from functools import partial
from typing import Any

from django import forms
from django.contrib import messages
from django.db.models import QuerySet
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from workshop.core import formatting
from workshop.core.access import MAKERS, OWNER, Request, allow
from workshop.core.errors import ActionRefused
from workshop.core.forms import (
    refusals_on,
    refuse,
)
from workshop.kettle import services
from workshop.kettle.models import Batch
from workshop.kettle.record.forms import (
    AmendBatchForm,
    BatchDecisionForm,
    CheckForm,
    LeftBackForm,
    LeftForm,
    PourForm,
    ReleaseForm,
    YieldForm,
    parts_of,
)
from workshop.kettle.services.losses_from_batch import unexplained_g
from workshop.kettle.soap_readiness import why_unsafe
from workshop.kettle.views import batch_or_404
from workshop.kettle.weighing.safety_cautions import of_step
from workshop.kettle.weighing.weighed_superfat import soap_in
from workshop.ledger.models import Lot, ShedKind, Side, Status
from workshop.ledger.release_conditions import unmet
from workshop.ledger.stock_queries import with_last_reason
from workshop.rules.quantities.units import round_to
from workshop.rules.soap.lye import CAUTIONS


def act_page(
    request: Request,
    batch: Batch,
    form: forms.Form,
    do: Callable[[], str],
    *,
    heading: str,
    lead: str = "",
    back: str = "kettle:batch",
    **more: Any,
) -> HttpResponse:
    """A page of one form; when it is sent and right, `do` does the work and says what it wrote."""
    if form.is_valid():
        with refusals_on(form):
            sentence = do()
            messages.success(request, sentence)
            return redirect(back, reference=batch.operation.reference)
    context = {"batch": batch, "form": form, "heading": heading, "lead": lead, "back": back}
    return render(request, "kettle/act.html", context | more)


@require_http_methods(["GET", "POST"])
@allow(MAKERS)
def check(request: Request, reference: str) -> HttpResponse:
    batch = batch_or_404(reference)
    initial = {name: request.GET.get(name) for name in ("step", "kind")}
    form = CheckForm(request.POST or None, batch=batch, initial=initial)

    def record() -> str:
        row = services.add_check(batch, **form.cleaned_data, by=request.user, at=timezone.now())
        outside = "" if row.is_within else " It is outside the limits of the step."
        return f"Recorded: {row.get_kind_display()}, {formatting.moment(row.at)}.{outside}"

    steps = [(step, of_step(step)) for step in batch.version.steps.all()]
    heading = f"A check of {batch}"
    return act_page(
        request,
        batch,
        form,
        record,
        heading=heading,
        back=way_back(batch),
        steps=steps,
        timers=batch.timers.running(),
        may_time=not batch.is_ended,
    )


def way_back(batch: Batch) -> str:
    return "kettle:weigh" if batch.is_being_weighed else "kettle:batch"


@require_http_methods(["GET", "POST"])
@allow(MAKERS)
def pour(request: Request, reference: str) -> HttpResponse:
    """Put the measured yield out as bulk lots, in quarantine until the owner releases them."""
    batch = batch_or_404(reference)
    form, parts = PourForm(request.POST or None, batch=batch), parts_of(batch, request.POST or None)
    if request.method == "POST" and form.is_valid() & parts.is_valid():
        filled = [part.cleaned_data for part in parts if part.cleaned_data.get("measured_g")]
        outputs = [(part["item"], part["measured_g"]) for part in filled]
        try:
            lots = services.pour(batch, outputs, **form.values, by=request.user, at=timezone.now())
        except ActionRefused as error:
            _refuse_pour(form, parts, error)
        else:
            messages.success(request, _poured(batch_or_404(reference), lots))
            return redirect("kettle:batch", reference=reference)
    lines = batch.lines.with_taken().select_related("item")
    outside = [line for line in lines if line.is_planned and not line.is_within]
    context = {
        "batch": batch,
        "form": form,
        "parts": parts,
        "outside": outside,
        "soap": (soap := soap_in(batch)),
        "lye_cautions": CAUTIONS if soap else (),
        "split": any(part.errors or part.has_changed() for part in parts.forms[1:]),
        "expected_g": _expected_g(batch),
    }
    return render(request, "kettle/pour.html", context)


def _expected_g(batch: Batch) -> Decimal:
    grams = batch.taken_g * (100 - batch.expected_loss) / 100
    return round_to(grams, batch.scale.division_g)


def _refuse_pour(form: PourForm, parts: Any, error: ActionRefused) -> None:
    if error.field == "measured_g" and parts.forms:
        parts.forms[0].add_error("measured_g", error.message)
    else:
        refuse(form, error)


def _poured(batch: Batch, lots: Sequence[Lot]) -> str:
    left, rest = batch.operation.sheds.grams(), unexplained_g(batch)
    percent = formatting.number(100 * rest / batch.taken_g, most=2)
    codes = ", ".join(str(lot) for lot in lots)
    said = f" {formatting.with_unit(left, 'g')} left otherwise." if left else ""
    return (
        f"{formatting.with_unit(batch.put_out_g, 'g')} poured as lot {codes}, in quarantine.{said} "
        f"Unexplained: {formatting.with_unit(rest, 'g')}, {percent} %."
    )


@require_http_methods(["GET", "POST"])
@allow(MAKERS)
def left(request: Request, reference: str) -> HttpResponse:
    """Say what left the batch without being poured."""
    batch = batch_or_404(reference)
    form = LeftForm(request.POST or None, batch=batch)

    def record() -> str:
        values = {**form.cleaned_data, "kind": ShedKind(form.cleaned_data["kind"])}
        rows = services.say_left(batch, **values, by=request.user, at=timezone.now())
        grams = formatting.with_unit(sum((row.quantity for row in rows), Decimal(0)), "g")
        marked = " (an estimate)" if rows[0].is_estimated else ""
        return f"Recorded: {grams} {rows[0].get_kind_display()}{marked}."

    rest = formatting.with_unit(unexplained_g(batch), "g")
    lead = f"Of what went in, {rest} is neither poured nor said to have left."
    heading = f"What left {batch}"
    return act_page(request, batch, form, record, heading=heading, lead=lead, back=way_back(batch))


@require_http_methods(["GET", "POST"])
@allow(MAKERS)
def left_back(request: Request, reference: str, pk: int) -> HttpResponse:
    batch = batch_or_404(reference)
    row = get_object_or_404(batch.operation.sheds.effective(), pk=pk)
    form = LeftBackForm(request.POST or None)

    def take_back() -> str:
        services.take_left_back(row, **form.cleaned_data, by=request.user, at=timezone.now())
        return f"Taken back: {row}."

    grams = formatting.with_unit(row.quantity, "g")
    heading = f"Take back: {grams} {row.get_kind_display()}"
    return act_page(request, batch, form, take_back, heading=heading)


@require_http_methods(["GET", "POST"])
@allow(MAKERS)
def mend_yield(request: Request, reference: str, pk: int) -> HttpResponse:
    """Put a wrong yield right while the batch is open."""
    batch = batch_or_404(reference)
    yields = batch.operation.postings.effective().filter(side=Side.OUT).select_related("lot__item")
    posting = get_object_or_404(yields, pk=pk)
    form = YieldForm(request.POST or None)

    def mend() -> str:
        new = services.correct_yield(
            posting, **form.cleaned_data, by=request.user, at=timezone.now()
        )
        return f"Lot {posting.lot} now has a yield of {formatting.with_unit(new.moved, 'g')}."

    was = formatting.with_unit(posting.moved, "g")
    heading = f"Correct the yield of lot {posting.lot}, now {was}"
    return act_page(request, batch, form, mend, heading=heading)


@require_http_methods(["GET", "POST"])
@allow(OWNER)
def release(request: Request, reference: str) -> HttpResponse:
    batch = batch_or_404(reference)
    form = ReleaseForm(request.POST or None, request=request, lacks=_not_ready(batch))

    def sign() -> str:
        typed = dict(form.cleaned_data)
        signed = {"confirmed": typed.pop("password"), **typed}
        lots = services.release_batch(batch, by=request.user, at=timezone.now(), **signed)
        return f"Released: lot {', '.join(map(str, lots))}."

    return act_page(
        request,
        batch,
        form,
        sign,
        heading=f"Release the bulk of {batch}",
        lead="You sign that the record was reviewed, that every deviation is explained and that "
        "the bulk may be packed.",
        soap=soap_in(batch),
        not_ready=_not_ready(batch),
        lots=waiting_lots(batch),
    )


def _not_ready(batch: Batch) -> list[str]:
    today = timezone.localdate()
    lots = list(batch.operation.lots.select_related("item", "origin"))
    unsafe = filter(None, map(why_unsafe, lots))
    return [*unsafe, *(sentence for lot in lots for sentence in unmet(lot, today))]


def waiting_lots(batch: Batch) -> QuerySet[Lot]:
    """The bulk that a release would release, each lot with why it stands where it does."""
    waiting = batch.operation.lots.filter(status__in=[Status.QUARANTINE, Status.ON_HOLD])
    return with_last_reason(waiting.order_by("pk"))


DECISIONS: dict[str, tuple[str, Callable[..., Any], str]] = {
    "hold": ("Put the bulk of {} on hold", services.hold_batch, "On hold"),
    "reject": ("Reject the bulk of {}", services.reject_batch, "Rejected"),
    "abandon": ("Abandon {}", services.abandon_batch, "Abandoned and closed"),
    "amend": ("Open the record of {} again", services.amend_batch, "Open again"),
}
LEADS = {
    "abandon": "What was weighed in is accounted as lost, and the record is sealed.",
    "amend": "The seal stays. What you change is recorded beside what was there, "
    "and closing seals the record again.",
}


@require_http_methods(["GET", "POST"])
@allow(OWNER)
def decide(request: Request, reference: str, act: str) -> HttpResponse:
    """Hold, reject or open again, each with a reason."""
    return _decided(request, reference, act)


@require_http_methods(["GET", "POST"])
@allow(MAKERS)
def abandon(request: Request, reference: str) -> HttpResponse:
    """Stop a batch that will not be poured."""
    return _decided(request, reference, "abandon")


def _decided(request: Request, reference: str, act: str) -> HttpResponse:
    batch = batch_or_404(reference)
    heading, service, word = DECISIONS[act]
    form = _decision_form(request, act)
    do = partial(_do, request, batch, form, service, word)
    return act_page(
        request, batch, form, do, heading=heading.format(batch), lead=LEADS.get(act, "")
    )


def _decision_form(request: Request, act: str) -> forms.Form:
    if act == "amend":
        return AmendBatchForm(request.POST or None, request=request)
    return BatchDecisionForm(request.POST or None)


def _do(
    request: Request, batch: Batch, form: forms.Form, service: Callable[..., Any], word: str
) -> str:
    reason = form.cleaned_data["reason"]
    service(batch, by=request.user, at=timezone.now(), reason=reason)
    return f"{word}: {batch} ({reason})."


@require_http_methods(["POST"])
@allow(OWNER)
def close(request: Request, reference: str) -> HttpResponse:
    """Close the batch; its whole record is sealed."""
    batch = batch_or_404(reference)
    try:
        services.close_batch(batch, by=request.user, at=timezone.now())
    except ActionRefused as error:
        messages.error(request, error.message)
    else:
        seal = batch.operation.seals.latest("number")
        messages.success(request, f"{batch} is closed; seal {seal.number}, {seal.digest[:12]}….")
    return redirect("kettle:batch", reference=reference)
