"""What a label must say: computed from the ledger for one finished lot, never typed."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date
from functools import cached_property

from workshop.core.errors import ActionRefused
from workshop.core.markets import (
    Market,
)
from workshop.core.models import (
    Workshop,
)
from workshop.labels.content.computed_statements import Wording, wording_of
from workshop.labels.content.dated_lines import (
    HOURGLASS,
    date_line,
    lot_line,
    opened_line,
    style_for,
)
from workshop.labels.content.inputs import LabelInputs, inputs_of
from workshop.labels.content.lot_facts import LotFacts, facts_of
from workshop.labels.models import DateStyle, LabelDesign, LabelVersion, ProductClass
from workshop.ledger.models import Lot, OperationKind, Status
from workshop.materials.saponification import Soap
from workshop.packing.models import PackingRun, Product
from workshop.rules.dates.best_before import is_past
from workshop.rules.errors import RuleError
from workshop.rules.ingredients import organic_share
from workshop.rules.ingredients.composition import Composition
from workshop.rules.ingredients.declaration import Declaration
from workshop.rules.ingredients.declaration import Market as ListMarket
from workshop.rules.ingredients.organic_share import OrganicClassification
from workshop.rules.labels.organic_claims import claim_said
from workshop.rules.labels.truth_check import durability_needs_jar
from workshop.rules.markets.laws import law_of
from workshop.rules.markets.market_law import Law


@dataclass(frozen=True)
class Label:
    """Everything one label says, with the figures behind it.

    `stops` are reasons why it must not be printed, `warnings` what to look at first. With a
    `version` the words are those that an owner approved; the lot, its date and code are its own.
    """

    lot: Lot
    product: Product
    market: ListMarket
    name: str
    identity: str
    organic_statement: str
    declaration: Declaration
    claims: str
    directions: str
    cautions: str
    maker_lines: tuple[str, ...]
    responsible_lines: tuple[str, ...]
    certifier_line: str
    net_contents: str
    lot_line: str
    date_line: str
    opened_line: str
    gtin: str
    basis: LabelInputs
    wording: Wording
    design: LabelDesign
    workshop: Workshop
    run: PackingRun
    facts: LotFacts
    stops: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()
    version: LabelVersion | None = None
    date_style: str = DateStyle.LOT

    @property
    def best_before(self) -> date | None:
        """The date that it carries, if any."""
        return self.lot.best_before if self.date_style == DateStyle.LOT else None

    @property
    def date_said(self) -> str:
        """The line of its date with a word where a symbol is drawn."""
        return self.date_line.replace(HOURGLASS, "Hourglass")

    @property
    def law(self) -> Law:
        return law_of(self.market)

    @property
    def is_dated(self) -> bool:
        """Whether it says until when, on itself or by the open jar."""
        return bool(self.best_before or self.opened_line or self.date_style == DateStyle.FIXED)

    @property
    def composition(self) -> Composition:
        return self.basis.composition

    @cached_property
    def soap(self) -> Soap | None:
        """The lye and the fats in it, if there is lye."""
        soap = Soap(self.composition)
        return soap if soap.alkali else None

    @property
    def classification(self) -> OrganicClassification:
        return self.wording.classification

    @property
    def lines(self) -> tuple[str, ...]:
        """The words of the label from top to bottom, as the log keeps them."""
        every = (
            self.name,
            self.identity,
            self.organic_statement,
            self.claims,
            self.declaration.list_text,
            self.declaration.organic_line,
            self.directions,
            self.cautions,
            *self.responsible_lines,
            *self.maker_lines,
            self.certifier_line,
            self.net_contents,
            self.lot_line,
            self.date_said,
            self.opened_line,
            f"GTIN {self.gtin}" if self.gtin else "",
        )
        return tuple(filter(None, every))

    @property
    def text(self) -> str:
        return "\n".join(self.lines)


def label_for(
    lot: Lot, market: str | None = None, *, on: date | None = None, facts: LotFacts | None = None
) -> Label:
    """The label of a finished lot as computed today, for a market (the workshop's own).

    The facts are read unless they are at hand. Raises ActionRefused, with a sentence, for a lot
    that cannot have one: not packed here, rejected, of unknown composition, or in a book that does
    not know its workshop yet.
    """
    product = _product_of(lot)
    workshop = known_workshop(facts.workshop) if facts else the_workshop()
    rules = str(market or workshop.market)
    asks = law_of(rules).names_allergens
    facts = facts or facts_of(lot, names_allergens=asks)
    try:
        basis = inputs_of(lot, facts, names_allergens=asks, on=on)
        return _written(lot, product, workshop, rules, basis, facts)
    except RuleError as error:
        raise ActionRefused(str(error)) from error


def the_workshop() -> Workshop:
    return known_workshop(Workshop.objects.first())


def known_workshop(workshop: Workshop | None) -> Workshop:
    if workshop is None:
        raise ActionRefused(
            "A label needs the maker's name and address. Set-up → The workshop first."
        )
    return workshop


def design_of(product: Product) -> LabelDesign:
    """The product's design, or the plain one that holds until an owner describes another."""
    found: LabelDesign | None = getattr(product, "label_design", None)
    return found or LabelDesign(product=product)


def markets_of(product: Product, workshop: Workshop) -> list[str]:
    """The markets a product is sold in; the workshop's own when none is named."""
    design = design_of(product)
    named = {
        Market.US: design.sold_in_us,
        Market.EU: design.sold_in_eu,
        Market.UK: design.sold_in_uk,
    }
    return [str(market) for market, is_sold in named.items() if is_sold] or [workshop.market]


def _product_of(lot: Lot) -> Product:
    product: Product | None = getattr(lot.item, "product", None)
    if lot.origin.kind != OperationKind.PACKING or product is None:
        raise ActionRefused(f"Lot {lot} was not packed here, so it has no label.")
    if lot.status == Status.REJECTED:
        raise ActionRefused(f"Lot {lot} is rejected and gets no label.")
    return product


def _written(
    lot: Lot,
    product: Product,
    workshop: Workshop,
    market: ListMarket,
    basis: LabelInputs,
    facts: LotFacts,
) -> Label:
    design = design_of(product)
    if facts.run is None:
        raise ActionRefused(f"Lot {lot} was not packed here, so it has no label.")
    terms = facts.terms
    wording = wording_of(product, design, workshop, market, basis, terms=terms, check=facts.check)
    languages, own = wording.words.languages, terms.phrases
    style = style_for(lot, market, design.opened_months)
    label = Label(
        lot=lot,
        product=product,
        market=market,
        name=product.label_name,
        identity=wording.words.identity,
        organic_statement=wording.organic_statement,
        declaration=wording.declaration,
        claims=wording.words.claims,
        directions=wording.words.directions,
        cautions=wording.cautions,
        maker_lines=wording.maker_lines,
        responsible_lines=wording.responsible_lines,
        certifier_line=wording.certifier_line,
        net_contents=wording.net_contents,
        lot_line=lot_line(lot, languages, own),
        date_line=date_line(
            lot,
            market,
            style,
            design.keeps_months,
            languages,
            own,
            has_hourglass=design.has_hourglass,
        ),
        opened_line=opened_line(market, design.opened_months, languages, own),
        gtin=product.gtin,
        basis=basis,
        wording=wording,
        design=design,
        workshop=workshop,
        run=facts.run,
        facts=facts,
        warnings=tuple(_warnings(lot, workshop, design, wording)),
        date_style=style,
    )
    return with_stops(label)


def with_stops(label: Label) -> Label:
    """The label with every reason why it must not be printed, in the words that it carries."""
    return replace(label, stops=tuple(_stops(label)))


def _stops(label: Label) -> Iterable[str]:
    lot, product = label.lot, label.product
    if label.market not in markets_of(product, label.workshop):
        yield (
            f"{product} is not sold under {label.market} rules. An owner names its markets under "
            "“What its labels say”."
        )
    if lot.status == Status.ON_HOLD:
        yield f"Lot {lot} is on hold; an owner decides about it first."
    if is_past(lot.best_before, label.basis.placed_on):
        yield f"Lot {lot} is past its best-before date."
    if label.law.needs_a_date and not label.is_dated:
        yield f"Lot {lot} has no best-before date, and the {label.market} asks for one."
    if label.soap and label.soap.refusal:
        yield label.soap.refusal
    sheet = label.facts.terms.sheet(product, label.market)
    if sheet.product_class == ProductClass.SOAP and label.soap is None:
        yield (
            f"{product} is entered as true soap, and lot {lot} was made without lye: most of true "
            "soap is salts of fatty acids (21 CFR 701.20(a)(1)). Enter it as a cosmetic."
        )
    yield from _organic_stops(label)
    yield from label.wording.stops


def _organic_stops(label: Label) -> Iterable[str]:
    product, composition = label.product, label.wording.composition
    limits = label.wording.classification.limits
    said = claim_said(f"{label.name}\n{label.identity}\n{label.claims}")
    if product.claims_organic and label.wording.claim is None:
        problems = organic_share.claim_problems(composition, "made with organic", limits)
        yield f"{product} is sold as organic. {' '.join(problems)}"
    elif said and not product.claims_organic:
        yield "The name on the label says “organic”. It is not entered as sold as organic."
    elif said:
        problems = organic_share.claim_problems(composition, said, limits)
        if problems:
            yield f"The name on the label says “{said}”. {' '.join(problems)}"


def _warnings(lot: Lot, workshop: Workshop, design: LabelDesign, wording: Wording) -> Iterable[str]:
    if lot.status == Status.QUARANTINE:
        yield f"Lot {lot} is still in quarantine: labelled units wait until it is released."
    law = law_of(wording.market)
    if lot.best_before is None and not law.needs_a_date:
        yield f"Nothing gives lot {lot} a best-before date, so the label has none."
    if wording.claim and not workshop.certified_by:
        yield "No certifier of your own is entered under Set-up, so the label names none."
    if wording.claim and law.names_allergens:
        yield (
            f"The organic shares follow 7 CFR 205. The {law.code} has no such rule for cosmetics: "
            "ask your certifier what may be said there."
        )
    if law.has_open_jar and not design.opened_months and _keeps_long(lot):
        yield (
            f"The lot keeps longer than 30 months, for which the {law.code} asks for the months "
            "after opening in the open jar. An owner enters them under the product's labels."
        )
    yield from wording.warnings


def _keeps_long(lot: Lot) -> bool:
    return lot.best_before is not None and durability_needs_jar(lot.made_on, lot.best_before)
