"""The least that an online offer must show, and the product as data for a shop."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from workshop.rules.quantities.units import show_number, without_zeros

# UNECE Recommendation 20.
GRAM, MILLILITRE = "GRM", "MLT"
_RULE = "Regulation (EU) 2023/988, article 19"


@dataclass(frozen=True, kw_only=True)
class Offer:
    """What a shop is told of a product on a day; postal addresses on one line."""

    name: str
    identity: str = ""
    description: str = ""
    maker: str = ""
    maker_address: str = ""
    maker_contact: str = ""
    responsible: str = ""
    responsible_contact: str = ""
    gtin: str = ""
    sku: str = ""
    picture: str = ""
    net_text: str = ""
    net_g: Decimal | None = None
    net_ml: Decimal | None = None
    ingredients: str = ""
    allergens: str = ""
    directions: str = ""
    warnings: str = ""
    origin: str = ""
    needs_responsible: bool = False
    true_on: str = ""
    languages: tuple[str, ...] = ("en",)

    def rows(self) -> list[tuple[str, str]]:
        """The fields with their headings, as a table of data has them."""
        return [
            ("name", self.name),
            ("what it is", self.identity),
            ("net contents", self.net_text),
            ("ingredients", self.ingredients),
            ("allergens", self.allergens),
            ("directions", self.directions),
            ("warnings", self.warnings),
            ("maker", ", ".join(filter(None, (self.maker, self.maker_address)))),
            ("maker's electronic address", self.maker_contact),
            ("responsible person", self.responsible),
            ("responsible person's electronic address", self.responsible_contact),
            ("country of origin", self.origin),
            ("GTIN", self.gtin),
            ("number", self.sku),
            ("picture", self.picture),
            ("true on", self.true_on),
        ]


def missing_in_offer(offer: Offer) -> tuple[str, ...]:
    """Return what an online offer to buyers in the EU lacks, each with its letter of the rule.

    Units, error: none. Source: Regulation (EU) 2023/988, article 19, second-hand; that a picture
        and the type belong to (c) is from memory. Raises: nothing.

    >>> missing_in_offer(Offer(name="Salve", maker="W", maker_address="4 Quay Lane",
    ...     maker_contact="a@example.com", picture="p.png", identity="Balm", sku="S1",
    ...     warnings="None known"))
    ()
    """
    asked = [
        (offer.maker and offer.maker_address, "the maker’s name and postal address", "(a)"),
        ("@" in offer.maker_contact or "." in offer.maker_contact,
         "the maker’s electronic address", "(a)"),
        (offer.responsible or not offer.needs_responsible,
         "the responsible person’s name and address", "(b)"),
        (offer.responsible_contact or not offer.needs_responsible,
         "the responsible person’s electronic address", "(b)"),
        (offer.picture, "a picture", "(c)"),
        (offer.identity, "what kind of product it is", "(c)"),
        (offer.gtin or offer.sku, "an identifier", "(c)"),
        (offer.warnings, "warnings and safety information", "(d)"),
    ]  # fmt: skip
    return tuple(f"{what} ({_RULE}{letter})" for is_there, what, letter in asked if not is_there)


def as_schema(offer: Offer) -> dict[str, Any]:
    """Return the offer as a Product of schema.org, ready for JSON-LD.

    Units: grams, or millilitres of what is sold by volume, as codes GRM and MLT of UNECE
        Recommendation 20. Error: none.
    Source: schema.org, Product and QuantitativeValue; it has no property for ingredients, which
        therefore stand as additional properties, and none for a volume, which is a size.
    Raises: nothing.

    >>> as_schema(Offer(name="Salve", net_g=Decimal("250.0")))["weight"]
    {'@type': 'QuantitativeValue', 'value': '250', 'unitCode': 'GRM'}
    >>> as_schema(Offer(name="Oil", net_g=Decimal("92.0"), net_ml=Decimal("100.0")))["size"]
    {'@type': 'QuantitativeValue', 'value': '100', 'unitCode': 'MLT'}
    """
    found: dict[str, Any] = {"@context": "https://schema.org", "@type": "Product"}
    plain: Mapping[str, str] = {
        "name": offer.name,
        "category": offer.identity,
        "description": offer.description,
        "sku": offer.sku,
        f"gtin{len(offer.gtin)}" if len(offer.gtin) in (8, 12, 13, 14) else "gtin": offer.gtin,
        "image": offer.picture,
        "countryOfOrigin": offer.origin,
    }
    found |= _said(plain)
    if offer.maker:
        maker = {
            "name": offer.maker,
            "address": offer.maker_address,
            "email" if "@" in offer.maker_contact else "url": offer.maker_contact,
        }
        found["manufacturer"] = {"@type": "Organization", **_said(maker)}
    if offer.net_ml is not None:
        found["size"] = _quantity(offer.net_ml, MILLILITRE)
    elif offer.net_g is not None:
        found["weight"] = _quantity(offer.net_g, GRAM)
    more = {
        "ingredients": offer.ingredients,
        "allergens": offer.allergens,
        "directions": offer.directions,
        "warnings": offer.warnings,
        "net contents": offer.net_text,
        "responsible person": offer.responsible,
        "responsible person's electronic address": offer.responsible_contact,
        "true on": offer.true_on,
    }
    found["additionalProperty"] = [
        {"@type": "PropertyValue", "name": name, "value": value}
        for name, value in _said(more).items()
    ]
    return found


def _said(values: Mapping[str, str]) -> dict[str, str]:
    """Without what is empty: data for a shop say nothing of what is not known."""
    return {key: value for key, value in values.items() if value}


def _quantity(amount: Decimal, unit: str) -> dict[str, str]:
    value = without_zeros(show_number(amount))
    return {"@type": "QuantitativeValue", "value": value, "unitCode": unit}
