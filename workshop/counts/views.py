"""Counts: rounds, counting on a phone or from paper, how a round ends, classes, what is due."""

from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from workshop.core.access import EVERYONE, OWNER, WORKERS, Request, allow
from workshop.core.formatting import with_unit
from workshop.core.forms import refusals_on
from workshop.core.models import Role, Workshop
from workshop.core.paper.pdf import pdf, pdf_response
from workshop.core.web.pagination import asked_for
from workshop.counts import figures, services
from workshop.counts.due import due_lots
from workshop.counts.forms import ClassesForm, CountForm, EndForm, RoundForm, SheetForm
from workshop.counts.lists import CLASSES, DUE, ROUNDS
from workshop.counts.models import Classing, Count, CountRound
from workshop.counts.rounds import Line, RoundState, stale, state_of, states_of
from workshop.ledger.models import Lot
from workshop.ledger.stock_queries import places_of
from workshop.packing.stock.retained import retained_of
from workshop.rules.codes.lot_codes import near_misses, normalise_code
from workshop.rules.markets.laws import law_of
from workshop.rules.stock.counting import Verdict

FEW = 5


@require_GET
@allow(EVERYONE)
def home(request: Request) -> HttpResponse:
    """Rounds under way, what is due, and every round there was."""
    under_way = CountRound.objects.under_way().select_related("place", "begun_by")
    context = {
        "under_way": states_of(under_way),
        "due": due_lots(timezone.localdate()).count(),
        "classing": Classing.objects.last(),
    }
    rounds = CountRound.objects.with_progress().select_related("place", "end")
    return ROUNDS.read(request, rounds).answer("counts/home.html", context)


@require_GET
@allow(EVERYONE)
def due(request: Request) -> HttpResponse:
    lots = due_lots(timezone.localdate())
    return DUE.read(request, lots).answer("counts/due.html")


@require_http_methods(["GET", "POST"])
@allow(WORKERS)
def new(request: Request) -> HttpResponse:
    """Begin a round."""
    asked = {"only_due": request.GET.get("due") == "yes", "place": request.GET.get("place")}
    form = RoundForm(request.POST or None, initial=asked)
    if form.is_valid():
        with refusals_on(form):
            begun = services.begin_round(
                form.choice, by=request.user, at=timezone.now(), token=form.cleaned_data["token"]
            )
            return redirect("counts:round", begun)
    return render(request, "counts/new.html", {"form": form})


def _round_or_404(reference: str) -> CountRound:
    rows = CountRound.objects.select_related("place", "begun_by", "end__by")
    return get_object_or_404(rows, reference=reference)


@require_GET
@allow(EVERYONE)
def round_(request: Request, reference: str) -> HttpResponse:
    """One round: how far it is, what differs, what was never counted."""
    found = _round_or_404(reference)
    state = state_of(found)
    sees = figures.sees_differences(found, request.user)
    context = {
        "round": found,
        "state": state,
        "accuracy": figures.share(state.accuracy),
        "by_class": [
            (name, counted, right, figures.share(share))
            for name, counted, right, share in state.accuracy_by_class()
        ],
        "sees": sees,
        "differences": figures.differences(state.differing) if sees else [],
        "is_owner": request.user.role == Role.OWNER,
    }
    return render(request, "counts/round.html", context)


@require_GET
@allow(WORKERS)
def count(request: Request, reference: str) -> HttpResponse:
    """What is left to count; a scanned lot opens its page, an unknown code gets a sentence."""
    found = _round_or_404(reference)
    if found.is_over:
        return redirect("counts:round", found)
    asked = asked_for(request)
    if asked and Lot.objects.filter(code=normalise_code(asked)).exists():
        return redirect("counts:line", found, normalise_code(asked))
    state = state_of(found)
    context = {
        "round": found,
        "state": state,
        "asked": asked,
        "misses": _near(asked),
        "left": state.shown_to(request.user),
        "next": state.next_for(request.user),
    }
    return render(request, "counts/count.html", context)


def _near(asked: str) -> list[Lot]:
    if not asked:
        return []
    codes = near_misses(asked)
    lots = Lot.objects.filter(code__in=codes).select_related("item")
    return sorted(lots, key=lambda lot: codes.index(lot.code))


@require_http_methods(["GET", "POST"])
@allow(WORKERS)
def line(request: Request, reference: str, code: str) -> HttpResponse:
    """Count one lot, and go on to the next."""
    found = _round_or_404(reference)
    lot = get_object_or_404(
        Lot.objects.with_on_hand().select_related("item"), code=normalise_code(code)
    )
    if found.is_over:
        messages.info(request, f"{found} is over; nothing is counted in it any more.")
        return redirect("counts:round", found)
    form = CountForm(request.POST or None, lot=lot)
    if form.is_valid():
        with refusals_on(form):
            made = services.record_count(
                found, lot, **form.cleaned_data, by=request.user, at=timezone.now()
            )
            return _go_on(request, found, made)
    state = state_of(found)
    mine = next((one for one in state.lines if one.row.lot_id == lot.pk), None)
    where = places_of([lot.pk]).get(lot.pk)
    context = {
        "round": found,
        "state": state,
        "lot": lot,
        "line": mine,
        "where": where,
        "form": form,
        "kept": retained_of(lot),
        "sees": figures.sees_the_book(found),
        "again": mine is not None and mine.verdict is Verdict.AGAIN,
        "mine_last": mine is not None and mine.counted_last_by(request.user),
    }
    return render(request, "counts/line.html", context)


def _go_on(request: Request, found: CountRound, made: Count) -> HttpResponse:
    """Say what was written down, and open the next lot to count."""
    state, person = state_of(found), request.user
    counted = next(one for one in state.lines if one.row.pk == made.line_id)
    told = messages.warning if counted.verdict is Verdict.AGAIN else messages.success
    told(request, _told(counted))
    following = state.next_for(person, made.line_id)
    if following is None or following.counted_last_by(person):
        return redirect("counts:count", found)
    return redirect("counts:line", found, following.row.lot.code)


def _told(mine: Line) -> str:
    """What was written down; of a blind round nothing that tells what the book says."""
    lot, last = mine.row.lot, mine.counts[-1]
    said = f"{with_unit(last.counted, lot.item.unit)} of lot {lot}, {lot.item}."
    if mine.row.is_found and len(mine.counts) == 1:
        said += " It was not on the list and is added as found."
    if mine.verdict is Verdict.AGAIN:
        said += " It is to be counted again, best by somebody else."
    return said


@require_GET
@allow(EVERYONE)
def sheet(request: Request, reference: str) -> HttpResponse:
    """The count sheet on paper, without a figure of the book."""
    found = _round_or_404(reference)
    state = state_of(found)
    workshop = Workshop.objects.first()
    context = {
        "round": found,
        "groups": _by_place(state),
        "workshop": workshop,
        "paper": law_of(workshop.market).paper if workshop else "letter",
        "printed_at": timezone.now(),
        "printed_by": request.user,
    }
    return pdf_response(f"count-sheet-{found}", pdf("counts/print/sheet.html", context))


def _by_place(state: RoundState) -> list[tuple[str, list[Line]]]:
    groups: dict[str, list[Line]] = {}
    for one in state.lines:
        groups.setdefault(str(one.row.place or "No place noted"), []).append(one)
    return list(groups.items())


@require_http_methods(["GET", "POST"])
@allow(WORKERS)
def enter(request: Request, reference: str) -> HttpResponse:
    """Enter a sheet of paper."""
    found = _round_or_404(reference)
    if found.is_over:
        return redirect("counts:round", found)
    state = state_of(found)
    form = SheetForm(request.POST or None, lines=state.open_lines)
    if form.is_valid():
        with refusals_on(form):
            made = services.record_sheet(
                found,
                form.figures,
                counted_at=form.counted_at,
                token=form.cleaned_data["token"],
                by=request.user,
                at=timezone.now(),
            )
            messages.success(
                request, f"{len(made)} lot{'' if len(made) == 1 else 's'} entered from paper."
            )
            return redirect("counts:round", found)
    rows = [(one, form.field_of(one.row.lot)) for one in state.open_lines]
    context = {"round": found, "state": state, "form": form, "rows": rows}
    return render(request, "counts/enter.html", context)


@require_http_methods(["GET", "POST"])
@allow(OWNER)
def end(request: Request, reference: str) -> HttpResponse:
    """An owner looks at what differs, says why, and signs."""
    found = _round_or_404(reference)
    if found.is_over:
        return redirect("counts:round", found)
    state = state_of(found)
    form = EndForm(request.POST or None, state=state, request=request)
    if form.is_valid():
        with refusals_on(form):
            done = services.end_round(
                found,
                form.reasons,
                confirmed=form.cleaned_data["password"],
                token=form.cleaned_data["token"],
                by=request.user,
                at=timezone.now(),
            )
            posted = done.posted.count()
            messages.success(
                request,
                f"{found} is over: the book was adjusted for {posted} "
                f"lot{'' if posted == 1 else 's'}.",
            )
            return redirect("counts:round", found)
    no_longer = stale(state.differing)
    rows = [
        (one, no_longer.get(one.line.row.pk, ""), *form.fields_of(one.line))
        for one in figures.differences(state.differing)
    ]
    context: dict[str, Any] = {"round": found, "state": state, "form": form, "rows": rows}
    return render(request, "counts/end.html", context)


@require_http_methods(["GET", "POST"])
@allow(EVERYONE, write=OWNER)
def classes(request: Request) -> HttpResponse:
    """The class of every item; an owner works them out anew."""
    form = ClassesForm(request.POST or None)
    if form.is_valid():
        with refusals_on(form):
            services.reckon_classes(
                by=request.user, at=timezone.now(), token=form.cleaned_data["token"]
            )
            messages.success(request, "Every item has its class, by the past year's use.")
            return redirect("counts:classes")
    context = {
        "classing": Classing.objects.select_related("by").last(),
        "form": form,
        "is_owner": request.user.role == Role.OWNER,
    }
    return CLASSES.read(request, services.latest_classes()).answer("counts/classes.html", context)
