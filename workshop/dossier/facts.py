"""What the book itself knows for the file behind a product."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.db.models import Max, Q, QuerySet
from django.utils import timezone

from workshop.aftersales.models import Complaint
from workshop.core.errors import ActionRefused
from workshop.core.formatting import number
from workshop.dispatch.models import Dispatch
from workshop.formulas.models import Version
from workshop.goods_in.models import Certificate, ReceiptLine
from workshop.labels.content.inputs import inputs_of_formula, product_version
from workshop.labels.content.label import design_of
from workshop.labels.content.market_sheet_state import ClaimState, claims_of
from workshop.labels.content.market_terms import terms_of
from workshop.labels.models import LabelVersion
from workshop.ledger.models import Item, ItemKind, Lot, OperationKind
from workshop.materials.models import Profile
from workshop.packing.models import Product
from workshop.rules.errors import RuleError
from workshop.rules.ingredients.declaration import label_name
from workshop.rules.ingredients.names.by_market import known_material
from workshop.rules.product_file.small_business import kept_until
from workshop.rules.quantities.units import round_to

SHARE_PLACES = Decimal("0.0001")


@dataclass(frozen=True)
class Substance:
    """One row of the composition: name by the glossary, number, function, share."""

    name: str
    cas: str
    function: str
    percent: Decimal
    is_organic: bool

    @property
    def percent_text(self) -> str:
        """What an oil took out of a herb is not weighed: it has a name and no share."""
        return number(self.percent, least=2, most=4) if self.percent else "not weighed"

    @property
    def share_text(self) -> str:
        return f"{self.percent_text} %" if self.percent else self.percent_text


@dataclass(frozen=True)
class RawMaterial:
    """A bought material of the formula, with the papers there are for it."""

    item: Item
    papers: tuple[str, ...]


def composition_of(version: Version | None, product: Product) -> tuple[list[Substance], str]:
    """The composition by the approved formula, or in a sentence why there is none."""
    if version is None:
        return [], f"No formula of {product.bulk} is approved."
    try:
        parts = inputs_of_formula(version).composition
    except (ActionRefused, RuleError) as error:
        return [], str(error)
    names = terms_of([product.pk]).names_in("EU")
    numbers = dict(
        Profile.objects.filter(inci_name__in=[part.inci_name for part in parts])
        .exclude(cas="")
        .values_list("inci_name", "cas")
    )
    rows = []
    for part, share in parts.items():
        known = known_material(part.inci_name)
        rows.append(
            Substance(
                label_name(part, "EU", names),
                numbers.get(part.inci_name) or (", ".join(known.cas_numbers) if known else ""),
                known.function if known else "",
                round_to(share * 100, SHARE_PLACES),
                part.is_organic,
            )
        )
    return rows, ""


def raw_materials_of(version: Version | None) -> list[RawMaterial]:
    """Each bought material of the formula itself, with its certificates and analyses."""
    if version is None:
        return []
    items = [line.item for line in version.lines.all() if line.item.kind == ItemKind.MATERIAL]
    papers: dict[int, list[str]] = {item.pk: [] for item in items}
    for certificate in Certificate.objects.filter(items__in=items).prefetch_related("items"):
        for item in certificate.items.all():
            if item.pk in papers:
                papers[item.pk].append(f"{certificate.certifier}, {certificate.number}")
    analyses = ReceiptLine.objects.filter(lot__item__in=items, analysis__isnull=False)
    for line in analyses.select_related("lot", "analysis").order_by("-pk")[:200]:
        papers[line.lot.item_id].append(f"analysis of lot {line.lot}")
    return [RawMaterial(item, tuple(dict.fromkeys(papers[item.pk]))[:6]) for item in items]


def lots_of(product: Product) -> QuerySet[Lot]:
    return Lot.objects.filter(item=product.item_id, origin__kind=OperationKind.PACKING)


def last_placed_on(product: Product) -> date | None:
    """When the last lot of a product went out; where none did, when the last was packed."""
    sent = Dispatch.objects.filter(operation__postings__lot__item=product.item_id)
    last: date | None = sent.aggregate(last=Max("sent_on"))["last"]
    packed: date | None = lots_of(product).aggregate(last=Max("made_on"))["last"]
    return last or packed


def complaints_of(product: Product) -> QuerySet[Complaint]:
    """The complaints about a product or about a lot of it, the newest first."""
    about = Q(product=product.item_id) | Q(lots__item=product.item_id)
    return Complaint.objects.filter(about).distinct().order_by("-received_on", "-pk")


@dataclass(frozen=True)
class BookFacts:
    """All that the book tells for a product's file."""

    product: Product
    version: Version | None
    substances: list[Substance]
    why_no_composition: str
    materials: list[RawMaterial]
    claims: list[ClaimState]
    complaints: list[Complaint]
    labels: list[LabelVersion]
    placed_on: date | None
    on: date

    @property
    def kept_until(self) -> date | None:
        return kept_until(self.placed_on) if self.placed_on else None

    @property
    def without_papers(self) -> list[str]:
        return [str(one.item) for one in self.materials if not one.papers]

    @property
    def unproved(self) -> list[str]:
        return [one.claim for one in self.claims if one.proof is None and not one.is_of_the_book]

    @property
    def adverse(self) -> list[Complaint]:
        return [one for one in self.complaints if one.is_adverse_event]

    @property
    def serious(self) -> list[Complaint]:
        return [one for one in self.complaints if one.is_serious]


def facts_of(product: Product) -> BookFacts:
    version = product_version(product)
    substances, why = composition_of(version, product)
    labels = LabelVersion.objects.approved().filter(product=product).with_names()
    return BookFacts(
        product=product,
        version=version,
        substances=substances,
        why_no_composition=why,
        materials=raw_materials_of(version),
        claims=claims_of(product, design_of(product).claims),
        complaints=list(complaints_of(product)),
        labels=list(labels),
        placed_on=last_placed_on(product),
        on=timezone.localdate(),
    )
