"""Approved labels: made from a lot or a formula, approved and retired by an owner."""

from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import Any

from django.db import transaction
from django.db.models import Max
from django.utils import timezone

from workshop.core.errors import ActionRefused
from workshop.core.models import Role, User
from workshop.labels.approval.print_status import approved_for, discrepancies, languages_of
from workshop.labels.content.computed_statements import (
    Wording,
    organic_statement,
    wording_of,
)
from workshop.labels.content.dated_lines import style_for
from workshop.labels.content.inputs import inputs_of_formula, product_version
from workshop.labels.content.label import design_of, label_for, the_workshop
from workshop.labels.content.market_sheet_state import approval_stops
from workshop.labels.content.market_terms import terms_of
from workshop.labels.models import DateStyle, LabelVersion, VersionState
from workshop.ledger.models import Lot
from workshop.packing.models import Product
from workshop.rules.errors import RuleError
from workshop.rules.ingredients.declaration import DeclaredIngredient
from workshop.rules.markets.laws import law_of

# What an owner may word anew in a draft.
WORDS = (
    "name", "identity", "organic_statement", "claims", "directions", "cautions", "maker",
    "keeps_months", "opened_months", "date_style", "fixed_date",
)  # fmt: skip


@transaction.atomic
def draft_from_lot(lot: Lot, market: str, *, by: User, at: datetime) -> LabelVersion:
    """A draft with the words computed for a lot."""
    _refuse_unless_owner(by)
    label = label_for(lot, market, on=timezone.localdate(at))
    style = style_for(lot, market, label.design.opened_months)
    return _draft(label.product, market, label.wording, by=by, at=at, made_from=lot, style=style)


@transaction.atomic
def draft_from_formula(product: Product, market: str, *, by: User, at: datetime) -> LabelVersion:
    """A draft by the approved formula of the bulk, before anything was made."""
    _refuse_unless_owner(by)
    version = product_version(product)
    if version is None:
        raise ActionRefused(f"No formula of {product.bulk} is approved yet; approve one first.")
    design = design_of(product)
    try:
        basis = inputs_of_formula(version, on=timezone.localdate(at))
        wording = wording_of(
            product, design, the_workshop(), market, basis, terms=terms_of([product.pk])
        )
    except RuleError as error:
        raise ActionRefused(str(error)) from error
    return _draft(product, market, wording, by=by, at=at, formula_version=version)


def _draft(
    product: Product,
    market: str,
    wording: Wording,
    *,
    by: User,
    at: datetime,
    style: str = DateStyle.LOT,
    **origin: Any,
) -> LabelVersion:
    """A new draft, or the one that says the same already: a button may be pressed twice."""
    words = {**_words(product, wording), "market": market, "date_style": style, **origin}
    locked = Product.objects.select_for_update(of=("self",)).get(pk=product.pk)
    versions = locked.label_versions.filter(market=market)
    for draft in versions.filter(state=VersionState.DRAFT).select_related(*origin):
        if all(getattr(draft, name) == value for name, value in words.items()):
            return draft
    last = versions.aggregate(last=Max("number"))["last"] or 0
    draft = LabelVersion(product=product, number=last + 1, made_at=at, made_by=by, **words)
    _noted(draft, by=by, at=at).save()
    return draft


def _words(product: Product, wording: Wording) -> dict[str, Any]:
    """What a draft says, as computed."""
    design = design_of(product)
    return {
        "name": product.label_name,
        "identity": wording.words.identity,
        "languages": list(wording.words.languages),
        "organic_statement": wording.organic_statement,
        "claim": wording.claim or "",
        "organic_percent": wording.organic_percent,
        "made_with": list(wording.made_with),
        "entries": [_as_json(entry) for entry in wording.declaration.entries],
        "may_contain": list(wording.declaration.may_contain),
        "claims": wording.words.claims,
        "directions": wording.words.directions,
        "cautions": wording.cautions,
        "maker": "\n".join(wording.maker_lines),
        "responsible": "\n".join(wording.responsible_lines),
        "certifier_line": wording.certifier_line,
        "net_contents": wording.net_contents,
        "net_ounces": wording.promise.ounces,
        "net_g": wording.promise.grams,
        "keeps_months": design.keeps_months,
        "opened_months": design.opened_months,
        "has_hourglass": design.has_hourglass and law_of(wording.market).has_hourglass,
        "gtin": product.gtin,
    }


def _as_json(entry: DeclaredIngredient) -> dict[str, Any]:
    share = str(entry.share)
    return {"name": entry.name, "share": share, "organic": entry.is_organic, "group": entry.group}


@transaction.atomic
def save_draft(
    version: LabelVersion,
    words: Mapping[str, Any],
    *,
    order: Iterable[str],
    by: User,
    at: datetime,
) -> LabelVersion:
    """Keep a draft's words and the order of its names, which must be the names computed."""
    _refuse_unless_owner(by)
    version = _draft_still(version)
    by_name = {entry["name"]: entry for entry in version.entries}
    names = list(order)
    _refuse_other_statement(version, words["organic_statement"])
    if sorted(names) != sorted(by_name):
        raise ActionRefused(
            "The list holds other names than were computed. Change only their order: the names "
            "follow from what was weighed.",
            field="names",
        )
    for name in WORDS:
        setattr(version, name, words[name])
    version.entries = [by_name[name] for name in names]
    _noted(version, by=by, at=at).save()
    return version


def _refuse_other_statement(version: LabelVersion, said: str) -> None:
    own = terms_of([version.product_id]).phrases
    computed = organic_statement(
        version.claim, version.organic_percent, version.made_with, languages_of(version), own
    )
    if said not in ("", computed):
        raise ActionRefused(
            f"The organic statement follows from what was weighed: leave “{computed}” as it is, "
            "or leave it out."
            if computed
            else "Nothing organic can be said of this; leave it out.",
            field="organic_statement",
        )


@transaction.atomic
def discard_draft(version: LabelVersion, *, by: User, at: datetime) -> None:
    _refuse_unless_owner(by)
    _noted(_draft_still(version), by=by, at=at).delete()


@transaction.atomic
def approve(version: LabelVersion, *, by: User, at: datetime, reason: str = "") -> LabelVersion:
    """Freeze a draft; the version approved before it is retired.

    Raises ActionRefused for a draft whose market sheet, claims or words are not in order, and with
    every difference for one that is untrue of the lot it was made from.
    """
    _refuse_unless_owner(by)
    # Two owners approving two drafts at once: the second waits, and retires the first's.
    Product.objects.select_for_update(of=("self",)).get(pk=version.product_id)
    version = _draft_still(version)
    stops = approval_stops(version)
    if version.made_from is not None:
        label = label_for(version.made_from, version.market, on=timezone.localdate(at))
        stops += [one.sentence for one in discrepancies(label, version)]
    if stops:
        raise ActionRefused(" ".join(stops))
    former = approved_for(version.product, version.market)
    if former is not None:
        former.state = VersionState.RETIRED
        _noted(former, by=by, at=at).save()
    version.state, version.reason = VersionState.APPROVED, reason.strip()
    version.approved_by, version.approved_at = by, at
    _noted(version, by=by, at=at).save()
    return version


@transaction.atomic
def retire(version: LabelVersion, *, by: User, at: datetime) -> LabelVersion:
    """Take an approved label out of use; labels are then printed as computed."""
    _refuse_unless_owner(by)
    version = LabelVersion.objects.select_for_update().get(pk=version.pk)
    if version.state != VersionState.APPROVED:
        raise ActionRefused("Only an approved label is retired.")
    version.state = VersionState.RETIRED
    _noted(version, by=by, at=at).save()
    return version


def _noted(version: LabelVersion, *, by: User, at: datetime) -> LabelVersion:
    """The version, with whom and when its history will tell once it is saved or deleted."""
    version._history_user = by  # type: ignore[attr-defined]  # read by simple_history
    version._history_date = at  # type: ignore[attr-defined]  # likewise
    return version


def _draft_still(version: LabelVersion) -> LabelVersion:
    found = LabelVersion.objects.select_for_update(of=("self",)).filter(pk=version.pk).first()
    if found is None or found.state != VersionState.DRAFT:
        raise ActionRefused("Only a draft may change; make a new version.")
    return found


def _refuse_unless_owner(by: User) -> None:
    if by.role != Role.OWNER:
        raise ActionRefused("Only an owner approves and changes labels.")
