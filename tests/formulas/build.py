"""Builders for tests of formulas and of the rooms below them."""

from collections.abc import Mapping
from decimal import Decimal
from itertools import count
from typing import Any

from tests import make
from workshop.core.models import User
from workshop.formulas import services
from workshop.formulas.draft.validation import LineIn, StepIn
from workshop.formulas.models import Formula, Version
from workshop.ledger.models import Item, ItemKind

_number = count(1)


def formula(of: Item | None = None, *, name: str = "", by: User | None = None) -> Formula:
    return services.save_formula(
        name=name or f"Formula {next(_number)}",
        item=of or make.item(ItemKind.BULK),
        by=by or make.user(),
        at=make.NOON,
    )


def line(share: Decimal | int | str, of: Item | None = None, **values: Any) -> LineIn:
    return LineIn(item=of or make.item(), share=Decimal(share), **values)


def melt() -> StepIn:
    return StepIn(
        text="Melt the wax into the oil.",
        phase="A",
        from_c=Decimal(70),
        to_c=Decimal(75),
        minutes=10,
        keep_water_out=True,
        caution="Hot wax: never leave a melt alone.",
    )


def draft(
    *lines: LineIn, of: Formula | None = None, by: User | None = None, **values: Any
) -> Version:
    """A draft of 60 % of one material and 40 % of another, unless lines are given."""
    by = by or make.user()
    version = services.new_version(of or formula(by=by), by=by, at=make.NOON)
    return rewritten(version, *(lines or (line(60), line(40))), by=by, **values)


def rewritten(version: Version, *lines: LineIn, by: User | None = None, **values: Any) -> Version:
    given: Mapping[str, Any] = {
        "steps": [melt()],
        "expected_loss": Decimal(2),
        "shelf_life_months": 12,
        "at": make.NOON,
        **values,
    }
    return services.save_draft(version, lines=lines, by=by or make.user(), **given)


def approved(
    *lines: LineIn, of: Formula | None = None, by: User | None = None, **values: Any
) -> Version:
    by = by or make.user()
    return services.approve(draft(*lines, of=of, by=by, **values), by=by, at=make.NOON)
