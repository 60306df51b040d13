"""Whether an approved label is true of a lot, and what may be printed for it."""

from dataclasses import dataclass, replace
from datetime import date
from fractions import Fraction
from typing import cast

from django.db.models import Max

from workshop.labels.content import Label, date_line, label_for, opened_line
from workshop.labels.models import DateStyle, Decision, DecisionKind, LabelVersion
from workshop.labels.wording import LIST_MARKETS
from workshop.ledger.models import Lot
from workshop.packing import reads
from workshop.packing.fill import check_of
from workshop.packing.models import PackingRun, Product
from workshop.rules.declaration import Declaration, Entry, Group
from workshop.rules.label_truth import Approved, Difference, Found, covered_by, differences
from workshop.rules.net_contents import quantity_tested_g
from workshop.rules.organic import Category


def approved_for(product: Product, market: str) -> LabelVersion | None:
    """The approved label of a product in a market, if there is one."""
    return LabelVersion.objects.approved().filter(product=product, market=market).first()


def entries_of(version: LabelVersion) -> tuple[Entry, ...]:
    return tuple(
        Entry(one["name"], Fraction(one["share"]), one["organic"], cast(Group, one["group"]))
        for one in version.entries
    )


def declaration_of(version: LabelVersion) -> Declaration:
    """The list as approved; its shares are those of the lot or formula it was made from."""
    return Declaration(LIST_MARKETS[version.market], entries_of(version))


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
