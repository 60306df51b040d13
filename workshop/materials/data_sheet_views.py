"""Pages of what a certificate of analysis or a data sheet says: allergens of lots and materials."""

from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from workshop.core.access import EVERYONE, PACKERS, WORKERS, Request, allow
from workshop.core.formatting import number
from workshop.ledger.models import Item, ItemKind, Lot
from workshop.materials.data_sheet_forms import ContentsForm
from workshop.materials.services import data_sheets
from workshop.rules.allergens.certificate import AllergenCertificate
from workshop.rules.allergens.thresholds import CAUTION, find_allergens
from workshop.rules.codes.lot_codes import normalise_code

BANNED = "prohibited in cosmetics"


@require_http_methods(["GET", "POST"])
@allow(EVERYONE, write=PACKERS)
def item_contents(request: Request, code: str) -> HttpResponse:
    """The usual allergens of a material, for lots whose certificate gives none."""
    item = get_object_or_404(Item, code=code, kind=ItemKind.MATERIAL)
    form = ContentsForm(request.POST or None, initial=_typed(item))
    if form.is_valid():
        data_sheets.save_contents(item, **form.figures(), by=request.user, at=timezone.now())
        messages.success(request, f"{_said(form.read)} of {item} as a rule.")
        return redirect("materials:material-allergens", code=item.code)
    context = {"item": item, "may_write": request.user.role in PACKERS}
    return _shown(request, item, form, context)


@require_http_methods(["GET", "POST"])
@allow(EVERYONE, write=WORKERS)
def lot_contents(request: Request, code: str) -> HttpResponse:
    """The allergens of one lot by its certificate of analysis; they beat the usual ones."""
    bought = Lot.objects.filter(item__kind=ItemKind.MATERIAL)
    rows = bought.select_related("item", "receipt_line__analysis")
    lot = get_object_or_404(rows, code=normalise_code(code))
    form = ContentsForm(request.POST or None, initial=_typed(lot))
    if form.is_valid():
        data_sheets.save_contents(lot, **form.figures(), by=request.user, at=timezone.now())
        messages.success(request, f"{_said(form.read)} of lot {lot}.")
        return redirect("materials:lot-allergens", code=lot.code)
    line = getattr(lot, "receipt_line", None)
    context = {
        "item": lot.item,
        "lot": lot,
        "analysis": line and line.analysis,
        "may_write": request.user.role in WORKERS,
    }
    return _shown(request, lot, form, context)


def _said(read: AllergenCertificate) -> str:
    count = len(read.percents)
    kept = f"{count} allergen{'' if count == 1 else 's'}" if count else "No allergens"
    left = f" (left out, not on the list: {', '.join(read.not_listed)})" if read.not_listed else ""
    return f"Kept: {kept}{left}"


def _shown(
    request: Request, of: Item | Lot, form: ContentsForm, context: dict[str, Any]
) -> HttpResponse:
    rows = [
        (row, _counts_as(row.name), number(row.share, least=4, most=4))
        for row in of.allergens.all()
    ]
    banned = [row for row, counts_as, _ in rows if counts_as == BANNED and row.share]
    context |= {"form": form, "rows": rows, "banned": banned, "caution": CAUTION}
    return render(request, "materials/allergens.html", context)


def _counts_as(name: str) -> str:
    """The entry of the list that a component or CAS number stands for, if it is another name."""
    entries = find_allergens(name)
    if not entries:
        return BANNED
    return ", ".join(entry.name for entry in entries if entry.name != name)


def _typed(of: Item | Lot) -> dict[str, str]:
    """The figures as the form takes them."""
    rows = list(of.allergens.all())
    lines = [f"{row.name} {row.share.normalize():f} %" for row in rows]
    return {"allergens": "\n".join(lines), "source": rows[0].source if rows else ""}
