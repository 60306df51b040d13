"""What the database refuses of receipts, whoever asks."""

from workshop.core.triggers import behind_closed

GUARDS = [
    *behind_closed("goods_in_receipt", "{row}.operation_id"),
    *behind_closed(
        "goods_in_receiptline",
        "(SELECT operation_id FROM goods_in_receipt WHERE id = {row}.receipt_id)",
    ),
]
