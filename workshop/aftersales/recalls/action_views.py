"""What is done in a recall or a drill: begun, held, talked about, closed."""

import secrets
from collections.abc import Callable
from typing import Any

from django import forms
from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from workshop.aftersales.models import Complaint, Recall
from workshop.aftersales.named_lot import read_asked, shown_asked
from workshop.aftersales.recalls.close_forms import CloseRecallForm
from workshop.aftersales.recalls.forms import (
    DrillForm,
    RecallForm,
    RecallNoteForm,
    TalkForm,
    TermsForm,
    TokenForm,
)
from workshop.aftersales.recalls.open_issues import missing_said
from workshop.aftersales.recalls.scope import scope_of, scope_of_lot
from workshop.aftersales.recalls.views import MOST_SHOWN, recall_or_404
from workshop.aftersales.services import recalls
from workshop.aftersales.services.recall_terms import set_terms
from workshop.core.access import EVERYONE, OWNER, Request, allow
from workshop.core.errors import ActionRefused
from workshop.core.formatting import THIN, number
from workshop.core.forms import (
    refusals_on,
)
from workshop.core.saving.new_tokens import new_token
from workshop.core.web.pagination import asked_for
from workshop.dispatch.models import Customer
from workshop.ledger.models import Lot


@require_http_methods(["GET", "POST"])
@allow(OWNER)
def new(request: Request) -> HttpResponse:
    """Begin a recall, after a look at what it would reach."""
    complaint = Complaint.objects.filter(reference=asked_for(request, "complaint")).first()
    asked = read_asked(request)
    form = RecallForm(request.POST or None, initial={"lot": shown_asked(request, asked)})
    if form.is_valid():
        with refusals_on(form):
            begun = recalls.start(
                **form.cleaned_data, complaint=complaint, by=request.user, at=timezone.now()
            )
            messages.success(request, _begun(begun))
            return redirect("aftersales:recall", reference=begun.reference)
    reading = form.reading if form.is_bound else asked
    lot = reading.lot if reading else None
    context = {
        "form": form,
        "lot": lot,
        "reading": reading,
        "reach": scope_of_lot(lot) if lot else None,
        "complaint": complaint,
        "most": MOST_SHOWN,
    }
    return render(request, "aftersales/recall_new.html", context)


def _begun(begun: Recall) -> str:
    held = begun.entries.filter(what="held").first()
    lots = f"on hold: {held.words}" if held else "nothing was left in the house to put on hold"
    return f"Recall {begun} of lot {begun.lot} is open; {lots}."


@require_http_methods(["GET", "POST"])
@allow(OWNER)
def new_drill(request: Request) -> HttpResponse:
    asked = read_asked(request)
    form = DrillForm(request.POST or None, initial={"lot": shown_asked(request, asked)})
    if form.is_valid():
        with refusals_on(form):
            begun = recalls.start(
                form.cleaned_data["lot"] or _any_lot(),
                reason=form.cleaned_data["reason"],
                is_drill=True,
                token=form.cleaned_data["token"],
                by=request.user,
                at=timezone.now(),
            )
            return redirect("aftersales:recall", reference=begun.reference)
    reading = form.reading if form.is_bound else asked
    context = {"form": form, "lot": reading.lot if reading else None, "reading": reading}
    return render(request, "aftersales/drill_new.html", context)


def _any_lot() -> Lot:
    """Any lot with the same chance, without sorting them all by a random number."""
    lots = Lot.objects.order_by("pk")
    count = lots.count()
    if not count:
        raise ActionRefused("There is no lot in the book yet.")
    return lots[secrets.randbelow(count)]


@require_POST
@allow(frozenset(), write=OWNER)
def hold(request: Request, reference: str) -> HttpResponse:
    found = recall_or_404(reference)
    form = TokenForm(request.POST)
    token = form.cleaned_data["token"] if form.is_valid() else new_token()
    try:
        lots = recalls.hold(found, by=request.user, at=timezone.now(), token=token)
    except ActionRefused as error:
        messages.error(request, error.message)
    else:
        named = ", ".join(str(lot) for lot in lots) or "nothing more to put on hold"
        messages.success(request, f"On hold: {named}.")
    return redirect("aftersales:recall", reference=found.reference)


@require_http_methods(["GET", "POST"])
@allow(OWNER)
def terms(request: Request, reference: str) -> HttpResponse:
    found = recall_or_404(reference)
    form = TermsForm(request.POST or None, recall=found)
    said = f"The terms of recall {found} are changed; the log says why."
    return _act(request, found, form, "Change the terms", set_terms, said)


@require_http_methods(["GET", "POST"])
@allow(OWNER)
def note(request: Request, reference: str) -> HttpResponse:
    found = recall_or_404(reference)
    form = RecallNoteForm(request.POST or None)
    said = f"It stands in the log of {found.word} {found}."
    return _act(request, found, form, "Add to the log", recalls.note, said)


@require_http_methods(["GET", "POST"])
@allow(OWNER)
def close(request: Request, reference: str) -> HttpResponse:
    found = recall_or_404(reference)
    form = CloseRecallForm(request.POST or None, recall=found, lines=scope_of(found).lines)

    def end(recall: Recall, **values: Any) -> None:
        kept = {name: values[name] for name in ("by", "at", "token")}
        cause, sure = values.get("cause", ""), values["sure"]
        recalls.close(recall, cause=cause, found=form.found, sure=sure, **kept)

    heading = "Stop the clock" if found.is_drill else "Reconcile and close"
    return _act(request, found, form, heading, end, "")


def _act(
    request: Request,
    found: Recall,
    form: forms.Form,
    heading: str,
    service: Callable[..., Any],
    said: str,
) -> HttpResponse:
    if form.is_valid():
        with refusals_on(form):
            service(found, **form.cleaned_data, by=request.user, at=timezone.now())
            if said:
                messages.success(request, said)
            else:
                _tell_end(request, found)
            return redirect("aftersales:recall", reference=found.reference)
    context = {"recall": found, "form": form, "heading": heading}
    context["seconds"] = int((timezone.now() - found.started_at).total_seconds())
    return render(request, "aftersales/recall_act.html", context)


@require_http_methods(["GET", "POST"])
@allow(EVERYONE, write=OWNER)
def customer(request: Request, reference: str, pk: int) -> HttpResponse:
    """One customer of a recall: what they have, what was said, and the next call."""
    found, person = recall_or_404(reference), get_object_or_404(Customer, pk=pk)
    form = TalkForm(request.POST or None, recall=found, customer=person)
    if form.is_valid():
        with refusals_on(form):
            recalls.talk(
                found,
                person,
                **form.talk,
                token=form.cleaned_data["token"],
                by=request.user,
                at=timezone.now(),
            )
            messages.success(request, f"{person}: it stands in the log of {found}.")
            return redirect("aftersales:recall", reference=found.reference)
    buyers = [buyer for buyer in scope_of(found).buyers if buyer.customer.pk == pk]
    if not buyers:
        raise Http404("This customer was sent none of these lots.")
    may_act = request.user.role in OWNER and not found.is_closed
    context = {"recall": found, "buyer": buyers[0], "form": form if may_act else None}
    return render(request, "aftersales/recall_customer.html", context)


def _tell_end(request: Request, found: Recall) -> None:
    """How long it took, what was not found, and who could be reached; good only if all is there."""
    closed = Recall.objects.select_related("lot__item").get(pk=found.pk)
    reach = scope_of(closed)
    missing = missing_said(reach)
    told = [f"{closed.word.capitalize()} {closed} is closed after {closed.took_shown} (h:min:s)"]
    if reach.percent is not None:
        part = number(reach.percent, least=2, most=2)
        told.append(f"{part}{THIN}% of the finished units are accounted for")
        if reach.percent_reached is not None:
            reached = number(reach.percent_reached, least=2, most=2)
            could = "could be" if closed.is_drill else "were"
            told[-1] += f", {reached}{THIN}% of those out {could} reached"
    elif not missing:
        told.append("no finished unit was affected")
    say = messages.warning if missing else messages.success
    say(request, "; ".join(told) + "." + (f" {missing}" if missing else ""))
