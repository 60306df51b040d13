"""The family tree of a lot as a picture: columns in the order a gram travels, width by grams."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from decimal import Decimal
from fractions import Fraction

from django.urls import reverse

from workshop.core.formatting import quantity, with_unit
from workshop.ledger.models import Lot, Unit
from workshop.trace.diagram.positions import (
    ASKED,
    BOUGHT,
    CUSTOMERS,
    DENSE,
    FINISHED,
    FURTHER_BACK,
    FURTHER_ON,
    Diagram,
    Node,
    Tie,
    by_column,
    laid_out,
)
from workshop.trace.lot.result import Descendant, Sending, Source, Trace

# Large boxes for as many as one looks at together; above that one line each, and above MOST_NODES
# the heaviest MOST_KEPT stay and the others become one box a column.
MOST_ROOMY, MOST_NODES, MOST_KEPT = 40, 200, 40
TALLEST = 12  # large boxes in a column
MOST_DEPTH = 3  # columns of in-house lots each way; what lies further shares one


def picture_of(trace: Trace) -> Diagram:
    nodes, ties = _nodes(trace), _ties(trace)
    tallest = max(len(column) for column in by_column(nodes).values())
    if len(nodes) <= MOST_NODES and (len(nodes) > MOST_ROOMY or tallest > TALLEST):
        return laid_out(_closer(nodes), ties, DENSE)
    nodes, moved = _folded(nodes, trace.lot)
    return laid_out(nodes, _merged(ties, moved))


def _nodes(trace: Trace) -> list[Node]:
    nodes = [_asked(trace)]
    if trace.arrival:
        nodes.append(_supplier(trace))
    nodes += [_source(source) for source in (*trace.bought, *trace.made_here)]
    nodes += [_made(made) for made in trace.products]
    return nodes + list(_customers(trace.sendings))


def _lot_lines(lot: Lot, third: str) -> list[str]:
    return [lot.shown_code, lot.item.name, third]


def _lot_address(lot: Lot) -> str:
    return reverse("trace:lot", args=[lot.code])


def _asked(trace: Trace) -> Node:
    lot = trace.lot
    left = f"{with_unit(trace.balance.on_hand, lot.item.unit)} left"
    return Node(
        str(lot.pk),
        ASKED,
        _lot_lines(lot, left),
        reverse("ledger:lot", args=[lot.code]),
        manner="asked",
    )


def _supplier(trace: Trace) -> Node:
    line = trace.arrival
    assert line is not None  # noqa: S101 -- the caller looked; this tells the type checker
    lines = [line.receipt.supplier.name, f"their lot {line.supplier_lot}"]
    return Node("supplier", BOUGHT, lines, _found(trace.lot.origin.reference), manner="person")


def _found(reference: str) -> str:
    return f"{reverse('front:scan')}?q={reference}"


def _source(source: Source) -> Node:
    column = BOUGHT if not source.is_made_here else max(FURTHER_BACK, ASKED - source.depth)
    if source.is_made_here and source.depth > MOST_DEPTH:
        column = FURTHER_BACK
    third = f"{with_unit(source.inside, source.lot.item.unit)} in it"
    if source.is_strained_out:
        third = "strained out again"
    return Node(
        str(source.lot.pk),
        column,
        _lot_lines(source.lot, third),
        _lot_address(source.lot),
        Fraction(source.inside),
    )


def _made(made: Descendant) -> Node:
    if made.lot.item.unit == Unit.EACH:
        column = FINISHED
        third = f"{quantity(made.balance.came_in, 'each')} made, "
        third += f"{quantity(made.balance.on_hand, 'each')} left"
    else:
        column = ASKED + made.depth if made.depth <= MOST_DEPTH else FURTHER_ON
        third = f"{with_unit(made.balance.on_hand, 'g')} left"
    return Node(
        str(made.lot.pk),
        column,
        _lot_lines(made.lot, third),
        _lot_address(made.lot),
        Fraction(made.inside),
    )


def _customers(sendings: Iterable[Sending]) -> Iterable[Node]:
    by_customer: dict[int, list[Sending]] = defaultdict(list)
    for sending in sendings:
        by_customer[sending.dispatch.customer_id].append(sending)
    for pk, some in by_customer.items():
        units = sum((sending.still_out for sending in some), Decimal(0))
        yield Node(
            f"customer {pk}",
            CUSTOMERS,
            [some[0].customer.name, f"has {quantity(units, 'each')}"],
            reverse("dispatch:customer", args=[pk]),
            sum((Fraction(sending.inside) for sending in some), Fraction()),
            manner="person",
        )


def _ties(trace: Trace) -> list[Tie]:
    counted = {
        source.lot.pk
        for source in (*trace.bought, *trace.made_here)
        if source.lot.item.unit == Unit.EACH
    }
    ties = [
        Tie(str(source), str(target), amount, source in counted)
        for (source, target), amount in trace.back.along.items()
    ]
    ties += [
        Tie(str(source), str(target), amount)
        for (source, target), amount in trace.forward.along.items()
    ]
    ties += [
        Tie(
            str(sending.lot.pk),
            f"customer {sending.dispatch.customer_id}",
            Fraction(sending.inside),
        )
        for sending in trace.sendings
    ]
    if trace.arrival:
        ties.append(Tie("supplier", str(trace.lot.pk), Fraction(trace.balance.came_in)))
    return ties


def _closer(nodes: list[Node]) -> list[Node]:
    """In-house lots beyond the nearest share a column a side: the picture must fit on paper."""
    for node in nodes:
        if FURTHER_BACK < node.column < ASKED - 1:
            node.column = FURTHER_BACK
        elif ASKED + 1 < node.column < FURTHER_ON:
            node.column = FURTHER_ON
    return nodes


SECTION = {BOUGHT: "bought", CUSTOMERS: "customers"}


def _folded(nodes: list[Node], asked: Lot) -> tuple[list[Node], dict[str, str]]:
    """Keep the heaviest boxes of each column; the others become one box that leads to the list."""
    columns = by_column(nodes)
    most = TALLEST if len(nodes) <= MOST_KEPT else max(3, MOST_KEPT // len(columns))
    kept: list[Node] = []
    moved: dict[str, str] = {}
    for number, column in columns.items():
        room = 1 if number in (FURTHER_BACK, FURTHER_ON) else most
        if len(column) <= room:
            kept += column
            continue
        column.sort(key=lambda node: -node.amount)
        rest = column[room - 1 :]
        fold = _fold(number, rest, asked)
        moved |= {node.key: fold.key for node in rest}
        kept += [*column[: room - 1], fold]
    return kept, moved


def _fold(column: int, rest: list[Node], asked: Lot) -> Node:
    usual = "made-here" if column < ASKED else "went-into"
    section = SECTION.get(column, usual)
    what = "customers" if column == CUSTOMERS else "lots"
    return Node(
        f"fold {column}",
        column,
        [f"{len(rest)} more {what}", "all of them in a list"],
        reverse("trace:rows", args=[asked.code, section]),
        sum((node.amount for node in rest), Fraction()),
        manner="fold",
    )


def _merged(ties: Iterable[Tie], moved: Mapping[str, str]) -> list[Tie]:
    merged: dict[tuple[str, str], Tie] = {}
    for tie in ties:
        source, target = moved.get(tie.source, tie.source), moved.get(tie.target, tie.target)
        if source == target:
            continue
        one = merged.setdefault(
            (source, target), Tie(source, target, Fraction(), is_counted=tie.is_counted)
        )
        one.amount += tie.amount
    return list(merged.values())
