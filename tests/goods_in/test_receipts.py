"""Receiving a delivery: what is written, and what is refused with nothing written."""

from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest

from tests import make
from tests.goods_in import build
from workshop.core.errors import ActionRefused
from workshop.goods_in.delivery_checks import RefusedLines
from workshop.goods_in.models import Receipt
from workshop.ledger.models import ItemKind, Lot, Operation, Posting, Status
from workshop.ledger.services import on_hand

pytestmark = pytest.mark.django_db
TOMORROW = build.DAY + timedelta(days=1)
YESTERDAY = build.DAY - timedelta(days=1)


def faults(*lots: Any, **values: Any) -> list[tuple[int, str, str]]:
    """What receiving these is refused with, after checking that nothing was written."""
    before = Operation.objects.count(), Lot.objects.count(), Posting.objects.count()
    with pytest.raises(RefusedLines) as caught:
        build.receipt(*lots, **values)
    assert (Operation.objects.count(), Lot.objects.count(), Posting.objects.count()) == before
    return [(fault.row, fault.field, fault.sentence) for fault in caught.value.faults]


def test_receipt_puts_its_lots_into_quarantine_with_what_the_note_says() -> None:
    oil, tins = build.material(), build.packaging()

    receipt = build.receipt(
        build.arrived(oil, grams=15000, quantity_as_written="3 x 5 kg", supplier_lot=" S7 "),
        build.arrived(tins, grams=144, smell_is_good=False, cost=Decimal("61.20")),
    )

    first, second = receipt.lines.all()
    assert receipt.operation.is_closed
    assert receipt.operation.reference == f"R-{make.MONTH}-01"
    assert [line.lot.status for line in (first, second)] == [Status.QUARANTINE] * 2
    assert [on_hand(line.lot) for line in (first, second)] == [15000, 144]
    assert (first.supplier_lot, first.quantity_as_written) == ("S7", "3 x 5 kg")
    assert second.cost == Decimal("61.20")


def test_receipt_seal_covers_what_arrived() -> None:
    line = build.line(supplier_lot="S9")

    operation = line.receipt.operation

    (receipt,) = make.sealed_rows(operation, "goods_in_receipt")
    (sealed,) = make.sealed_rows(operation, "goods_in_receiptline")
    assert (receipt["supplier_id"], sealed["supplier_lot"]) == (line.receipt.supplier_id, "S9")


def test_receipt_sent_twice_answers_with_the_same_receipt() -> None:
    of, lot = build.supplier(), build.arrived(build.material())

    first = build.receipt(lot, of=of, token="once")
    second = build.receipt(lot, of=of, token="once")

    assert second == first
    assert Receipt.objects.count() == 1
    assert Lot.objects.count() == 1


def test_lot_is_good_until_the_makers_expiry() -> None:
    oil = build.material(shelf_life_months=24)

    line = build.line(oil, makers_expiry=make.day(96))

    assert line.lot.best_before == make.day(96)


def test_lot_without_an_expiry_is_good_for_the_materials_shelf_life() -> None:
    assert build.line(build.material(shelf_life_months=24)).lot.best_before == make.day(months=24)


def test_lot_without_expiry_and_shelf_life_has_no_date() -> None:
    assert build.line(build.material()).lot.best_before is None


def test_lot_that_expired_before_the_receipt_is_refused() -> None:
    assert faults(build.arrived(build.material(), makers_expiry=YESTERDAY)) == [
        (
            0,
            "makers_expiry",
            f"The maker's expiry, {make.shown(-1)}, lies before the day of receipt, {make.shown()}."
            " Check both dates, or send the lot back.",
        )
    ]


def test_lot_that_expires_on_the_day_is_taken() -> None:
    assert build.line(makers_expiry=build.DAY).lot.best_before == build.DAY


def test_organic_lot_is_taken_under_a_certificate_that_covers_it() -> None:
    of, oil = build.supplier(), build.material()
    paper = build.certificate(of, [oil], valid_from=build.DAY, valid_to=build.DAY)

    line = build.line(oil, of=of, certificate=paper, is_organic=True)

    assert line.is_organic
    assert line.certificate == paper


def test_organic_lot_without_a_certificate_is_refused() -> None:
    assert faults(build.arrived(build.material(), is_organic=True)) == [
        (
            0,
            "certificate",
            "Choose the certificate that covers this lot, or record it as not organic.",
        )
    ]


def test_organic_lot_under_a_lapsed_certificate_is_refused() -> None:
    of, oil = build.supplier(), build.material()
    paper = build.certificate(of, [oil], number="EXAMPLE-EG-L", valid_to=YESTERDAY)

    assert faults(build.arrived(oil, certificate=paper, is_organic=True), of=of) == [
        (
            0,
            "certificate",
            "Evergrain Assurance EXAMPLE-EG-L is valid from "
            f"{make.shown(-365)} to {make.shown(-1)}, not on"
            f" {make.shown()}. Choose another certificate, or record the lot as not organic.",
        )
    ]


def test_organic_lot_that_the_certificate_does_not_cover_is_refused() -> None:
    of, oil = build.supplier(), build.material("Olive oil")
    paper = build.certificate(of, [build.material()], number="EXAMPLE-EG-C")

    assert faults(build.arrived(oil, certificate=paper, is_organic=True), of=of) == [
        (
            0,
            "certificate",
            "Evergrain Assurance EXAMPLE-EG-C does not cover Olive oil."
            " Choose another certificate, or record the lot as not organic.",
        )
    ]


def test_organic_lot_under_another_suppliers_certificate_is_refused() -> None:
    oil, of = build.material(), build.supplier("Low Fen Distillery")
    paper = build.certificate(build.supplier(), [oil], number="EXAMPLE-EG-O")

    assert faults(build.arrived(oil, certificate=paper, is_organic=True), of=of) == [
        (
            0,
            "certificate",
            "Evergrain Assurance EXAMPLE-EG-O was not issued to Low Fen Distillery."
            " Choose another certificate, or record the lot as not organic.",
        )
    ]


def test_organic_lot_of_a_material_never_bought_as_organic_is_refused() -> None:
    of, oil = build.supplier(), build.material("Castor oil", is_organic=False)
    paper = build.certificate(of, [oil])

    assert faults(build.arrived(oil, certificate=paper, is_organic=True), of=of) == [
        (
            0,
            "is_organic",
            "Castor oil is not kept as bought organic: change that on its page,"
            " or record the lot as not organic.",
        )
    ]


def test_lot_with_an_unfit_certificate_is_taken_as_not_organic() -> None:
    of, oil = build.supplier(), build.material()
    paper = build.certificate(of, [], valid_to=YESTERDAY)

    assert not build.line(oil, of=of, certificate=paper, is_organic=False).is_organic


def test_supplier_lot_that_came_before_asks() -> None:
    of, oil = build.supplier(), build.material("Olive oil")
    earlier = build.line(oil, of=of, supplier_lot="ab-1")

    assert faults(build.arrived(oil, supplier_lot="AB-1 "), of=of) == [
        (
            0,
            "supplier_lot",
            f"This supplier lot of Olive oil already came in on {make.shown()} as lot"
            f" {earlier.lot}. If it really is the same supplier lot again, say so at the foot of"
            " the page.",
        )
    ]


def test_supplier_lot_twice_on_one_receipt_asks() -> None:
    oil = build.material()
    twice = [build.arrived(oil, supplier_lot="S1"), build.arrived(oil, supplier_lot="s1")]

    assert faults(*twice) == [
        (
            1,
            "supplier_lot",
            "Lot 1 on this page has the same item and supplier lot. If it really is the same"
            " supplier lot again, say so at the foot of the page.",
        )
    ]


def test_supplier_lot_again_is_taken_when_agreed() -> None:
    of, oil = build.supplier(), build.material()
    build.line(oil, of=of, supplier_lot="S1")

    build.receipt(build.arrived(oil, supplier_lot="S1"), of=of, repeats_agreed=True)

    assert oil.lots.count() == 2


def test_same_supplier_lot_of_another_supplier_or_item_does_not_ask() -> None:
    of, oil = build.supplier(), build.material()
    build.line(oil, of=of, supplier_lot="S1")

    build.line(oil, supplier_lot="S1")
    build.line(of=of, supplier_lot="S1")

    assert Receipt.objects.count() == 3


def test_failed_checks_need_a_note() -> None:
    lot = build.arrived(build.material(), seal_is_good=False, smell_is_good=False)

    assert faults(lot) == [
        (
            0,
            "checks_note",
            "Does not conform: seal, smell. Write down what you saw; the lot waits in quarantine"
            " until it is decided on.",
        )
    ]


def test_failed_checks_with_a_note_are_taken_into_quarantine() -> None:
    line = build.line(seal_is_good=False, checks_note="Lid was loose.")

    assert line.lot.status == Status.QUARANTINE


def test_warm_lot_needs_a_note() -> None:
    butter = build.material(max_arrival_c=Decimal(8))

    assert faults(build.arrived(butter, temperature_c=Decimal("11.5"))) == [
        (
            0,
            "checks_note",
            "Does not conform: 11.5 °C, above 8 °C. Write down what you saw; the lot waits in"
            " quarantine until it is decided on.",
        )
    ]


def test_temperature_is_asked_for_where_it_matters() -> None:
    butter = build.material("Fresh butter", max_arrival_c=Decimal(8))

    assert faults(build.arrived(butter)) == [
        (
            0,
            "temperature_c",
            "Fresh butter must arrive at 8 °C or below: measure it, or say in the note why not.",
        )
    ]


def test_every_fault_of_every_row_is_told() -> None:
    oil = build.material()
    bad = build.arrived(oil, makers_expiry=YESTERDAY, is_organic=True)

    told = faults(build.arrived(oil), bad, build.arrived(oil, supplier_lot=" "))

    assert [(row, field) for row, field, _ in told] == [
        (1, "makers_expiry"),
        (1, "certificate"),
        (2, "supplier_lot"),
    ]


def test_pieces_are_whole() -> None:
    half = build.arrived(build.packaging(), grams=Decimal("0.5"))

    told = faults(build.arrived(build.material()), half)

    assert [(row, field) for row, field, _ in told] == [(1, "quantity")]


def test_bulk_made_here_is_not_received() -> None:
    told = faults(build.arrived(make.item(ItemKind.BULK, name="Balm base")))

    assert told == [
        (0, "item", "Balm base is not among the materials and packaging bought now."),
    ]


@pytest.mark.parametrize(
    ("values", "sentence", "field"),
    [
        (
            {"received_on": TOMORROW},
            f"{make.shown(1)} is in the future. Give the day the delivery arrived.",
            "received_on",
        ),
        ({}, "A receipt needs at least one lot.", None),
    ],
)
def test_receipt_head_is_refused(values: dict[str, Any], sentence: str, field: str | None) -> None:
    with pytest.raises(ActionRefused) as caught:
        build.receipt(**values)

    assert (caught.value.message, caught.value.field) == (sentence, field)
    assert not Operation.objects.exists()


def test_receipt_of_a_supplier_no_longer_used_is_refused() -> None:
    of = build.supplier("Old Mill", is_active=False)

    with pytest.raises(ActionRefused, match="Old Mill is no longer an active supplier"):
        build.receipt(build.arrived(build.material()), of=of)
