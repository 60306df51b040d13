"""Approved labels: made from a lot or a formula, approved by an owner, held against each lot."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime
from fractions import Fraction
from typing import Any, cast

from django.db import transaction
from django.db.models import Max

from workshop.core.errors import Refused
from workshop.core.models import Role, User
from workshop.labels.basis import basis_of_formula, product_version
from workshop.labels.content import (
    Label,
    date_line,
    design_of,
    label_for,
    opened_line,
    style_for,
    the_workshop,
)
from workshop.labels.models import (
    DateStyle,
    Decision,
    DecisionKind,
    LabelVersion,
    VersionState,
)
from workshop.labels.wording import LIST_MARKETS, Wording, wording_of
from workshop.ledger.models import Lot
from workshop.packing import reads
from workshop.packing.fill import check_of
from workshop.packing.models import PackingRun, Product
from workshop.rules.declaration import Declaration, Entry, Group
from workshop.rules.errors import RuleError
from workshop.rules.label_truth import Approved, Difference, Found, covered_by, differences
from workshop.rules.net_contents import quantity_tested_g
from workshop.rules.organic import Category

# What an owner may word anew in a draft.
WORDS = (
    "name", "identity", "organic_statement", "claims", "directions", "cautions", "maker",
    "keeps_months", "opened_months", "date_style", "fixed_date",
)  # fmt: skip


def approved_for(product: Product, market: str) -> LabelVersion | None:
    """The approved label of a product in a market, if there is one."""
    return LabelVersion.objects.approved().filter(product=product, market=market).first()


@transaction.atomic
def draft_from_lot(lot: Lot, market: str, *, by: User, at: datetime) -> LabelVersion:
    """A draft with the words computed for a lot."""
    _refuse_unless_owner(by)
    label = label_for(lot, market)
    style = style_for(lot, market, label.design.opened_months)
    return _draft(label.product, market, label.wording, by=by, at=at, made_from=lot, style=style)


@transaction.atomic
def draft_from_formula(product: Product, market: str, *, by: User, at: datetime) -> LabelVersion:
    """A draft by the approved formula of the bulk, before anything was made."""
    _refuse_unless_owner(by)
    version = product_version(product)
    if version is None:
        raise Refused(f"No formula of {product.bulk} is approved yet; approve one first.")
    design = design_of(product)
    try:
        basis = basis_of_formula(version)
        wording = wording_of(product, design, the_workshop(), LIST_MARKETS[market], basis)
    except RuleError as error:
        raise Refused(str(error)) from error
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
    design = design_of(product)
    locked = Product.objects.select_for_update(of=("self",)).get(pk=product.pk)
    last = locked.label_versions.filter(market=market).aggregate(last=Max("number"))["last"]
    return LabelVersion.objects.create(
        product=product,
        market=market,
        number=(last or 0) + 1,
        name=product.label_name,
        identity=product.identity,
        organic_statement=wording.organic_statement,
        claim=wording.claim or "",
        organic_percent=wording.organic_percent,
        made_with=list(wording.made_with),
        entries=[_as_json(entry) for entry in wording.declaration.entries],
        claims=design.claims.strip(),
        directions=product.directions.strip(),
        cautions=wording.cautions,
        maker="\n".join(wording.maker_lines),
        certifier_line=wording.certifier_line,
        net_contents=wording.net_contents,
        net_ounces=wording.promise.ounces,
        net_g=wording.promise.grams,
        keeps_months=design.keeps_months,
        opened_months=design.opened_months,
        date_style=style,
        gtin=product.gtin,
        made_at=at,
        made_by=by,
        **origin,
    )


def _as_json(entry: Entry) -> dict[str, Any]:
    share = str(entry.share)
    return {"name": entry.name, "share": share, "organic": entry.is_organic, "group": entry.group}


def entries_of(version: LabelVersion) -> tuple[Entry, ...]:
    return tuple(
        Entry(one["name"], Fraction(one["share"]), one["organic"], cast(Group, one["group"]))
        for one in version.entries
    )


def declaration_of(version: LabelVersion) -> Declaration:
    """The list as approved; its shares are those of the lot or formula it was made from."""
    return Declaration(LIST_MARKETS[version.market], entries_of(version))


@transaction.atomic
def save_draft(
    version: LabelVersion, words: Mapping[str, Any], *, order: Iterable[str], by: User
) -> LabelVersion:
    """Keep a draft's words and the order of its names, which must be the names computed."""
    _refuse_unless_owner(by)
    version = _draft_still(version)
    by_name = {entry["name"]: entry for entry in version.entries}
    names = list(order)
    if sorted(names) != sorted(by_name):
        raise Refused(
            "The list holds other names than were computed. Change only their order: the names "
            "follow from what was weighed.",
            field="names",
        )
    for name in WORDS:
        setattr(version, name, words[name])
    version.entries = [by_name[name] for name in names]
    version.save()
    return version


@transaction.atomic
def discard_draft(version: LabelVersion, *, by: User) -> None:
    _refuse_unless_owner(by)
    _draft_still(version).delete()


@transaction.atomic
def approve(version: LabelVersion, *, by: User, at: datetime, reason: str = "") -> LabelVersion:
    """Freeze a draft; the version approved before it is retired.

    Raises Refused, with every difference, for a draft that is untrue of the lot it was made from.
    """
    _refuse_unless_owner(by)
    version = _draft_still(version)
    if version.made_from is not None:
        label = label_for(version.made_from, version.market)
        untrue = truth_of(label, version)
        if untrue:
            raise Refused(" ".join(one.sentence for one in untrue))
    former = approved_for(version.product, version.market)
    if former is not None:
        former.state = VersionState.RETIRED
        former.save()
    version.state, version.reason = VersionState.APPROVED, reason.strip()
    version.approved_by, version.approved_at = by, at
    version.save()
    return version


@transaction.atomic
def retire(version: LabelVersion, *, by: User) -> LabelVersion:
    """Take an approved label out of use; labels are then printed as computed."""
    _refuse_unless_owner(by)
    version = LabelVersion.objects.select_for_update().get(pk=version.pk)
    if version.state != VersionState.APPROVED:
        raise Refused("Only an approved label is retired.")
    version.state = VersionState.RETIRED
    version.save()
    return version


def _draft_still(version: LabelVersion) -> LabelVersion:
    found = LabelVersion.objects.select_for_update(of=("self",)).filter(pk=version.pk).first()
    if found is None or found.state != VersionState.DRAFT:
        raise Refused("Only a draft may change; make a new version.")
    return found


def _refuse_unless_owner(by: User) -> None:
    if by.role != Role.OWNER:
        raise Refused("Only an owner approves and changes labels.")


def as_approved(label: Label, version: LabelVersion) -> Label:
    """The label in the words of an approved version, with this lot's own code and date."""
    return replace(
        label,
        name=version.name,
        identity=version.identity,
        organic_statement=version.organic_statement,
        declaration=declaration_of(version),
        claims=version.claims,
        directions=version.directions,
        cautions=version.cautions,
        maker_lines=tuple(version.maker.splitlines()),
        certifier_line=version.certifier_line,
        net_contents=version.net_contents,
        date_line=date_line(label.lot, label.market, version.date_style, version.keeps_months),
        opened_line=opened_line(label.market, version.opened_months),
        gtin=version.gtin,
        version=version,
        date_style=version.date_style,
    )


def truth_of(label: Label, version: LabelVersion) -> tuple[Difference, ...]:
    """Every way in which `version` would be untrue of the lot that `label` was computed for."""
    return differences(_stated(version), _found(label))


def _stated(version: LabelVersion) -> Approved:
    entries = entries_of(version)
    return Approved(
        market=LIST_MARKETS[version.market],
        names=tuple(entry.name for entry in entries),
        organic_names=frozenset(entry.name for entry in entries if entry.is_organic),
        claim=cast(Category, version.claim) if version.claim else None,
        organic_percent=version.organic_percent,
        made_with=tuple(version.made_with),
        contents=version.net_contents,
        promised_g=quantity_tested_g(version.net_ounces, version.net_g),
        fixed_date=version.fixed_date,
        keeps_months=version.keeps_months,
        opened_months=version.opened_months,
        gives_only_opened_months=version.date_style == DateStyle.JAR,
    )


def _found(label: Label) -> Found:
    lot = label.lot
    run = PackingRun.objects.select_related("operation", "product").get(operation=lot.origin)
    average, units = _filled(run)
    return Found(
        lot=str(lot),
        declaration=label.wording.declaration,
        composition=label.composition,
        made_on=lot.made_on,
        best_before=lot.best_before,
        allergens=label.wording.allergens,
        use=label.basis.use,
        average_g=average,
        units=units,
        printed_until=_printed_until(lot),
    )


def _filled(run: PackingRun) -> tuple[Fraction | None, int]:
    """What a unit holds on average: all that was filled, or less if the fill check found less."""
    account = reads.account(run)
    units = int(account.units)
    if not units:
        return None, 0
    average = Fraction(account.filled_g) / units
    check = check_of(run)
    failed = check.is_complete and bool(check.binding.problems)
    if failed and check.mean_g is not None:
        average = min(average, check.mean_g)
    return average, units


def _printed_until(lot: Lot) -> date | None:
    latest: date | None = lot.prints.aggregate(latest=Max("best_before"))["latest"]
    return latest


@dataclass(frozen=True)
class Standing:
    """Where a lot's label stands: what to print, in which ways it is untrue, what was decided."""

    computed: Label
    label: Label
    version: LabelVersion | None
    untrue: tuple[Difference, ...]
    decision: Decision | None

    @property
    def is_relabelled(self) -> bool:
        """An owner decided for the sticker, about exactly the differences there are."""
        return (
            bool(self.untrue)
            and self.decision is not None
            and self.decision.kind == DecisionKind.RELABEL
            and covered_by(self.untrue, self.decision.sentences)
        )

    @property
    def needs_a_decision(self) -> bool:
        return bool(self.untrue) and not self.is_relabelled

    @property
    def may_be_relabelled(self) -> bool:
        """Whether a new ingredient list alone would make it true."""
        return bool(self.untrue) and all(one.is_in_the_list for one in self.untrue)

    @property
    def stops(self) -> tuple[str, ...]:
        """Why it must not be printed: what stops any label, and what the owner must decide."""
        untrue = [one.sentence for one in self.untrue] if self.needs_a_decision else []
        call = ["An owner mends the label, relabels or holds the lot first."] if untrue else []
        return (*self.label.stops, *untrue, *call)


def standing_of(lot: Lot, market: str | None = None, *, on: date | None = None) -> Standing:
    """Hold a lot's computed label against the approved one. Raises Refused as `label_for`."""
    computed = label_for(lot, market, on=on)
    version = approved_for(computed.product, computed.market)
    if version is None:
        return Standing(computed, computed, None, (), None)
    untrue = truth_of(computed, version)
    decision = lot.label_decisions.filter(version=version).select_related("by").first()
    return Standing(computed, as_approved(computed, version), version, untrue, decision)
