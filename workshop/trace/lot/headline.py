"""The one sentence on top of a trace that says what is true."""

from collections.abc import Sequence

from workshop.core.formatting import number, with_unit
from workshop.ledger.models import ItemKind, OperationKind
from workshop.trace.lot.result import Trace
from workshop.trace.lot.under_way import UnderWay

MOST_NAMED = 3


def headline(trace: Trace, under_way: Sequence[UnderWay] = ()) -> str:
    """Where the lot went: batches, units, customers; or that it has gone nowhere yet.

    What is in a kettle now is said too: nothing made of it is on the page.
    """
    name = f"{trace.lot.item} lot {trace.lot}"
    if trace.lot.item.kind == ItemKind.PRODUCT:
        return f"{name}: {_finished(trace)}{_more(under_way)}"
    if trace.products:
        return f"{name} went into {_listed(_went_into(trace))}{_more(under_way)}"
    held = with_unit(trace.balance.on_hand, trace.lot.item.unit)
    pieces = " pieces" if trace.lot.item.unit == "each" else ""
    gone = f"is in {_named(under_way)}, under way" if under_way else "has gone into nothing yet"
    return f"{name} {gone}: {held}{pieces} on hand"


def _more(under_way: Sequence[UnderWay]) -> str:
    return f"; more of it is in {_named(under_way)}, under way" if under_way else ""


def _named(under_way: Sequence[UnderWay]) -> str:
    operations = list(dict.fromkeys(str(one.operation) for one in under_way))
    if len(operations) > MOST_NAMED:
        return f"{len(operations)} batches or runs"
    return _listed(operations)


def _finished(trace: Trace) -> str:
    made = number(trace.balance.came_in)
    if not trace.customers:
        return f"{made} made, {number(trace.balance.on_hand)} on hand, none sent out"
    out = f"{number(trace.units_still_out)} of {made} units are with"
    way = f" ({number(trace.on_its_way)} still on the way)" if trace.on_its_way else ""
    here = f"{number(trace.balance.on_hand)} on hand"
    return f"{out} {_count(trace.customers, 'customer')}{way}, {here}"


def _went_into(trace: Trace) -> list[str]:
    said = []
    batches = {
        made.lot.origin_id for made in trace.bulks if made.lot.origin.kind == OperationKind.BATCH
    }
    if batches:
        said.append(_count(len(batches), "batch", "batches"))
    units = sum(made.balance.came_in for made in trace.finished)
    if units:
        said.append(f"{number(units)} finished {'unit' if units == 1 else 'units'}")
    if trace.customers:
        said.append(f"out to {_count(trace.customers, 'customer')}")
    return said or [_count(len(trace.products), "lot")]


def _count(count: int, one: str, several: str = "") -> str:
    return f"{count} {one if count == 1 else several or one + 's'}"


def _listed(parts: list[str]) -> str:
    return parts[0] if len(parts) == 1 else ", ".join(parts[:-1]) + " and " + parts[-1]
