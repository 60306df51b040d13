"""The data of a notification, from the book and from what was handed in."""

from dataclasses import dataclass
from datetime import date

from workshop.core.models import Workshop
from workshop.dossier.facts import BookFacts, facts_of
from workshop.dossier.models import Entry
from workshop.labels.content.market_terms import terms_of
from workshop.labels.models import MarketSheet
from workshop.packing.models import Product
from workshop.rules.ingredients.names.by_market import name_by
from workshop.rules.markets.laws import law_of
from workshop.rules.product_file.notification import FIELDS, Field, missing_fields
from workshop.rules.product_file.small_business import listing_due_on, registration_due_on


@dataclass(frozen=True)
class FieldState:
    """A field with its value, and whether the book gave it."""

    field: Field
    value: str
    is_from_book: bool


@dataclass(frozen=True)
class NotificationSheet:
    """All fields of a market's notification, what is missing, and what falls due when."""

    product: Product
    sheet: MarketSheet
    fields: tuple[FieldState, ...]
    missing: tuple[Field, ...]
    due: tuple[tuple[str, date], ...]


def notification_of(product: Product, market: str) -> NotificationSheet:
    facts, terms = facts_of(product), terms_of([product.pk])
    sheet, workshop = terms.sheet(product, market), Workshop.objects.first()
    typed: dict[str, str] = {}
    rows = Entry.objects.filter(product=product, key__startswith=f"{market}:")
    for entry in rows.select_related("document"):
        typed.setdefault(entry.key.partition(":")[2], entry.text or str(entry.document))
    book = _from_book(facts, sheet, workshop)
    values = {one.key: typed.get(one.key) or book.get(one.key, "") for one in FIELDS[market]}
    states = tuple(
        FieldState(one, values[one.key], one.key not in typed and bool(book.get(one.key)))
        for one in FIELDS[market]
    )
    return NotificationSheet(product, sheet, states, missing_fields(market, values), _due(sheet))


def _from_book(facts: BookFacts, sheet: MarketSheet, workshop: Workshop | None) -> dict[str, str]:
    product, law, party = facts.product, law_of(sheet.market), sheet.responsible
    label = next((one for one in facts.labels if one.market == sheet.market), None)
    pictures = Entry.objects.filter(product=product, key="picture", document__isnull=False)
    nano = [one.name for one in facts.substances if "(nano)" in one.name]
    maker = ", ".join((workshop.name, *workshop.address.splitlines())) if workshop else ""
    named = ", ".join(party.lines) if party else ""
    if not law.has_product_file and workshop:
        named = f"{maker}; {workshop.contact}"
    return {
        "name": label.name if label else product.label_name,
        "category": sheet.function or product.identity,
        "responsible": named,
        "origin": sheet.origin,
        "nano": ("; ".join(nano) or "none") if facts.substances else "",
        "formulation": "; ".join(
            f"{_named(one.name, sheet.market)} {one.share_text}" for one in facts.substances
        ),
        "label": str(label) if label else "",
        "picture": "handed in" if pictures.exists() else "",
        "facility": maker,
        "facility_contact": workshop.contact if workshop else "",
        "brands": workshop.name if workshop else "",
    }


def _named(name: str, market: str) -> str:
    return name_by(law_of(market).dictionary, name)


def renewals_due(until: date) -> list[tuple[str, date, Product]]:
    """What is to be renewed with an authority up to a day, of products that are still made."""
    sheets = MarketSheet.objects.filter(
        notified_on__isnull=False, product__item__is_active=True
    ).select_related("product__item")
    found = [
        (name, day, sheet.product) for sheet in sheets for name, day in _due(sheet) if day <= until
    ]
    return sorted(found, key=lambda one: one[1])


def _due(sheet: MarketSheet) -> tuple[tuple[str, date], ...]:
    """The days by which a US listing and a registration are renewed."""
    if sheet.notified_on is None or law_of(sheet.market).has_product_file:
        return ()
    return (
        ("Update of the product listing", listing_due_on(sheet.notified_on)),
        ("Renewal of the facility registration", registration_due_on(sheet.notified_on)),
    )
