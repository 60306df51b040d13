"""The list of formulas to try another way."""

from django.urls import reverse

from workshop.core.lists.columns import CODE, Column, Name
from workshop.core.lists.listing import Listing, mentioning

FORMULAS = Listing(
    columns=[
        Name(
            "Formula",
            lambda formula: formula.name,
            to=lambda formula: reverse("workbench:bench", args=[formula.pk]),
            order=("name",),
            place=CODE,
        ),
        Column("Makes", lambda formula: formula.item.name, order=("item__name",)),
        Column("Approved", lambda formula: _version(formula.approved_number)),
        Column("Draft", lambda formula: _version(formula.draft_number)),
    ],
    order=("name", "pk"),
    order_words="by name",
    none="No formula has a version yet.",
    search=mentioning("name", "item__name"),
    search_word="Formula or what it makes",
    file="formulas-to-try",
)


def _version(number: int | None) -> str:
    return "" if number is None else f"v{number}"
