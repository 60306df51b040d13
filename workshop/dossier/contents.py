"""The file behind a product, heading by heading: what is there, and what is named as missing."""

from collections.abc import Mapping
from dataclasses import dataclass

from workshop.dossier.facts import BookFacts, facts_of
from workshop.dossier.models import Entry
from workshop.packing.models import Product
from workshop.rules.dates.calendar_days import show_day
from workshop.rules.product_file.headings import (
    ANNEX_I,
    ARTICLE_11,
    HEADINGS,
    MORE,
    SAFETY_REPORT,
    Heading,
    is_complete_report,
)


@dataclass(frozen=True)
class Section:
    """One heading with what the book tells, what was handed in, and what is missing."""

    heading: Heading
    told: tuple[str, ...]
    entries: tuple[Entry, ...]
    missing: str = ""

    @property
    def is_filled(self) -> bool:
        return not self.missing

    @property
    def newest(self) -> Entry | None:
        return self.entries[0] if self.entries else None


@dataclass(frozen=True)
class ProductFile:
    """All sections of a product's file."""

    product: Product
    facts: BookFacts
    sections: tuple[Section, ...]

    @property
    def missing(self) -> tuple[Section, ...]:
        return tuple(one for one in self.sections if not one.is_filled)

    @property
    def is_complete(self) -> bool:
        return not self.missing

    def part(self, name: str) -> tuple[Section, ...]:
        return tuple(one for one in self.sections if one.heading.part == name)

    @property
    def parts(self) -> list[tuple[str, tuple[Section, ...]]]:
        """The sections under the titles that a reader looks for."""
        return [
            ("Article 11(2)", self.part("file")),
            ("Safety report, part A", self.part("A")),
            ("Safety report, part B", self.part("B")),
            ("More", self.part("more")),
        ]


def file_of(product: Product) -> ProductFile:
    """The file of a product as it stands today."""
    facts = facts_of(product)
    entries: dict[str, list[Entry]] = {}
    for entry in Entry.objects.filter(product=product).select_related("by", "document"):
        entries.setdefault(entry.key, []).append(entry)
    found = {
        heading.key: _section(heading, facts, entries)
        for heading in HEADINGS
        if heading.key != SAFETY_REPORT
    }
    filled = frozenset(key for key, section in found.items() if section.is_filled)
    is_whole = is_complete_report(filled)
    lacking = [one.title for one in ANNEX_I if one.key not in filled]
    report = Section(
        next(one for one in ARTICLE_11 if one.key == SAFETY_REPORT),
        (),
        tuple(entries.get(SAFETY_REPORT, ())),
        "" if is_whole else f"{len(lacking)} of {len(ANNEX_I)} headings are empty.",
    )
    order = [*ARTICLE_11, *ANNEX_I, *MORE]
    sections = tuple(found.get(heading.key, report) for heading in order)
    return ProductFile(product, facts, sections)


def _section(heading: Heading, facts: BookFacts, entries: Mapping[str, list[Entry]]) -> Section:
    told, missing = _TOLD.get(heading.key, _nothing)(facts)
    handed_in = tuple(entries.get(heading.key, ()))
    if heading.key in _ONLY_HANDED_IN or missing is None:
        missing = "" if handed_in else heading.asks
    elif missing and handed_in and heading.key in _EITHER:
        missing = ""
    return Section(heading, told, handed_in, missing)


Told = tuple[tuple[str, ...], str | None]


def _nothing(_: BookFacts) -> Told:
    return (), None


def _description(facts: BookFacts) -> Told:
    product = facts.product
    lines = (
        f"{product.label_name}{f', {product.identity}' if product.identity else ''}",
        f"{product.fill} in one {product.unit_name}",
        f"GTIN {product.gtin}" if product.gtin else "",
        f"Formula {facts.version}" if facts.version else "",
        *(f"Approved label: {label}" for label in facts.labels),
    )
    return tuple(filter(None, lines)), ""


def _composition(facts: BookFacts) -> Told:
    rows = tuple(
        f"{one.name}: {one.share_text}"
        f"{f', CAS {one.cas}' if one.cas else ''}{f', {one.function}' if one.function else ''}"
        for one in facts.substances
    )
    return rows, facts.why_no_composition


def _manufacture(facts: BookFacts) -> Told:
    steps = facts.version.steps.all() if facts.version else ()
    return tuple(f"{place}. {step.text}" for place, step in enumerate(steps, 1)), None


def _effects(facts: BookFacts) -> Told:
    if not facts.claims:
        return ("No effect is claimed.",), ""
    told = tuple(
        f"{one.claim}: {one.proof.evidence} ({show_day(one.proof.dated)})"
        for one in facts.claims
        if one.proof
    )
    lacking = "; ".join(f"“{claim}”" for claim in facts.unproved)
    return told, f"There is no evidence for {lacking}." if lacking else ""


def _undesirable(facts: BookFacts) -> Told:
    adverse, serious = len(facts.adverse), len(facts.serious)
    count = len(facts.complaints)
    said = (
        f"{count} complaint{'' if count == 1 else 's'}, of them {adverse} of adverse events, "
        f"{serious} serious"
    )
    rows = tuple(
        f"{show_day(one.received_on)}, {one.reference}: {one.get_nature_display()}, "
        f"{one.get_severity_display()}{', serious' if one.is_serious else ''}"
        for one in facts.adverse[:50]
    )
    return (f"{said}, to {show_day(facts.on)}.", *rows), ""


def _use(facts: BookFacts) -> Told:
    product = facts.product
    told = tuple(filter(None, (product.directions.strip(), product.cautions.strip())))
    return told, "" if product.directions.strip() else "The product has no directions of use."


def _warnings(facts: BookFacts) -> Told:
    told = tuple(f"{one.market}: {one.cautions}" for one in facts.labels if one.cautions)
    return told, None


def _materials(facts: BookFacts) -> Told:
    told = tuple(f"{one.item}: {'; '.join(one.papers)}" for one in facts.materials if one.papers)
    if facts.without_papers:
        return told, f"No certificate or analysis of {', '.join(facts.without_papers)}."
    return told, None if not told else ""


_TOLD = {
    "description": _description,
    "composition": _composition,
    "manufacture": _manufacture,
    "effects": _effects,
    "undesirable": _undesirable,
    "use": _use,
    "warnings": _warnings,
    "raw_materials": _materials,
}
_ONLY_HANDED_IN = frozenset({"manufacture", "warnings"})
# Where what is handed in stands in for what the book lacks.
_EITHER = frozenset({"raw_materials", "use", "effects"})
