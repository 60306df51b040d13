"""What a delivery that is being typed asks the server: how a row is read, what a code says."""

from datetime import date
from typing import Any

from django.http import JsonResponse
from django.utils import timezone
from django.utils.dateparse import parse_date
from django.views.decorators.http import require_GET

from workshop.core import formatting
from workshop.core.access import WORKERS, Request, allow
from workshop.goods_in.forms import say_reading
from workshop.goods_in.models import Supplier
from workshop.goods_in.named_items import Goods, bought_under, read_quantity
from workshop.goods_in.services import good_until
from workshop.goods_in.views import offer_for
from workshop.ledger.models import Item
from workshop.rules.codes.supplier_label import read_supplier_label
from workshop.rules.errors import RuleError


@require_GET
@allow(WORKERS)
def reading(request: Request) -> JsonResponse:
    """What a row names, how its quantity would be read, and the date it would get by itself."""
    named, text = (request.GET.get(key, "").strip() for key in ("item", "quantity"))
    if not named:
        return _answer()
    goods = offer_for(request).goods
    try:
        found = goods.find(named)
        name = goods.name_of(found)
        said = say_reading(found, read_quantity(found, text)) if text else ""
    except RuleError as error:
        return _answer(said=str(error), understood=False)
    return _answer(item=name, said=f"{said}{_date_of_its_own(found, _day(request))}")


def _answer(*, item: str = "", said: str = "", understood: bool = True) -> JsonResponse:
    return JsonResponse({"item": item, "said": said, "understood": understood})


def _day(request: Request) -> date:
    try:
        return parse_date(request.GET.get("received_on", "")) or timezone.localdate()
    except ValueError:
        return timezone.localdate()


def _date_of_its_own(found: Goods, received_on: date) -> str:
    due = good_until(found, None, received_on) if isinstance(found, Item) else None
    return f"; best before {formatting.day(due)} if its label gives no date" if due else ""


@require_GET
@allow(WORKERS)
def label(request: Request) -> JsonResponse:
    """What the code on a supplier's container fills into a row, or why it fills in nothing."""
    try:
        read = read_supplier_label(request.GET.get("code", ""))
    except RuleError as error:
        return JsonResponse({"values": {}, "said": str(error)})
    item = bought_under(read.gtin)
    values: dict[str, Any] = {
        "supplier_gtin": read.gtin,
        "item": offer_for(request).goods.name_of(item) if item else "",
        "supplier_lot": read.lot,
        "makers_expiry": read.good_until.isoformat() if read.good_until else "",
        "quantity_as_written": read.quantity_as_written,
    }
    said = (
        f"{item}{f', supplier lot {read.lot}' if read.lot else ''}."
        if item
        else f"The number {read.gtin} is new here. Write what is in it; from then on it is known."
    )
    return JsonResponse({"values": values, "said": said})


@require_GET
@allow(WORKERS)
def choices(request: Request) -> JsonResponse:
    """What a receipt may choose from now, for a page that is already half filled in."""
    offer = offer_for(request)
    suppliers = [(str(row.pk), row.name) for row in Supplier.objects.active()]
    return JsonResponse(
        {
            "supplier": [("", suppliers)],
            "certificate": offer.certificate_options,
            "organic": offer.certificate_options,
            "known": offer.goods.names,
        }
    )
