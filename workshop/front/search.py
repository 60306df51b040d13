"""The scan box: what a text means exactly, what it may be meant as, and what only contains it.

The lot that a tin names in a complaint or a recall is found by `trace/lot/lot_read_from_tin.py`.
"""

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

from django.db.models import Q, QuerySet

from workshop.aftersales.models import COMPLAINT_LETTER, RECALL_LETTER, Complaint
from workshop.core.models import User
from workshop.counts.models import ROUND_LETTER, CountRound
from workshop.dispatch.models import Customer, Dispatch
from workshop.front import search_results
from workshop.front.search_results import Hit
from workshop.goods_in.models import Certificate, Receipt, ReceiptLine, Supplier
from workshop.labels.printing.case_labels import lot_of_sscc
from workshop.ledger.models import REFERENCE_LETTER, Item, Lot, Place
from workshop.rules.codes.gs1 import GTIN_LENGTHS, check_gtin, gtin_and_lot
from workshop.rules.codes.lot_codes import near_misses, normalise_code
from workshop.rules.errors import RuleError

LONGEST = 500
LEAST_TO_CONTAIN = 2
LETTERS = "".join((*REFERENCE_LETTER.values(), COMPLAINT_LETTER, RECALL_LETTER, ROUND_LETTER))
REFERENCE = re.compile(rf"([{LETTERS}])([0-9]{{4}})([0-9]{{2,6}})")


@dataclass
class SearchResult:
    exact: list[Hit] = field(default_factory=list)
    near: list[Hit] = field(default_factory=list)
    containing: list[Hit] = field(default_factory=list)
    hint: str = ""


def find(text: str) -> SearchResult:
    """Everything that `text` names; failing that, what it may have been meant as.

    The number of queries does not depend on how much is found.
    """
    text = text.strip()[:LONGEST]
    if not text:
        return SearchResult()
    exact = _once(_exact(text))
    if exact:
        return SearchResult(exact=exact)
    near = _near(text)
    containing = [hit for hit in _once(_containing(text)) if hit not in near]
    return SearchResult(near=near, containing=containing, hint=_gtin_hint(text))


def _once(found: Iterable[Hit]) -> list[Hit]:
    by_address: dict[str, Hit] = {}
    for hit in found:
        by_address.setdefault(hit.address, hit)
    return list(by_address.values())


def _exact(text: str) -> Iterator[Hit]:
    gtin, carton_lot = gtin_and_lot(text) or (None, None)
    named = carton_lot or text
    codes = {normalise_code(named), normalise_code(text)}
    in_carton = lot_of_sscc(text)
    if in_carton:
        codes.add(in_carton.code)
    yield from search_results.lots(Lot.objects.filter(code__in=codes))
    yield from search_results.lots(Lot.objects.filter(opening__old_code__iexact=text))
    references = {text.upper(), _reference(text)}
    yield from search_results.operations(references)
    yield from search_results.complaints(Complaint.objects.filter(reference__in=references))
    yield from search_results.recalls(references)
    yield from search_results.arrivals(ReceiptLine.objects.filter(supplier_lot__iexact=named))
    yield from search_results.dispatches(Dispatch.objects.filter(customer_reference__iexact=text))
    yield from search_results.receipts(Receipt.objects.filter(delivery_note__iexact=text))
    yield from search_results.certificates(Certificate.objects.filter(number__iexact=text))
    yield from search_results.items(Item.objects.filter(code__iexact=text))
    yield from search_results.places(Place.objects.filter(code=normalise_code(text)))
    yield from search_results.rounds(CountRound.objects.filter(reference__in=references))
    if gtin and not carton_lot:
        yield from search_results.products(_spellings(gtin))


def _reference(text: str) -> str:
    """A running reference however it is spaced: k 2611 02 is K-2611-02."""
    match = REFERENCE.fullmatch(normalise_code(text))
    return "-".join(match.groups()) if match else ""


def _spellings(gtin14: str) -> list[str]:
    """The number as 14, 13, 12 or 8 digits, as far as it begins with zeros."""
    return [gtin14[-length:] for length in GTIN_LENGTHS if int(gtin14[: 14 - length] or 0) == 0]


def _near(text: str) -> list[Hit]:
    """Lots that a misread code may have been meant as, the likeliest first."""
    carton = gtin_and_lot(text)
    codes = near_misses(carton[1] if carton and carton[1] else text)
    lots = Lot.objects.filter(code__in=codes).select_related("item")
    return [search_results.lot(lot) for lot in sorted(lots, key=lambda lot: codes.index(lot.code))]


def _containing(text: str) -> Iterator[Hit]:
    if len(text) < LEAST_TO_CONTAIN:
        return
    code = normalise_code(text)
    if len(code) >= LEAST_TO_CONTAIN:
        yield from search_results.lots(Lot.objects.filter(code__contains=code))
    in_reference = Q(operation__reference__icontains=text)
    in_item = Q(name__icontains=text) | Q(code__icontains=text)
    in_order = Q(customer_reference__icontains=text) | in_reference
    in_note = Q(delivery_note__icontains=text) | in_reference
    yield from search_results.items(Item.objects.filter(in_item))
    yield from search_results.arrivals(ReceiptLine.objects.filter(supplier_lot__icontains=text))
    yield from search_results.dispatches(Dispatch.objects.filter(in_order))
    yield from search_results.receipts(Receipt.objects.filter(in_note))
    yield from search_results.certificates(Certificate.objects.filter(number__icontains=text))
    told = Q(told_by__icontains=text) | Q(customer__name__icontains=text)
    contact = Q(name__icontains=text) | Q(contact__icontains=text)
    yield from search_results.customers(Customer.objects.filter(contact))
    yield from search_results.places(Place.objects.filter(name__icontains=text))
    yield from search_results.suppliers(Supplier.objects.filter(contact))
    yield from search_results.complaints(Complaint.objects.filter(told))
    yield from search_results.people(_called(text))


def _called(text: str) -> QuerySet[User]:
    """People of the workshop of whose names each word typed is a part."""
    rows = User.objects.order_by("username")
    for word in text.split():
        first_or_last = Q(first_name__icontains=word) | Q(last_name__icontains=word)
        rows = rows.filter(first_or_last | Q(username__icontains=word))
    return rows


def _gtin_hint(text: str) -> str:
    digits = re.sub(r"[\s\-]", "", text)
    if not re.fullmatch(r"[0-9]+", digits) or len(digits) not in GTIN_LENGTHS:
        return ""
    try:
        check_gtin(digits)
    except RuleError as error:
        return str(error)
    return "No product has this GTIN; it is entered with the product, in Packing."
