"""Which lots may come in: each as it arrived, and all that speaks against it."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from functools import reduce
from operator import or_

from django.db.models import Q, prefetch_related_objects

from workshop.core import formatting
from workshop.core.errors import ActionRefused
from workshop.core.files.uploads import CheckedFile
from workshop.goods_in.models import (
    Certificate,
    CertificateStop,
    OrganicPapers,
    Receipt,
    ReceiptLine,
    StopKind,
    Supplier,
    not_good,
)
from workshop.ledger.models import Item, ItemKind
from workshop.materials.models import profile_of
from workshop.rules.organic.fraud_prevention import AT_RECEIPT, not_done

Fault = tuple[str, str]
NO_SUPPLIER_LOT = "Copy the supplier's lot from the label; every lot must have one."
EXPIRED_BEFORE = (
    "The maker's expiry, {expiry}, lies before the day of receipt, {received}. Check both dates, or"
    " send the lot back."
)
HOW_TO_AGREE = "If it really is the same supplier lot again, say so at the foot of the page."


@dataclass(frozen=True)
class ArrivedLot:
    """One lot of a delivery. The quantity is in the item's unit, beside what the note says."""

    item: Item
    supplier_lot: str
    quantity: Decimal
    quantity_as_written: str
    makers_expiry: date | None = None
    certificate: Certificate | None = None
    is_organic: bool = False
    analysis: CheckedFile | None = None
    seal_is_good: bool = False
    smell_is_good: bool = False
    look_is_good: bool = False
    temperature_c: Decimal | None = None
    checks_note: str = ""
    cost: Decimal | None = None
    # The number on the container, 14 digits: the next one of its kind is known by it.
    supplier_gtin: str = ""


@dataclass(frozen=True)
class Papers:
    """What was looked at on the papers of a delivery; `practices` are keys of what was ticked."""

    name_on_papers: str = ""
    import_certificate: str = ""
    checked_on: date | None = None
    checked_by: str = ""
    practices: tuple[str, ...] = ()

    @property
    def is_empty(self) -> bool:
        return self == Papers()


@dataclass(frozen=True)
class LineFault:
    """What speaks against one row (counted from 0), and the field it belongs to."""

    row: int
    field: str
    sentence: str

    @property
    def asks(self) -> bool:
        """Whether a plain yes settles it."""
        return self.sentence.endswith(HOW_TO_AGREE)


class RefusedLines(ActionRefused):
    """A receipt whose rows cannot be taken as they are: every fault of every row."""

    def __init__(self, faults: Sequence[LineFault]) -> None:
        first = faults[0]
        super().__init__(
            f"Lot {first.row + 1}: {first.sentence}", field=f"lines-{first.row}-{first.field}"
        )
        self.faults = list(faults)


def refuse_faults(
    supplier: Supplier, arrived: Sequence[ArrivedLot], *, received_on: date, repeats_agreed: bool
) -> None:
    """Raise RefusedLines with all that speaks against these lots, if anything does."""
    prefetch_related_objects([lot.item for lot in arrived], "profile__parts")
    covered = _covered(arrived)
    repeats = {} if repeats_agreed else _repeats(supplier, arrived)
    faults = [
        LineFault(row, field, sentence)
        for row, lot in enumerate(arrived)
        for field, sentence in (
            *_about_the_lot(lot, received_on),
            *_about_the_claim(lot, supplier, received_on, covered),
            *_about_the_checks(lot),
            *repeats.get(row, ()),
        )
    ]
    if faults:
        raise RefusedLines(faults)


def _about_the_lot(lot: ArrivedLot, received_on: date) -> Iterator[Fault]:
    if not lot.item.is_active or lot.item.kind not in (ItemKind.MATERIAL, ItemKind.PACKAGING):
        yield "item", f"{lot.item} is not among the materials and packaging bought now."
    if not lot.supplier_lot.strip():
        yield "supplier_lot", NO_SUPPLIER_LOT
    if lot.makers_expiry is not None and lot.makers_expiry < received_on:
        yield (
            "makers_expiry",
            EXPIRED_BEFORE.format(
                expiry=formatting.day(lot.makers_expiry), received=formatting.day(received_on)
            ),
        )
    if lot.cost is not None and lot.cost < 0:
        yield "cost", "A cost is not below zero."


def _about_the_claim(
    lot: ArrivedLot, supplier: Supplier, received_on: date, covered: set[tuple[int, int]]
) -> Iterator[Fault]:
    """An organic lot needs a certificate of its supplier, valid that day, that covers it."""
    if not lot.is_organic:
        return
    otherwise = "Choose another certificate, or record the lot as not organic."
    profile = profile_of(lot.item)
    certificate = lot.certificate
    if profile is None or not profile.can_be_organic_on(received_on):
        yield (
            "is_organic",
            f"{lot.item} is not kept as bought organic: change that on its page,"
            " or record the lot as not organic.",
        )
    elif certificate is None:
        yield (
            "certificate",
            "Choose the certificate that covers this lot, or record it as not organic.",
        )
    elif certificate.supplier_id != supplier.pk:
        yield "certificate", f"{certificate} was not issued to {supplier}. {otherwise}"
    elif not certificate.is_valid_on(received_on):
        yield (
            "certificate",
            f"{certificate} is valid from {formatting.day(certificate.valid_from)} to"
            f" {formatting.day(certificate.valid_to)}, not on {formatting.day(received_on)}."
            f" {otherwise}",
        )
    elif stopped := stopped_on(certificate, received_on):
        yield (
            "certificate",
            f"{certificate} is {stopped.kind} from {formatting.day(stopped.from_day)}. {otherwise}",
        )
    elif (certificate.pk, lot.item.pk) not in covered:
        yield "certificate", f"{certificate} does not cover {lot.item}. {otherwise}"


def papers_missing(receipt: Receipt, lines: Iterable[ReceiptLine]) -> list[str]:
    """What nobody noted of the papers of organic goods; nothing is asked about others."""
    if not any(line.is_organic for line in lines):
        return []
    papers: OrganicPapers | None = getattr(receipt, "papers", None)
    missing = not_done(AT_RECEIPT, papers.practices if papers else ())
    if papers is None or not papers.name_on_papers:
        missing.insert(0, "Supplier's name on the papers")
    if papers is None or not papers.checked_on:
        missing.insert(0, "Public database")
    return missing


def stopped_on(certificate: Certificate, day: date) -> CertificateStop | None:
    """The suspension or revocation that holds on a day, or None."""
    begun = certificate.stops.filter(from_day__lte=day).order_by("from_day", "pk")
    last: CertificateStop | None = begun.last()
    return None if last is None or last.kind == StopKind.REINSTATED else last


def _about_the_checks(lot: ArrivedLot) -> Iterator[Fault]:
    """What is wrong on arrival does not stop the receipt, but somebody must say what was done."""
    if lot.checks_note.strip():
        return
    bad = not_good(lot.item, lot)
    profile = profile_of(lot.item)
    warmest = profile.max_arrival_c if profile else None
    if warmest is not None and lot.temperature_c is None:
        yield (
            "temperature_c",
            f"{lot.item} must arrive at {formatting.number(warmest)} °C or below: measure it,"
            " or say in the note why not.",
        )
    if bad:
        yield (
            "checks_note",
            f"Does not conform: {', '.join(bad)}. Write down what you saw;"
            " the lot waits in quarantine until it is decided on.",
        )


def _covered(arrived: Iterable[ArrivedLot]) -> set[tuple[int, int]]:
    """The pairs of certificate and item, among these lots, where the one covers the other."""
    certificates = {lot.certificate.pk for lot in arrived if lot.certificate}
    rows = Certificate.items.through.objects.filter(certificate_id__in=certificates)
    return set(rows.values_list("certificate_id", "item_id"))


def _repeats(supplier: Supplier, arrived: Sequence[ArrivedLot]) -> dict[int, list[Fault]]:
    """The rows whose supplier lot came in before, or stands twice on this receipt."""
    said = _came_before(supplier, arrived)
    faults: dict[int, list[Fault]] = {}
    for row, lot in enumerate(arrived):
        key = _key(lot.item.pk, lot.supplier_lot)
        if key in said:
            faults[row] = [("supplier_lot", f"{said[key]} {HOW_TO_AGREE}")]
        said.setdefault(key, f"Lot {row + 1} on this page has the same item and supplier lot.")
    return faults


def _came_before(supplier: Supplier, arrived: Sequence[ArrivedLot]) -> dict[tuple[int, str], str]:
    same = [Q(lot__item=lot.item, supplier_lot__iexact=lot.supplier_lot.strip()) for lot in arrived]
    standing = ReceiptLine.objects.effective()
    earlier = standing.filter(reduce(or_, same), receipt__supplier=supplier)
    return {
        _key(line.lot.item_id, line.supplier_lot): (
            f"This supplier lot of {line.lot.item} already came in on"
            f" {formatting.day(line.receipt.received_on)} as lot {line.lot}."
        )
        for line in earlier.select_related("lot__item", "receipt").order_by("pk")
    }


def _key(item_id: int, supplier_lot: str) -> tuple[int, str]:
    return item_id, supplier_lot.strip().casefold()
