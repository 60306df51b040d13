"""What can happen at goods-in: a delivery is received, its lots are judged; suppliers are kept."""

from workshop.goods_in.services.named_receipts import receive_named
from workshop.goods_in.services.organic import (
    decide_organic,
    review_supplier,
    stop_certificate,
)
from workshop.goods_in.services.receipts import (
    good_until,
    hold_lot,
    receive,
    reject_lot,
    release_lot,
    release_sound_lots,
    seal_receipt,
)
from workshop.goods_in.services.suppliers import save_certificate, save_supplier

__all__ = [
    "decide_organic",
    "good_until",
    "hold_lot",
    "receive",
    "receive_named",
    "reject_lot",
    "release_lot",
    "release_sound_lots",
    "review_supplier",
    "save_certificate",
    "save_supplier",
    "seal_receipt",
    "stop_certificate",
]
