"""What a label must say: computed from the ledger for one finished lot, never typed."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from fractions import Fraction

from django.utils import timezone

from workshop.core.errors import Refused
from workshop.core.models import Market, Workshop
from workshop.core.shown import number
from workshop.goods_in.composition import composition_of
from workshop.ledger.models import Act, Lot, Status
from workshop.packing.models import Product
from workshop.rules import dates, net_contents, organic
from workshop.rules.composition import Composition
from workshop.rules.declaration import Declaration, declare
from workshop.rules.declaration import Market as ListMarket
from workshop.rules.errors import RuleError
from workshop.rules.organic import Category, OrganicStanding
from workshop.rules.units import round_to

LIST_MARKETS: dict[str, ListMarket] = {Market.US: "US", Market.EU: "EU"}
# The claims a label may carry in front, the strongest first.
CLAIMS: tuple[Category, ...] = ("100 percent organic", "organic", "made with organic")


@dataclass(frozen=True)
class Label:
    """Everything one label says, with the figures behind it.

    `stops` are reasons why it must not be printed, `warnings` what to look at first.
    """

    lot: Lot
    product: Product
    market: ListMarket
    name: str
    identity: str
    organic_statement: str
    declaration: Declaration
    directions: str
    cautions: str
    maker_lines: tuple[str, ...]
    certifier_line: str
    net_contents: str
    lot_line: str
    date_line: str
    gtin: str
    composition: Composition
    standing: OrganicStanding
    stops: tuple[str, ...]
    warnings: tuple[str, ...]

    @property
    def lines(self) -> tuple[str, ...]:
        """The words of the label from top to bottom, as the log keeps them."""
        every = (
            self.name,
            self.identity,
            self.organic_statement,
            self.declaration.list_text,
            self.declaration.organic_line,
            self.directions,
            self.cautions,
            *self.maker_lines,
            self.certifier_line,
            self.net_contents,
            self.lot_line,
            self.date_line,
            f"GTIN {self.gtin}" if self.gtin else "",
        )
        return tuple(filter(None, every))

    @property
    def text(self) -> str:
        return "\n".join(self.lines)


def label_for(lot: Lot) -> Label:
    """The label of a finished lot.

    Raises Refused, with a sentence, for a lot that cannot have one: not packed here, rejected,
    of unknown composition, or in a book that does not know its workshop yet.
    """
    product = _product_of(lot)
    workshop = Workshop.objects.first()
    if workshop is None:
        raise Refused("A label needs the maker's name and address. Set-up → The workshop first.")
    market = LIST_MARKETS[workshop.market]
    composition = composition_of(lot)
    try:
        return _written(lot, product, workshop, market, composition)
    except RuleError as error:
        raise Refused(str(error)) from error


def _product_of(lot: Lot) -> Product:
    product: Product | None = getattr(lot.item, "product", None)
    if lot.origin.kind != Act.PACKING or product is None:
        raise Refused(f"Lot {lot} was not packed here, so it has no label.")
    if lot.status == Status.REJECTED:
        raise Refused(f"Lot {lot} is rejected and gets no label.")
    return product


def _written(
    lot: Lot, product: Product, workshop: Workshop, market: ListMarket, composition: Composition
) -> Label:
    standing = organic.organic_standing(composition)
    claim = _claim(composition, standing) if product.claims_organic else None
    certifier = workshop.certified_by if claim else ""
    return Label(
        lot=lot,
        product=product,
        market=market,
        name=product.label_name,
        identity=product.identity,
        organic_statement=_statement(claim, composition, standing),
        declaration=declare(composition, market),
        directions=product.directions.strip(),
        cautions=product.cautions.strip(),
        maker_lines=_maker_lines(workshop),
        certifier_line=organic.certifier_line(certifier) if certifier else "",
        net_contents=_net_contents(product.fill_g, market),
        lot_line=f"Lot {lot}",
        date_line=dates.best_before_text(lot.best_before, market) if lot.best_before else "",
        gtin=product.gtin,
        composition=composition,
        standing=standing,
        stops=tuple(_stops(lot, product, market, composition, claim)),
        warnings=tuple(_warnings(lot, workshop, market, composition, claim)),
    )


def _claim(composition: Composition, standing: OrganicStanding) -> Category | None:
    """The strongest claim that nothing in the lot speaks against."""
    possible = (claim for claim in CLAIMS if _rank(claim) <= _rank(standing.category))
    return next((c for c in possible if not organic.claim_problems(composition, c)), None)


def _rank(category: Category) -> int:
    return organic.RANKS.index(category)


def _statement(claim: Category | None, composition: Composition, standing: OrganicStanding) -> str:
    if claim == "made with organic":
        named = organic.biggest_organic(composition)
        return organic.made_with_statement([part.common_name or part.inci_name for part in named])
    if claim == "organic":
        return f"Organic: {standing.percent}% organic ingredients"
    return claim.capitalize() if claim else ""


def _maker_lines(workshop: Workshop) -> tuple[str, ...]:
    lines = (workshop.name, *workshop.address.splitlines(), workshop.contact)
    return tuple(line.strip() for line in lines if line.strip())


def _net_contents(fill_g: Decimal, market: ListMarket) -> str:
    """Both systems, the one that the market asks for first."""
    us = net_contents.net_weight_us(fill_g)
    if market == "US":
        return us.text
    return f"{net_contents.net_weight_eu(fill_g)} ({number(us.ounces)} oz)"


def _stops(
    lot: Lot,
    product: Product,
    market: ListMarket,
    composition: Composition,
    claim: Category | None,
) -> Iterable[str]:
    if lot.status == Status.ON_HOLD:
        yield f"Lot {lot} is on hold; an owner decides about it first."
    if dates.is_past(lot.best_before, timezone.localdate()):
        yield f"Lot {lot} is past its best-before date."
    if lot.best_before is None and market == "EU":
        yield f"Lot {lot} has no best-before date, and the EU asks for one."
    problems = organic.claim_problems(composition, "made with organic")
    if product.claims_organic and claim is None:
        yield f"{product} is sold as organic. {' '.join(problems)}"
    elif _calls_itself_organic(product) and claim not in ("100 percent organic", "organic"):
        problems = organic.claim_problems(composition, "organic") if claim else []
        why = " ".join(problems) or "It is not entered as sold as organic."
        yield f"The name on the label says “organic”. {why}"


def _calls_itself_organic(product: Product) -> bool:
    return "organic" in f"{product.label_name} {product.identity}".casefold()


def _warnings(
    lot: Lot,
    workshop: Workshop,
    market: ListMarket,
    composition: Composition,
    claim: Category | None,
) -> Iterable[str]:
    if lot.status == Status.QUARANTINE:
        yield f"Lot {lot} is still in quarantine: labelled units wait until it is released."
    if lot.best_before is None and market == "US":
        yield f"Nothing gives lot {lot} a best-before date, so the label has none."
    if claim and not workshop.certified_by:
        yield "No certifier of your own is entered under Set-up, so the label names none."
    if claim and market == "EU":
        yield (
            "The organic shares follow 7 CFR 205. The EU has no such rule for cosmetics: ask your "
            "certifier what may be said there."
        )
    yield from _warnings_of_law(lot, market, composition)


def _warnings_of_law(lot: Lot, market: ListMarket, composition: Composition) -> Iterable[str]:
    if market == "EU" and any(part.kind == "fragrance" for part in composition):
        yield (
            "Fragrance stands in the list as one word. Allergens in it above their threshold must "
            "be named as well: have a qualified assessor check them."
        )
    if market == "EU" and lot.best_before and _keeps_long(lot.made_on, lot.best_before):
        yield (
            "The lot keeps longer than 30 months, for which the EU asks for the months after "
            "opening in the open jar."
        )


def _keeps_long(made_on: date, best_before: date) -> bool:
    return best_before > dates.add_months(made_on, dates.LONGEST_DATED_MONTHS)


@dataclass(frozen=True)
class Row:
    """One name of the list with what stands behind it, rounded to be shown."""

    name: str
    percent: Decimal
    grams: Decimal
    is_organic: bool

    @property
    def percent_text(self) -> str:
        return number(self.percent, least=2, most=4)


def rows(label: Label, bulk_g: Decimal) -> list[Row]:
    """The list with shares, and the grams of each in the bulk that this lot took."""
    return [
        Row(
            name=entry.name,
            percent=round_to(entry.share * 100, Decimal("0.0001")),
            grams=round_to(entry.share * Fraction(bulk_g), Decimal("0.001")),
            is_organic=entry.is_organic,
        )
        for entry in label.declaration.entries
    ]
