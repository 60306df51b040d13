"""Enter a formula whole: its bulk, its lines, its steps, and materials that are new."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from django.db import transaction

from workshop.core.errors import ActionRefused
from workshop.core.models import User
from workshop.core.saving.form_sent_twice import check_idempotency
from workshop.formulas import services
from workshop.formulas.models import Formula, Version
from workshop.ledger.item_codes import free_code
from workshop.ledger.models import Item, ItemKind
from workshop.materials.services.materials import Material, save_material
from workshop.materials.services.usual import take_usual
from workshop.materials.usual import named
from workshop.rules.errors import RuleError
from workshop.rules.quantities.whole_shares import whole_shares


@dataclass(frozen=True)
class TypedLine:
    """One ingredient as typed: its name or code, or “name = INCI name” for a new one."""

    said: str
    amount: Decimal


@transaction.atomic
def enter_whole(
    name: str,
    lines: Sequence[TypedLine],
    steps: Sequence[str],
    *,
    in_grams: bool,
    expected_loss: Decimal,
    shelf_life_months: int,
    by: User,
    at: datetime,
    token: str,
) -> Version:
    """The draft of a new formula; the bulk that it makes comes with it, by the same name.

    Raises ActionRefused, and writes nothing, where a line names nothing, or the formula is there.
    """
    content = {"name": name, "lines": lines, "steps": steps, "in_grams": in_grams}
    if check_idempotency(token, "whole formula", **content):
        return Version.objects.filter(formula__name=name).latest("pk")
    if Formula.objects.filter(name__iexact=name).exists():
        raise ActionRefused("There is already a formula of this name.", field="name")
    items = [_item(line, row, by=by, at=at) for row, line in enumerate(lines)]
    amounts = [line.amount for line in lines]
    try:
        shares = whole_shares(amounts) if in_grams else amounts
    except RuleError as error:
        raise ActionRefused(str(error)) from error
    formula = services.save_formula(name=name, item=_bulk(name, by=by, at=at), by=by, at=at)
    version = services.new_version(formula, by=by, at=at)
    return services.save_draft(
        version,
        lines=[
            services.LineIn(item=item, share=share)
            for item, share in zip(items, shares, strict=True)
        ],
        steps=[services.StepIn(text=step) for step in steps],
        expected_loss=expected_loss,
        shelf_life_months=shelf_life_months,
        by=by,
        at=at,
    )


def _bulk(name: str, *, by: User, at: datetime) -> Item:
    known = Item.objects.filter(kind=ItemKind.BULK, name__iexact=name).first()
    return known or services.save_bulk(code=free_code(name), name=name, by=by, at=at)


def _item(line: TypedLine, row: int, *, by: User, at: datetime) -> Item:
    """What a line names: an item of the book, a usual material, or a new one with its INCI name."""
    said, _, inci_name = (part.strip() for part in line.said.partition("="))
    usable = Item.objects.filter(kind__in=[ItemKind.MATERIAL, ItemKind.BULK])
    known = usable.filter(code__iexact=said).first() or usable.filter(name__iexact=said).first()
    if known:
        return known
    usual = named(said)
    if usual and not inci_name:
        return take_usual(usual, by=by, at=at)
    if not inci_name:
        raise ActionRefused(
            f"“{said}” is neither in the book nor a usual material. To enter it here, write its"
            f" INCI name behind it: {said} = …",
            field=f"said_{row}",
        )
    new = Material(code=free_code(said), name=said, inci_name=inci_name)
    try:
        return save_material(new, by=by, at=at)
    except ActionRefused as error:
        raise ActionRefused(error.message, field=f"said_{row}") from error
