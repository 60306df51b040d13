"""The one list: what its columns hold, how it is narrowed, sorted, turned over, and shown.

A room says once what a list is, and its view reads it:

    STOCK = Listing(
        columns=[
            Name("Item", lambda item: item.name, to=page_of_item, order=("name",)),
            Amount("On hand", lambda item: item.on_hand, unit=lambda item: item.unit),
        ],
        search=mentioning("name", "code"),
        order=("name",),
        none="No item is called that.",
    )

    return STOCK.read(request, items).answer("ledger/home.html")

and its template: {% include "core/_list.html" %}. The list can be saved as a file, as it is shown.
"""
