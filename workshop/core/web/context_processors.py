"""What every page's frame needs to know."""

from typing import Any

from django.http import HttpRequest

STATIONS = [
    ("goods_in", "Goods-in", "goods_in:home"),
    ("kettle", "Kettle", "kettle:home"),
    ("packing", "Packing", "packing:home"),
    ("dispatch", "Dispatch", "dispatch:home"),
]
DESK = [
    ("ledger", "Stock", "ledger:home"),
    ("formulas", "Formulas", "formulas:home"),
    ("planning", "Week", "planning:home"),
    ("trace", "Trace", "trace:home"),
    ("audit", "Audit", "audit:home"),
    ("core", "Set-up", "core:home"),
]


# Rooms without a station of their own, and the one that their pages stand under.
STANDS_UNDER = {
    "curing": "kettle",
    "materials": "goods_in",
    "aftersales": "trace",
    "dossier": "packing",
    "transfer": "audit",
    "organic": "audit",
    "costs": "ledger",
    "counts": "ledger",
    "workbench": "formulas",
}


def frame(request: HttpRequest) -> dict[str, Any]:
    match = request.resolver_match
    name = match.app_name if match else ""
    room = STANDS_UNDER.get(name, name)
    desk_word = next((word for key, word, _ in DESK if key == room), "")
    return {"stations": STATIONS, "desk": DESK, "room": room, "desk_word": desk_word}
