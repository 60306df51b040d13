"""What a label is computed from: a lot, or a formula that was not made yet."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from fractions import Fraction

from django.db.models import prefetch_related_objects
from django.utils import timezone

from workshop.core.errors import ActionRefused
from workshop.formulas.models import Line, Version, VersionStatus
from workshop.labels.content.lot_facts import LotFacts
from workshop.ledger.models import Item, Lot
from workshop.materials.fragrance_allergens import shares_in_items
from workshop.materials.ingredients import Shares, shares_of_profile
from workshop.materials.models import LABEL_SCHEME, profile_of
from workshop.materials.saponification import bindings_of
from workshop.packing.models import Product
from workshop.rules.allergens.thresholds import Use
from workshop.rules.errors import RuleError
from workshop.rules.ingredients.composition import Constituent, compose, extract_of, inputs_first
from workshop.rules.soap.lye import as_saponified


@dataclass(frozen=True)
class LabelInputs:
    """Composition as added, allergens with their shares, and the days that matter."""

    composition: Shares
    allergens: Mapping[str, Fraction] = field(default_factory=dict)
    use: Use = "leave-on"
    made_on: date = date.min
    best_before: date | None = None
    placed_on: date = date.min


def inputs_of(
    lot: Lot, facts: LotFacts, *, names_allergens: bool = True, on: date | None = None
) -> LabelInputs:
    """The basis of a finished lot, placed on the market on that day (today).

    Raises what speaks against its composition, or against its allergens where they are named.
    """
    if isinstance(facts.composition, ActionRefused):
        raise facts.composition
    allergens = facts.allergens if names_allergens else {}
    if isinstance(allergens, RuleError):
        raise allergens
    return LabelInputs(
        composition=facts.composition,
        allergens=allergens,
        use=facts.use if names_allergens else "leave-on",
        made_on=lot.made_on,
        best_before=lot.best_before,
        placed_on=on or timezone.localdate(),
    )


def inputs_of_formula(
    version: Version, *, on: date | None = None, scheme: str = LABEL_SCHEME
) -> LabelInputs:
    """The basis of a formula by its shares, its materials as organic as they are bought."""
    parts, extracts = _materials_of(version)
    described = [*parts, *(line.item for line in extracts)]
    prefetch_related_objects(described, "profile__parts", "profile__organic_statuses")
    on = on or timezone.localdate()
    shares = [(share, _shares(item, on, scheme)) for item, share in parts.items()]
    shares += [
        (Fraction(), extract_of(line.stays, _shares(line.item, on, scheme))) for line in extracts
    ]
    return LabelInputs(
        composition=compose(shares),
        allergens=shares_in_items(parts, on=on),
        use="rinse-off" if version.is_rinse_off else "leave-on",
        made_on=on,
        placed_on=on,
    )


def _shares(item: Item, on: date, scheme: str) -> Shares:
    profile = profile_of(item)
    if profile is None:
        raise ActionRefused(
            f"{item} has no ingredient profile yet; an owner enters it under Materials."
        )
    return shares_of_profile(profile, on=on, is_covered=True, scheme=scheme)


def _materials_of(version: Version) -> tuple[dict[Item, Fraction], list[Line]]:
    """The bought materials of a formula, through bulks made here by their approved formulas.

    And the lines behind it that are strained out again.
    """
    extracts: list[Line] = []
    versions: dict[int, Version] = {version.formula.item_id: version}
    items: dict[int, Item] = {version.formula.item_id: version.formula.item}

    def inputs_of(pk: int) -> list[tuple[int, Fraction]]:
        if pk not in versions and not hasattr(items[pk], "profile"):
            found = Version.objects.filter(formula__item=pk, status=VersionStatus.APPROVED)
            versions.update((pk, one) for one in found.in_full()[:1])
        every = versions[pk].lines.all() if pk in versions else []
        extracts.extend(line for line in every if line.is_strained_out)
        lines = [line for line in every if not line.is_strained_out]
        items.update({line.item_id: line.item for line in lines})
        return [(line.item_id, Fraction(line.share)) for line in lines]

    shares = {version.formula.item_id: Fraction(1)}
    for pk, inputs in reversed(list(inputs_first(version.formula.item_id, inputs_of))):
        total = sum((weight for _, weight in inputs), Fraction())
        for source, weight in inputs:
            shares[source] = shares.get(source, Fraction()) + shares[pk] * weight / total
    return {items[pk]: share for pk, share in shares.items() if pk not in versions}, extracts


def product_version(product: Product) -> Version | None:
    """The approved formula of what a product holds, or None."""
    found = Version.objects.approved().filter(formula__item=product.bulk_id).in_full()
    return found.order_by("-approved_at").first()


def saponified(composition: Shares, *, by_oil: bool = False) -> Shares:
    """The composition of a soap by what came out, from the saponification values entered.

    `by_oil` as in `as_saponified`: for a market that does not ask for INCI names.
    """
    known = bindings_of(part.inci_name for part in composition)
    values = {name: Fraction(binds.value) for name, binds in known.items()}
    fats: dict[Constituent, Fraction] = {
        part: values[part.inci_name]
        for part in composition
        if part.soap_name and values.get(part.inci_name)
    }
    unknown = [p.inci_name for p in composition if p.soap_name and p.inci_name not in values]
    if unknown:
        raise ActionRefused(
            f"To name the soap by what came out, enter the saponification value of "
            f"{', '.join(unknown)}."
        )
    return as_saponified(composition, fats, by_oil=by_oil)
