"""What the tables themselves refuse, whoever writes to them."""

from collections.abc import Callable
from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.db import IntegrityError, connection, transaction

from tests import make
from tests.goods_in import build
from workshop.core.database import triggers
from workshop.goods_in.models import Certificate, ReceiptLine, Supplier
from workshop.materials.models import BlendPart, Profile
from workshop.materials.services.materials import BlendComponent

pytestmark = pytest.mark.django_db


def profile() -> Profile:
    return build.material(parts=[BlendComponent("A", Decimal(100))]).profile


def line() -> ReceiptLine:
    return build.line()


def certificate() -> Certificate:
    return build.certificate(build.supplier(), [])


def part() -> BlendPart:
    return profile().parts.get()


BROKEN: list[tuple[str, Callable[[], Any], dict[str, Any]]] = [
    ("certificate_ends_after_it_begins", certificate, {"valid_to": make.day(-2520)}),
    ("profile_kind_is_known", profile, {"kind": "stone"}),
    ("profile_density_is_possible", profile, {"density_g_per_ml": Decimal("5.0001")}),
    ("profile_water_and_salt_are_not_organic", profile, {"kind": "alkali"}),
    (
        "profile_melting_range_is_a_range",
        profile,
        {"melting_from_c": Decimal("65.1"), "melting_to_c": Decimal(65)},
    ),
    ("blend_part_share_is_possible", part, {"share": Decimal(0)}),
    ("receipt_line_organic_has_a_certificate", line, {"is_organic": True}),
    ("receipt_line_has_a_supplier_lot", line, {"supplier_lot": ""}),
    ("receipt_line_cost_is_not_negative", line, {"cost": Decimal("-0.01")}),
]


@pytest.mark.parametrize(("law", "row", "values"), BROKEN, ids=[law for law, *_ in BROKEN])
def test_table_keeps_its_law(law: str, row: Callable[[], Any], values: dict[str, Any]) -> None:
    kept = row()
    triggers.remove(connection)  # what is sealed is guarded besides
    for name, value in values.items():
        setattr(kept, name, value)

    with pytest.raises(IntegrityError, match=law), transaction.atomic():
        kept.save()


def test_certificate_is_entered_once_per_begin() -> None:
    kept = certificate()
    again = {
        "supplier": kept.supplier,
        "certifier": kept.certifier,
        "number": kept.number,
        "valid_to": kept.valid_to,
    }

    Certificate.objects.create(**again, valid_from=kept.valid_from + timedelta(days=1))
    with pytest.raises(IntegrityError), transaction.atomic():
        Certificate.objects.create(**again, valid_from=kept.valid_from)


def test_blend_names_a_part_once_organic_and_once_not() -> None:
    kept = part()
    BlendPart.objects.create(profile=kept.profile, inci_name="A", is_organic=True, share=Decimal(1))

    with pytest.raises(IntegrityError), transaction.atomic():
        BlendPart.objects.create(profile=kept.profile, inci_name="A", share=Decimal(1))


def test_supplier_has_a_name_of_its_own() -> None:
    build.supplier("Low Fen")

    with pytest.raises(IntegrityError), transaction.atomic():
        Supplier.objects.create(name="Low Fen")


def test_lot_comes_in_on_one_line() -> None:
    kept = line()

    with pytest.raises(IntegrityError), transaction.atomic():
        ReceiptLine.objects.create(
            receipt=kept.receipt, lot=kept.lot, posting=kept.posting, supplier_lot="S"
        )
