"""What the database refuses of receipts, whoever asks."""

from workshop.core.database.triggers import Event, Trigger, append_only, behind_closed

OF_ITS_RECEIPT = (
    "NOT EXISTS (SELECT 1 FROM ledger_posting AS posting JOIN goods_in_receipt AS receipt"
    " ON receipt.operation_id = posting.operation_id WHERE posting.id = NEW.posting_id"
    " AND receipt.id = NEW.receipt_id AND posting.lot_id = NEW.lot_id"
    " AND posting.side = 'out' AND posting.corrects_id IS NULL)"
)
EVENTS: tuple[Event, ...] = ("INSERT", "UPDATE")

GUARDS = [
    *(
        Trigger(
            f"goods_in_line_of_its_receipt_{event.lower()}",
            "goods_in_receiptline",
            event,
            OF_ITS_RECEIPT,
            "A line of a receipt is about the lot that its posting brought in.",
        )
        for event in EVENTS
    ),
    *behind_closed("goods_in_receipt", "{row}.operation_id"),
    *behind_closed(
        "goods_in_receiptline",
        "(SELECT operation_id FROM goods_in_receipt WHERE id = {row}.receipt_id)",
    ),
    *behind_closed(
        "goods_in_organicpapers",
        "(SELECT operation_id FROM goods_in_receipt WHERE id = {row}.receipt_id)",
    ),
    *append_only("goods_in_certificatestop"),
    *append_only("goods_in_organicdecision"),
    *append_only("goods_in_supplierreview"),
    *append_only("goods_in_openinglot"),
    *behind_closed(
        "goods_in_openinglot",
        "(SELECT origin_id FROM ledger_lot WHERE id = {row}.lot_id)",
        "INSERT",
    ),
]
