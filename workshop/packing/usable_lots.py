"""Which lots may be packed: every other is refused here, with its sentence.

Which may go into a kettle is in `kettle/weighing/lot_selection.py`: `refusal`; which may be sent
out, in `dispatch/services/dispatches.py`. What is offered follows `LotQuerySet.available` of
`ledger/models/ledger.py`.
"""

from collections.abc import Iterable
from datetime import date

from workshop.core.errors import ActionRefused
from workshop.core.formatting import day
from workshop.curing.release_readiness import too_light
from workshop.kettle.soap_readiness import why_unsafe
from workshop.ledger.models import Item, ItemKind, Lot, Status
from workshop.ledger.release_conditions import unmet_and_not_passed_over
from workshop.packing.models import Product
from workshop.packing.run_figures import Packing, lot_field
from workshop.rules.dates.best_before import is_past


def refuse_unusable_lots(product: Product, done: Packing) -> None:
    for lots, item in ((done.bulk, product.bulk), (done.containers, product.container)):
        for lot in lots:
            _refuse_other_item(lot, item, product)
    for lot in done.others:
        _refuse_no_packaging(lot, product)
    _refuse_unfit(product, done.taken, done.made_on)


def _refuse_other_item(lot: Lot, item: Item, product: Product) -> None:
    if lot.item_id != item.pk:
        raise ActionRefused(
            f"Lot {lot} is {lot.item}, and {product} is packed with {item}.", field=lot_field(lot)
        )


def _refuse_no_packaging(lot: Lot, product: Product) -> None:
    if lot.item.kind != ItemKind.PACKAGING:
        raise ActionRefused(
            f"Lot {lot} is {lot.item}, which is not packaging.", field=lot_field(lot)
        )
    if lot.item_id == product.container_id:
        raise ActionRefused(f"Lot {lot} holds the containers themselves.", field=lot_field(lot))


def _refuse_unfit(product: Product, lots: Iterable[Lot], made_on: date) -> None:
    for lot in lots:
        sentence = ""
        if lot.status != Status.RELEASED:
            sentence = f"Lot {lot} is {lot.get_status_display()}; only a released lot is packed."
        elif lot.best_before and is_past(lot.best_before, made_on):
            sentence = f"Lot {lot} was best before {day(lot.best_before)} and cannot be packed."
        elif lot.made_on > made_on:
            sentence = f"Lot {lot} is dated {day(lot.made_on)}, after the day of packing."
        elif lot.item.kind == ItemKind.BULK:
            sentence = why_unsafe(lot) or " ".join(unmet_and_not_passed_over(lot, made_on))
            sentence = sentence or too_light(lot, product.fill_g)
        if sentence:
            raise ActionRefused(sentence, field=lot_field(lot))
