"""Places: all of them, one with what is there, a place entered or changed, its tag."""

from django.contrib import messages
from django.db.models import Count, OuterRef, QuerySet, Subquery
from django.db.models.functions import Coalesce
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from workshop.core.access import EVERYONE, WORKERS, Request, allow
from workshop.core.forms import refusals_on
from workshop.core.paper.pdf import pdf_response
from workshop.core.web.edit_views import edit_page
from workshop.core.web.pagination import asked_for
from workshop.counts.lists import AT_A_PLACE, PLACES
from workshop.counts.places.forms import PlaceForm, PutForm
from workshop.counts.places.tags import tags_pdf
from workshop.curing import services as curing
from workshop.ledger.models import Lot, Place, PlaceKind, Placing
from workshop.rules.codes.lot_codes import normalise_code


def _with_held() -> QuerySet[Place]:
    """Places, each with how many lots in stock stand there."""
    in_stock = Lot.objects.in_stock().values("pk")
    there = Placing.objects.of_now().filter(place=OuterRef("pk"), lot__in=in_stock).order_by()
    number = there.values("place").annotate(number=Count("pk")).values("number")
    return Place.objects.annotate(held=Coalesce(Subquery(number), 0))


@require_GET
@allow(EVERYONE)
def places(request: Request) -> HttpResponse:
    """Every place; a scanned code opens its own."""
    asked = asked_for(request)
    scanned = Place.objects.filter(code=normalise_code(asked)).first() if asked else None
    if scanned:
        return redirect("counts:place", scanned.code)
    return PLACES.read(request, _with_held()).answer("counts/places.html")


@require_http_methods(["GET", "POST"])
@allow(EVERYONE, write=WORKERS)
def place(request: Request, code: str) -> HttpResponse:
    """What is at a place; lots scanned here are put here."""
    found = get_object_or_404(Place, code=normalise_code(code))
    form = PutForm(request.POST or None, initial={"lots": asked_for(request, "lot")})
    if form.is_valid():
        with refusals_on(form):
            typed = form.cleaned_data
            made = curing.move(
                typed["lots"],
                found,
                spot=typed["spot"],
                token=typed["token"],
                by=request.user,
                at=timezone.now(),
            )
            said = ", ".join(str(one.lot) for one in made[:8])
            more = f" and {len(made) - 8} more" if len(made) > 8 else ""
            messages.success(request, f"At {found} now: {said}{more}.")
            return redirect("counts:place", found.code)
    there = Placing.objects.of_now().filter(place=found)
    lots = Lot.objects.in_stock().filter(pk__in=there.values("lot")).select_related("item")
    context = {"place": found, "form": form, "may_move": request.user.role in WORKERS}
    return AT_A_PLACE.read(request, lots).answer("counts/place.html", context)


@require_http_methods(["GET", "POST"])
@allow(WORKERS)
def edit(request: Request, code: str | None = None) -> HttpResponse:
    """Enter a place, or change its words."""
    found = get_object_or_404(Place, code=normalise_code(code)) if code else None
    form = PlaceForm(request.POST or None, instance=found)

    def save() -> Place:
        typed = form.cleaned_data
        return curing.save_place(
            name=typed["name"],
            kind=PlaceKind(typed["kind"]),
            is_active=typed["is_active"],
            place=found and Place.objects.get(pk=found.pk),
            by=request.user,
            at=timezone.now(),
        )

    return edit_page(
        request,
        form,
        save,
        lambda row: ("counts:place", row.code),
        template="counts/edit_place.html",
        place=found,
    )


@require_GET
@allow(EVERYONE)
def tag(request: Request, code: str) -> HttpResponse:
    """The tag of one place, for a label printer."""
    found = get_object_or_404(Place, code=normalise_code(code))
    made = tags_pdf([found], on=timezone.localdate(), on_roll=True)
    return pdf_response(f"tag-{found.code}", made)


@require_GET
@allow(EVERYONE)
def tags(request: Request) -> HttpResponse:
    """The tags of all places in use, on sheets to cut apart."""
    rows = list(Place.objects.filter(is_active=True))
    made = tags_pdf(rows, on=timezone.localdate(), on_roll=False)
    return pdf_response("tags-of-places", made)


@require_GET
@allow(WORKERS)
def where(request: Request, code: str) -> HttpResponse:
    """Choose the place that a lot is put at: scan it, or press it."""
    lot = get_object_or_404(Lot.objects.select_related("item"), code=normalise_code(code))
    asked = asked_for(request)
    scanned = Place.objects.filter(code=normalise_code(asked)).first() if asked else None
    if scanned:
        return redirect(f"{_put(scanned)}?lot={lot.code}")
    chosen = [(one, f"{_put(one)}?lot={lot.code}") for one in Place.objects.filter(is_active=True)]
    context = {"lot": lot, "asked": asked, "places": chosen}
    return render(request, "counts/where.html", context)


def _put(place: Place) -> str:
    return reverse("counts:place", args=[place.code])
