"""What is kept beside a batch: photos, timers; and the limits on the skin."""

from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from workshop.core import formatting
from workshop.core.access import MAKERS, Request, allow
from workshop.kettle import services
from workshop.kettle.adjustments.forms import EndForm, PhotoForm, TimerForm
from workshop.kettle.record.views import act_page, way_back
from workshop.kettle.views import batch_or_404


@require_http_methods(["GET", "POST"])
@allow(MAKERS)
def photo(request: Request, reference: str) -> HttpResponse:
    """Keep a photo with the batch record."""
    batch = batch_or_404(reference)
    form = PhotoForm(request.POST or None, request.FILES or None, batch=batch)

    def keep() -> str:
        row = services.add_photo(batch, **form.cleaned_data, by=request.user, at=timezone.now())
        return f"Kept: a photo, {row.shows}."

    return act_page(request, batch, form, keep, heading=f"A photo of {batch}", back=way_back(batch))


@require_http_methods(["GET", "POST"])
@allow(MAKERS)
def start_timer(request: Request, reference: str) -> HttpResponse:
    """Start a timer; it runs in the book, so a reload or another tablet shows it too."""
    batch = batch_or_404(reference)
    initial = {name: request.GET.get(name) for name in ("step", "minutes")}
    form = TimerForm(request.POST or None, batch=batch, initial=initial)

    def start() -> str:
        row = services.start_timer(batch, **form.cleaned_data, by=request.user, at=timezone.now())
        return f"{row} runs for {row.minutes} min, until {formatting.moment(row.due_at)}."

    heading = f"A timer for {batch}"
    return act_page(request, batch, form, start, heading=heading, back=way_back(batch))


@require_http_methods(["GET", "POST"])
@allow(MAKERS)
def end_timer(request: Request, reference: str, pk: int) -> HttpResponse:
    """End a timer; the minutes it ran become a check of its step."""
    batch = batch_or_404(reference)
    timer = get_object_or_404(batch.timers, pk=pk)
    form = EndForm(request.POST or None)

    def end() -> str:
        services.end_timer(timer, **form.cleaned_data, by=request.user, at=timezone.now())
        return f"Ended: {timer}. The minutes are recorded as a check."

    return act_page(
        request,
        batch,
        form,
        end,
        heading=f"End {timer}?",
        lead=f"Started {formatting.moment(timer.started_at)} for {timer.minutes} min.",
        back=way_back(batch),
    )
