"""The five papers of a certifier's audit trail, tied by lot numbers.

A the outgoing invoice, B the batch record, C the receiving log, D the incoming papers, E the
inventory record: a sample trail of a certifier for handlers.
"""

from collections.abc import Iterator

from workshop.ledger.models import Lot
from workshop.organic.pack.tables import Row, Table
from workshop.trace.lot.result import Trace

HEADS = ("paper", "record", "day", "lot", "who or what", "g or pieces")


def trail(found: Trace) -> Table:
    """The papers of one finished lot, each with the lots that tie it to the next."""
    return Table(f"Audit trail of lot {found.lot}", HEADS, list(_rows(found)))


def _rows(found: Trace) -> Iterator[Row]:
    for sending in found.sendings:
        sent = sending.dispatch
        yield (
            "A dispatch", str(sent), sent.sent_on, str(sending.lot), str(sent.customer),
            sending.units,
        )  # fmt: skip
    yield _made(found.lot)
    for source in found.made_here:
        yield (*_made(source.lot)[:-1], source.taken)
    for source in found.bought:
        line = getattr(source.lot, "receipt_line", None)
        if line is None:
            yield (
                "C received",
                str(source.lot.origin),
                source.lot.made_on,
                str(source.lot),
                "",
                None,
            )
            continue
        receipt = line.receipt
        yield (
            "C received", str(source.lot.origin), receipt.received_on, str(source.lot),
            f"{source.lot.item}, supplier lot {line.supplier_lot}", source.taken,
        )  # fmt: skip
        yield (
            "D delivery note", receipt.delivery_note or "none given", receipt.received_on,
            str(source.lot), str(receipt.supplier), None,
        )  # fmt: skip
    ends = {found.lot.pk, *(source.lot.pk for source in found.bought)}
    for lot in Lot.objects.with_on_hand().filter(pk__in=ends).select_related("item").order_by("pk"):
        yield "E inventory", "on hand", None, str(lot), str(lot.item), lot.on_hand


def _made(lot: Lot) -> Row:
    return "B made here", str(lot.origin), lot.made_on, str(lot), str(lot.item), None
