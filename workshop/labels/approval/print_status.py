"""Why does this label not print? Whether it is approved and true of the lot; what may be printed.

The reasons that lie in the label itself (market, hold, date, organic) are in `content/label.py`.
"""

from dataclasses import dataclass, replace
from datetime import date
from fractions import Fraction
from typing import cast

from workshop.core.models import Workshop
from workshop.labels.content.computed_statements import Wording, certifier_line
from workshop.labels.content.dated_lines import date_line, lot_line, opened_line
from workshop.labels.content.inputs import LabelInputs
from workshop.labels.content.label import Label, label_for, with_stops
from workshop.labels.content.lot_facts import LotFacts
from workshop.labels.models import DateStyle, Decision, DecisionKind, LabelVersion
from workshop.ledger.models import Lot
from workshop.packing.models import Product
from workshop.rules.ingredients.declaration import Declaration, DeclaredIngredient, Group
from workshop.rules.ingredients.organic_share import RANKS, Category
from workshop.rules.labels.net_contents import E_MARK, quantity_tested_g
from workshop.rules.labels.organic_claims import claim_said, percent_said
from workshop.rules.labels.stated_and_found import Approved, Difference, LotFactsFound
from workshop.rules.labels.truth_check import covered_by, differences
from workshop.rules.labels.worth_a_look import colours_for_the_list
from workshop.rules.markets.phrases import Phrases

WHO_DECIDES = "An owner corrects the label, relabels or holds the lot first."
SET_RIGHT = "Correct the fill or the date, or hold the lot."


def approved_for(product: Product, market: str) -> LabelVersion | None:
    """The approved label of a product in a market, if there is one."""
    return LabelVersion.objects.approved().filter(product=product, market=market).first()


def entries_of(version: LabelVersion) -> tuple[DeclaredIngredient, ...]:
    return tuple(
        DeclaredIngredient(
            one["name"], Fraction(one["share"]), one["organic"], cast(Group, one["group"])
        )
        for one in version.entries
    )


def declaration_of(version: LabelVersion, own: Phrases) -> Declaration:
    """The list as approved; its shares are those of the lot or formula it was made from.

    `own` are the owner's words that hold for the version, `MarketTerms.phrases_of`.
    """
    listed = Declaration(version.market, entries_of(version), tuple(version.may_contain))
    return listed.in_languages(languages_of(version), own)


def languages_of(version: LabelVersion) -> tuple[str, ...]:
    """The languages of an approved label; those from before languages were kept are English."""
    return tuple(version.languages) or ("en",)


def as_approved(label: Label, version: LabelVersion) -> Label:
    """The label in the words of an approved version, with this lot's own code and date.

    The words around them are those that the owner had when it was approved.
    """
    own = label.facts.terms.phrases_of(version.approved_at)
    languages = languages_of(version)
    written = replace(
        label,
        name=version.name,
        identity=version.identity,
        organic_statement=version.organic_statement,
        declaration=declaration_of(version, own),
        claims=version.claims,
        directions=version.directions,
        cautions=version.cautions,
        maker_lines=tuple(version.maker.splitlines()),
        responsible_lines=tuple(version.responsible.splitlines()),
        certifier_line=version.certifier_line,
        net_contents=version.net_contents,
        lot_line=lot_line(label.lot, languages, own),
        date_line=date_line(
            label.lot,
            label.market,
            version.date_style,
            version.keeps_months,
            languages,
            own,
            has_hourglass=version.has_hourglass,
        ),
        opened_line=opened_line(label.market, version.opened_months, languages, own),
        gtin=version.gtin,
        version=version,
        date_style=version.date_style,
    )
    return with_stops(written)


def discrepancies(label: Label, version: LabelVersion) -> tuple[Difference, ...]:
    """Every way in which `version` would be untrue of the lot that `label` was computed for."""
    has_e_mark = E_MARK in version.net_contents
    own = label.facts.terms.phrases_of(version.approved_at)
    found = _found(label, has_e_mark=has_e_mark)
    said = _certifier_said(version, label.workshop, own)
    return differences(stated(version), replace(found, certifier_line=said))


def _certifier_said(version: LabelVersion, workshop: Workshop, own: Phrases) -> str:
    """The certifier of today in the words of a label; some were approved with English ones."""
    english = certifier_line(workshop)
    is_english = version.certifier_line == english
    return english if is_english else certifier_line(workshop, languages_of(version), own)


def untrue_if_made(
    version: LabelVersion,
    basis: LabelInputs,
    wording: Wording,
    workshop: Workshop,
    fill_g: Fraction,
    own: Phrases,
) -> tuple[Difference, ...]:
    """Every way in which `version` would be untrue of a lot that nobody made yet.

    Its units hold `fill_g`; `own` are the owner's words that hold for the version. Whether its
    fill will bear out an e mark is not known before the run.
    """
    found = _facts(basis, wording, fill_g, supports_e_mark=True)
    said = _certifier_said(version, workshop, own)
    return differences(stated(version), replace(found, certifier_line=said))


def stated(version: LabelVersion) -> Approved:
    entries = entries_of(version)
    words = "\n".join((version.name, version.identity, version.organic_statement, version.claims))
    percents = [each for each in (version.organic_percent, percent_said(words)) if each]
    return Approved(
        market=version.market,
        names=tuple(entry.name for entry in entries),
        organic_names=frozenset(entry.name for entry in entries if entry.is_organic),
        may_contain=frozenset(version.may_contain),
        claim=_strongest(version.claim, claim_said(words)),
        organic_percent=max(percents, default=None),
        made_with=tuple(version.made_with),
        contents=version.net_contents,
        promised_g=quantity_tested_g(version.net_ounces, version.net_g),
        fixed_date=version.fixed_date,
        keeps_months=version.keeps_months,
        opened_months=version.opened_months,
        gives_only_opened_months=version.date_style == DateStyle.JAR,
        certifier_line=version.certifier_line,
        has_e_mark=E_MARK in version.net_contents,
    )


def _strongest(*claims: str | None) -> Category | None:
    """What was computed, or what the words an owner chose say, whichever promises more."""
    said = [cast(Category, claim) for claim in claims if claim]
    return max(said, key=RANKS.index, default=None)


def _as_computed(label: Label) -> Approved:
    """A label that nobody approved: its list is true by itself, its weight and date may not be."""
    promise = label.wording.promise
    return Approved(
        called="label",
        market=label.market,
        names=label.declaration.names,
        contents=label.net_contents,
        promised_g=quantity_tested_g(promise.ounces, promise.grams),
        keeps_months=label.design.keeps_months,
        opened_months=label.design.opened_months,
    )


def _found(label: Label, *, has_e_mark: bool = False) -> LotFactsFound:
    lot, facts = label.lot, label.facts
    average, units = _filled(facts)
    backs_e_mark = bool(has_e_mark and facts.check and facts.check.supports_e_mark)
    found = _facts(label.basis, label.wording, average, supports_e_mark=backs_e_mark)
    return replace(
        found,
        lot=str(lot),
        best_before=min((day for day in (lot.best_before, facts.due) if day), default=None),
        dated=lot.best_before,
        units=units,
        printed_until=facts.printed_until,
    )


def _facts(
    basis: LabelInputs,
    wording: Wording,
    average_g: Fraction | None,
    *,
    supports_e_mark: bool,
) -> LotFactsFound:
    """What is true by the composition, of a lot without a name."""
    return LotFactsFound(
        lot="",
        declaration=wording.declaration,
        composition=basis.composition,
        made_on=basis.made_on,
        best_before=basis.best_before,
        dated=basis.best_before,
        allergens=wording.allergens,
        use=basis.use,
        average_g=average_g,
        units=1,
        limits=wording.classification.limits,
        supports_e_mark=supports_e_mark,
    )


def _filled(facts: LotFacts) -> tuple[Fraction | None, int]:
    """What a unit holds on average: all that was filled, or less if the fill check found less."""
    account, check = facts.account, facts.check
    units = int(account.units) if account else 0
    if account is None or not units:
        return None, 0
    average = Fraction(account.filled_g) / units
    if check is None or not check.samples:
        return average, units
    failed = check.is_complete and bool(check.binding.problems)
    if failed and check.mean_g is not None:
        average = min(average, check.mean_g)
    return average, units


@dataclass(frozen=True)
class LabelStatus:
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
    def is_settled(self) -> bool:
        """Whether it is true, or an owner has decided so that it may be printed."""
        return not self.untrue or self.is_relabelled

    @property
    def needs_a_decision(self) -> bool:
        """Whether an owner must decide about an approved label; one as computed is set right."""
        return self.version is not None and not self.is_settled

    @property
    def may_be_relabelled(self) -> bool:
        """Whether a new ingredient list alone would make it true."""
        return bool(self.untrue) and all(one.is_in_the_list for one in self.untrue)

    @property
    def stops(self) -> tuple[str, ...]:
        """Why it must not be printed: what stops any label (`content/label.py`), and what the owner
        must decide. `services/printing.py` refuses by it."""
        if self.is_settled:
            return self.label.stops
        untrue = [one.sentence for one in self.untrue]
        return (*self.label.stops, *untrue, WHO_DECIDES if self.version else SET_RIGHT)

    @property
    def shown(self) -> Label:
        """The label with all that stops it, so that a preview is marked as not for use."""
        return replace(self.label, stops=self.stops)

    @property
    def sticker(self) -> Label:
        """The list as computed, marked as not for use until an owner decided to relabel."""
        return replace(
            self.computed, stops=() if self.is_relabelled else self.stops or (WHO_DECIDES,)
        )

    @property
    def notices(self) -> list[str]:
        """What is worth a look although it is not untrue."""
        printed, lot = self.label.declaration, str(self.label.lot)
        return colours_for_the_list(
            printed.names, printed.may_contain, self.computed.declaration, lot
        )


def label_status(
    lot: Lot, market: str | None = None, *, on: date | None = None, facts: LotFacts | None = None
) -> LabelStatus:
    """Hold a lot's computed label against the approved one. Raises ActionRefused as `label_for`."""
    computed = label_for(lot, market, on=on, facts=facts)
    version = computed.facts.versions.get(computed.market)
    if version is None:
        untrue = differences(_as_computed(computed), _found(computed))
        return LabelStatus(computed, computed, None, untrue, None)
    untrue = discrepancies(computed, version)
    decision = computed.facts.decision_about(version) if untrue else None
    return LabelStatus(computed, as_approved(computed, version), version, untrue, decision)
