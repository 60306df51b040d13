"""Pages found by words: what an inspector asks for, a rule number among it."""

import re
from dataclasses import dataclass

from django.urls import reverse


@dataclass(frozen=True)
class FoundPage:
    """A page by its name, with the address that leads there."""

    name: str
    address: str


# The words and the sections of 7 CFR that lead to each page.
PAGES: tuple[tuple[str, str, tuple[str, ...], tuple[str, ...]], ...] = (
    ("Mass balances", "organic:home", ("mass balance", "organic", "balance"), ("205.403",)),
    (
        "Sold as organic beside bought as organic", "organic:chain",
        ("organic", "mass balance"), ("205.403",),
    ),
    (
        "Inspector's pack", "organic:packs",
        ("pack", "organic", "inspection", "inspector"), ("205.103", "205.201", "205.403"),
    ),
    (
        "Organic schemes and their lists", "materials:organic-schemes",
        ("organic", "national list", "scheme"),
        ("205.301", "205.302", "205.605", "205.606"),
    ),
    (
        "Organic certificates of suppliers", "goods_in:certificates",
        ("organic", "certificate"), ("205.404", "205.273"),
    ),
    ("Suppliers and their approval", "goods_in:suppliers", ("fraud", "supplier"), ("205.201",)),
    ("Kettles and their cleaning", "kettle:equipment", ("cleaning",), ("205.272",)),
    ("Integrity of the book", "audit:home", ("seal", "audit", "integrity"), ("205.103",)),
)  # fmt: skip


def pages_by_words(asked: str) -> list[FoundPage]:
    """The pages that these words, or this section of 7 CFR, ask for.

    A paragraph is found under its section: "205.403(d)(4)" under 205.403.
    """
    said = " ".join(asked.casefold().split())
    section = re.search(r"\b205\.\d{1,3}\b", said)
    return [
        FoundPage(name, reverse(address))
        for name, address, words, sections in PAGES
        if (section and section.group() in sections) or (len(said) > 3 and _named(said, words))
    ]


def _named(said: str, words: tuple[str, ...]) -> bool:
    return any(said == word or said == f"{word}s" for word in words)
