"""What an authority asks to be told of a product, market by market: one row a field.

Source: EU: Regulation (EC) 1223/2009, article 13(1), second-hand. Great Britain: the government's
guidance in a trade body's copy. US: 21 U.S.C. 364c(b)(2) and (c)(4). The authority's own form
has the last word.
"""

from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True)
class Field:
    """One field of a notification; one that may be empty says so by `is_optional`."""

    key: str
    label: str
    rule: str
    is_optional: bool = False


_EU = "article 13(1)"
FIELDS: dict[str, tuple[Field, ...]] = {
    "EU": (
        Field("name", "Name that identifies the product", f"{_EU}(a)"),
        Field("category", "Category", f"{_EU}(a)"),
        Field("responsible", "Responsible person, where the file is kept", f"{_EU}(b)"),
        Field("origin", "Country of origin", f"{_EU}(c)"),
        Field("first_state", "Member state of the first placing", f"{_EU}(d)"),
        Field("contact_person", "Contact person for necessity", f"{_EU}(e)"),
        Field("nano", "Nanomaterials with exposure conditions", f"{_EU}(f)"),
        Field("cmr", "CMR substances of category 1A or 1B, with CAS number", f"{_EU}(g)"),
        Field("formulation", "Frame formulation or exact composition", f"{_EU}(h)"),
        Field("label", "Original labelling", f"{_EU}(2)"),
        Field(
            "picture", "Photograph of the packaging, where legible", f"{_EU}(2)", is_optional=True
        ),
    ),
    "UK": (
        Field("name", "Name of the product", "notification guidance"),
        Field("category", "Category", "notification guidance"),
        Field("responsible", "Responsible person in the UK", "notification guidance"),
        Field("contact_person", "Named contact for the poisons service", "notification guidance"),
        Field("nano", "Nanomaterials", "notification guidance"),
        Field("cmr", "CMR substances", "notification guidance"),
        Field("formulation", "Ingredients one by one, exact or in ranges", "since 3 October 2022"),
        Field("label", "Image of the label", "notification guidance"),
        Field("picture", "Photograph of the packaging", "notification guidance"),
    ),
    "US": (
        Field("facility", "Facility: name and physical address", "21 U.S.C. 364c(b)(2)"),
        Field("facility_contact", "E-mail and telephone", "21 U.S.C. 364c(b)(2)"),
        Field("facility_number", "Facility registration number", "21 U.S.C. 364c(b)(2)"),
        Field("brands", "Brand names", "21 U.S.C. 364c(b)(2)"),
        Field("responsible", "Responsible person, contact number", "21 U.S.C. 364c(c)(4)"),
        Field("name", "Name as on the label", "21 U.S.C. 364c(c)(4)"),
        Field("category", "Category", "21 U.S.C. 364c(c)(4)"),
        Field(
            "formulation", "All ingredients by the names of 21 CFR 701.3", "21 U.S.C. 364c(c)(4)"
        ),
        Field(
            "listing_number", "Listing number, once given", "21 U.S.C. 364c(c)(4)", is_optional=True
        ),
    ),
}


def missing_fields(market: str, values: Mapping[str, str]) -> tuple[Field, ...]:
    """Return the fields of a market's notification that have no value yet.

    Units, error: none. Source: as the table. Raises: KeyError for a market without fields.

    >>> [one.key for one in missing_fields("UK", {"name": "Salve", "category": "Balm",
    ...     "responsible": "F", "contact_person": "P", "nano": "none", "cmr": "none",
    ...     "formulation": "x", "label": "yes"})]
    ['picture']
    """
    return tuple(
        one for one in FIELDS[market] if not one.is_optional and not values.get(one.key, "").strip()
    )
