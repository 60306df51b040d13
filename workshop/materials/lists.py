"""The list of what is bought: materials and packaging."""

from typing import Any

from django.urls import reverse

from workshop.core.access import EVERYONE, OWNER
from workshop.core.lists.columns import CODE, NAME, Column, Day, Figure, Name
from workshop.core.lists.listing import Choice, Listing, mentioning
from workshop.ledger.models import Item, ItemKind


def _of_profile(name: str, otherwise: Any = None) -> Any:
    """Reads a field of an item's profile, which packaging has none of."""

    def read(item: Item) -> Any:
        profile = getattr(item, "profile", None)
        return getattr(profile, name) if profile else otherwise

    return read


def _inci(item: Item) -> str:
    return _of_profile("inci_name")(item) or item.get_kind_display()


MATERIALS = Listing(
    columns=[
        Name(
            "Item",
            lambda item: item.name,
            to=lambda item: reverse("materials:material", args=[item.code]),
            below=lambda item: "" if item.is_active else "not in use",
            order=("name",),
            place=CODE,
        ),
        Column("Code", lambda item: item.code, order=("code",), place=f"code {NAME}"),
        Column("INCI name", _inci, order=("profile__inci_name",)),
        Column("Bought as", lambda item: "organic" if _of_profile("is_organic")(item) else ""),
        Figure("Density, g/mL", _of_profile("density_g_per_ml")),
        Figure(
            "Shelf life, months",
            _of_profile("shelf_life_months"),
            order=("profile__shelf_life_months",),
        ),
    ],
    order=("name", "pk"),
    order_words="by name",
    none="Nothing that is bought has been entered yet.",
    search=mentioning("name", "code", "profile__inci_name"),
    search_word="Name, code or INCI name",
    choices=[
        Choice(
            "kind",
            "Kind",
            [(ItemKind.MATERIAL, "materials"), (ItemKind.PACKAGING, "packaging")],
            "both",
        )
    ],
    file="materials",
)


SUBSTANCE: dict[str, Any] = {
    "head": "Substance",
    "value": lambda entry: entry.name,
    "order": ("name",),
    "place": CODE,
}
LIST_ENTRIES = Listing(
    columns=[
        Name(
            **SUBSTANCE,
            to=lambda entry: reverse("materials:edit-list-entry", args=[entry.pk]),
            roles=tuple(OWNER),
        ),
        Name(**SUBSTANCE, roles=tuple(set(EVERYONE) - set(OWNER))),
        Column("Scheme", lambda entry: entry.scheme.code, order=("scheme__code",)),
        Column(
            "Listed as",
            lambda entry: entry.get_status_display(),
            below=lambda entry: entry.annotation,
            order=("status",),
        ),
        Day("As known on", lambda entry: entry.known_on, order=("known_on",)),
        Column("Source", lambda entry: entry.source),
    ],
    order=("scheme__code", "name", "pk"),
    order_words="by scheme and name",
    none="None yet.",
    search=mentioning("name", "annotation", "source"),
    search_word="Substance, annotation or source",
    file="listed-substances",
)
