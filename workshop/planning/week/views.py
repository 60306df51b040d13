"""The week: what to make and pack on which day, and why; looked at, changed, accepted, printed."""

from datetime import date, timedelta
from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.dateparse import parse_date
from django.views.decorators.http import require_GET, require_http_methods

from workshop.core.access import EVERYONE, OWNER, Request, allow
from workshop.core.errors import ActionRefused
from workshop.core.paper.pdf import pdf, pdf_response
from workshop.core.saving.new_tokens import new_token
from workshop.ledger.models import Item
from workshop.planning import services
from workshop.planning.buying.needs import needs
from workshop.planning.current_terms import hours_now
from workshop.planning.week.asked_changes import (
    Asked,
    address,
    asked_changes,
    hidden,
    item_in,
    usual_monday,
    without_change,
)
from workshop.planning.week.jobs import DAYS, Frame
from workshop.planning.week.kettles import curing
from workshop.planning.week.planner import propose
from workshop.planning.week.proposal import Proposal
from workshop.planning.week_and_stock_pictures import PAGE, PAPER, board_of, draw_week
from workshop.rules.errors import RuleError

MOST_TO_BUY = 6
FARTHEST_WEEKS = 26
NUMBERS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")


@require_GET
@allow(EVERYONE)
def home(request: Request) -> HttpResponse:
    """The proposal for a week, changed as the address says; reading it writes nothing."""
    asked = asked_changes(request.GET)
    return _show(request, asked, _monday(request.GET.get("week", "")))


def _show(request: Request, asked: Asked, monday: date, *, refused: str = "") -> HttpResponse:
    today = timezone.localdate()
    try:
        proposal = propose(monday=monday, today=today, changes=asked.changes)
    except RuleError as error:
        return render(request, "planning/cannot.html", {"why": str(error)})
    context = _context(proposal, asked) | {"refused": refused, "token": new_token()}
    return render(request, "planning/week.html", context)


def _context(proposal: Proposal, asked: Asked) -> dict[str, Any]:
    frame = proposal.frame
    due = [one for one in needs(today=frame.today) if one.is_due]
    words = sentence(proposal)
    board = board_of(proposal, curing(frame))
    days = [frame.day(index) for index in range(DAYS)]
    changed = {*asked.changes.days, *asked.changes.amounts, *asked.changes.without}
    return {
        "proposal": proposal,
        "sentence": words,
        "picture": draw_week(board, words, PAGE),
        "days": [
            (index, day)
            for index, day in enumerate(days)
            if proposal.minutes[index] or index >= frame.start
        ],
        "by_day": [(day, [row for row in proposal.rows if row.day == day]) for day in days],
        "due": due[:MOST_TO_BUY],
        "due_count": len(due),
        "changed_line": asked,
        "hidden": hidden(asked.changes),
        "undo": _undo(proposal, asked, sorted(changed)),
        "changed": changed,
        "query": address(frame.monday, asked.changes),
        "before": address(frame.monday - timedelta(days=DAYS), type(asked.changes)()),
        "after": address(frame.monday + timedelta(days=DAYS), type(asked.changes)()),
        "has_before": frame.monday > frame.today - timedelta(days=frame.today.weekday()),
        "load": [
            (day, taken, minutes)
            for day, taken, minutes in zip(days, proposal.taken, proposal.minutes, strict=True)
            if minutes
        ],
    }


def _undo(proposal: Proposal, asked: Asked, changed: list[str]) -> list[tuple[str, str, str]]:
    """Each line that was changed: what it is, what was changed, and the address without that."""
    names = {row.key: str(row.item) for row in proposal.rows}
    names |= {one.job.key: str(one.item) for one in proposal.undone}
    items = Item.objects.in_bulk({pk for key in changed if (pk := item_in(key)) is not None})
    found = []
    for key in changed:
        known = items.get(item_in(key) or 0)
        name = names.get(key) or str(known or "A line that is no longer there")
        said = "left out" if key in asked.changes.without else "another day or amount"
        rest = address(proposal.frame.monday, without_change(asked.changes, key))
        found.append((name, said, rest))
    return found


def sentence(proposal: Proposal) -> str:
    """What the week comes to, in one sentence."""
    monday = proposal.frame.monday
    batches, runs = len(proposal.batches), len(proposal.runs)
    if not batches and not runs:
        return f"The week of {monday.day} {monday:%B}: nothing has to be made"
    return (
        f"The week of {monday.day} {monday:%B}: {_count(batches, 'batch', 'batches')}, "
        f"{_count(runs, 'packing run', 'packing runs')}"
    )


def _count(number: int, one: str, several: str) -> str:
    said = NUMBERS[number] if number < len(NUMBERS) else str(number)
    return f"{said} {one if number == 1 else several}"


def _monday(text: str) -> date:
    """The Monday of the week that is asked for; else of the one to look at now."""
    today = timezone.localdate()
    usual = usual_monday(today, hours_now().days)
    try:
        asked = parse_date(text)
    except ValueError:
        asked = None
    if asked is None:
        return usual
    this = today - timedelta(days=today.weekday())
    monday = asked - timedelta(days=asked.weekday())
    return monday if this <= monday <= this + timedelta(weeks=FARTHEST_WEEKS) else usual


@require_http_methods(["POST"])
@allow(OWNER)
def accept(request: Request) -> HttpResponse:
    """Plan the batches of the week that was looked at."""
    asked = asked_changes(request.POST)
    monday = _monday(request.POST.get("week", ""))
    try:
        week = services.accept_week(
            monday=monday,
            today=timezone.localdate(),
            changes=asked.changes,
            mark=request.POST.get("mark", "")[:40],
            by=request.user,
            at=timezone.now(),
            token=request.POST.get("token", "")[:64] or new_token(),
        )
    except (ActionRefused, RuleError) as error:
        return _show(request, asked, monday, refused=str(error))
    batches = [str(one.batch) for one in week.batches.select_related("batch__operation")]
    said = f"Planned: {', '.join(batches)}." if batches else "The packing runs are noted."
    messages.success(request, f"{said} Their lots are reserved.")
    return redirect(f"{reverse('planning:home')}?week={monday.isoformat()}")


@require_GET
@allow(EVERYONE)
def paper(request: Request) -> HttpResponse:
    """The week on paper: the same picture, and what is done on each day."""
    asked = asked_changes(request.GET)
    monday = _monday(request.GET.get("week", ""))
    proposal = propose(monday=monday, today=timezone.localdate(), changes=asked.changes)
    words = sentence(proposal)
    board = board_of(proposal, curing(Frame(monday, timezone.localdate(), 1)))
    context = {
        "proposal": proposal,
        "sentence": words,
        "picture": draw_week(board, words, PAPER),
        "by_day": [
            (day, rows)
            for index in range(DAYS)
            for day in [proposal.frame.day(index)]
            for rows in [[row for row in proposal.rows if row.day == day]]
            if rows
        ],
        "made": timezone.now(),
    }
    made = pdf("planning/print/week.html", context)
    return pdf_response(f"week-{monday.isoformat()}", made)
