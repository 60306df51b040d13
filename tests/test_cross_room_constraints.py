"""What the database keeps true between rooms, and within what bounds; each by one refused row."""

from collections.abc import Callable
from decimal import Decimal
from typing import Any

import pytest
from django.apps import apps
from django.db import IntegrityError, models, transaction

from tests import make
from tests.goods_in import build as goods_in
from tests.kettle import build as kettle
from workshop.audit.all_checks import prove
from workshop.goods_in.models import ReceiptLine
from workshop.kettle.models import Batch, BatchLine, BatchState, Scale, Weighing
from workshop.kettle.proof import check_batch_states
from workshop.labels.models import LabelDesign, OwnSize
from workshop.ledger import services as ledger
from workshop.ledger.models import ItemKind, OperationKind, Side, StatusChange
from workshop.materials.models import BlendPart
from workshop.materials.services.materials import BlendComponent
from workshop.packing.models import Product

pytestmark = pytest.mark.django_db


def refusal(act: Callable[[], Any]) -> str:
    """The database's own words when it refuses `act`."""
    with pytest.raises(IntegrityError) as caught, transaction.atomic():
        act()
    return str(caught.value)


def test_weighing_belongs_to_a_line_of_the_batch_that_took_the_lot_in() -> None:
    line, other = kettle.batch().lines.first(), kettle.batch()
    assert line is not None
    lot, by = make.lot(line.item), make.user()
    posting = ledger.post(other.operation, lot, Side.IN, Decimal(5), by=by, at=make.NOON)

    assert "A weighing belongs to a line of the batch" in refusal(
        lambda: Weighing.objects.create(line=line, posting=posting, scale=kettle.scale())
    )


def test_line_of_a_receipt_is_about_the_lot_its_posting_brought_in() -> None:
    line, other = goods_in.line(), goods_in.line()
    mixed_up = {"lot": other.lot, "posting": line.posting, "receipt": other.receipt}

    told = "is about the lot that its posting brought in"
    for receipt in (line.receipt, other.receipt):
        ledger.amend_operation(receipt.operation, by=make.user(), at=make.NOON, reason="mixed up")
    rows = ReceiptLine.objects.filter(pk=line.pk)
    assert told in refusal(lambda: rows.update(lot=other.lot))
    assert told in refusal(lambda: rows.update(receipt=other.receipt))
    assert refusal(lambda: ReceiptLine.objects.create(supplier_lot="EX-1", **mixed_up))


def test_batch_under_way_is_not_sealed_and_a_sealed_one_is_over() -> None:
    batch, by = kettle.poured(), make.user()
    assert "closed or stopped before its record is sealed" in refusal(
        lambda: ledger.close_operation(batch.operation, by=by, at=make.NOON)
    )
    Batch.objects.filter(pk=batch.pk).update(state=BatchState.CLOSED)
    ledger.close_operation(batch.operation, by=by, at=make.NOON)
    assert "an amendment opens it again" in refusal(
        lambda: Batch.objects.filter(pk=batch.pk).update(state=BatchState.POURED)
    )


def test_batch_begins_with_an_open_record() -> None:
    like = kettle.batch()
    assert "begins with an open record" in refusal(
        lambda: Batch.objects.create(
            operation=make.operation(OperationKind.BATCH),
            version=like.version,
            kettle=like.kettle,
            scale=like.scale,
            target_g=Decimal(5),
            expected_loss=Decimal(2),
            state="closed",
        )
    )


def test_proof_names_a_batch_that_is_over_with_an_open_record() -> None:
    batch = kettle.poured()
    assert check_batch_states().is_sound
    Batch.objects.filter(pk=batch.pk).update(state=BatchState.CLOSED)
    assert check_batch_states().problems == [f"{batch} is closed, and its record is open."]
    assert not all(finding.is_sound for finding in prove())


@pytest.mark.parametrize(
    ("model", "values", "rule"),
    [
        (Batch, {"expected_loss": Decimal(100)}, "batch_loss_is_possible"),
        (Batch, {"expected_loss": Decimal(-1)}, "batch_loss_is_possible"),
        (BatchLine, {"tolerance": Decimal(0)}, "batch_line_tolerance_is_possible"),
        (BatchLine, {"tolerance": Decimal("50.0001")}, "batch_line_tolerance_is_possible"),
        (Scale, {"interval_g": Decimal(0)}, "scale_interval_is_possible"),
        (Scale, {"interval_g": Decimal("0.05")}, "scale_interval_is_possible"),
        (Scale, {"interval_g": Decimal(6001)}, "scale_interval_is_possible"),
        (BlendPart, {"kind": "magic"}, "blend_part_kind_is_known"),
        (LabelDesign, {"soap_naming": "magic"}, "label_design_choices_are_known"),
        (LabelDesign, {"code": "magic"}, "label_design_choices_are_known"),
        (OwnSize, {"shape": "heart"}, "own_size_choices_are_known"),
        (OwnSize, {"carries": "magic"}, "own_size_choices_are_known"),
    ],
    ids=str,
)
def test_figure_or_word_out_of_bounds_is_refused(
    model: Any, values: dict[str, Any], rule: str
) -> None:
    row = a_row(model)
    assert rule in refusal(lambda: model.objects.filter(pk=row.pk).update(**values))


def test_status_that_nobody_knows_was_never_the_one_before() -> None:
    values = {"lot": make.lot(), "at": make.NOON, "by": make.user(), "now": "released"}
    assert "status_change_is_" in refusal(
        lambda: StatusChange.objects.create(was="eaten", **values)
    )


def a_row(model: Any) -> Any:
    """One row of the kind, through its own room."""
    if model in (Batch, BatchLine, Scale):
        kettle.batch()
    if model is BlendPart:
        parts = [BlendComponent("CERA ALBA", Decimal(40)), BlendComponent("OLEA OIL", Decimal(60))]
        goods_in.material(parts=parts)
    if model is LabelDesign:
        LabelDesign.objects.create(product=a_product())
    if model is OwnSize:
        OwnSize.objects.create(
            name="Lid", width_mm=Decimal(50), height_mm=Decimal(50), margin_mm=Decimal(2)
        )
    return model.objects.first()


def a_product() -> Product:
    bulk, tin = make.item(ItemKind.BULK), make.item(ItemKind.PACKAGING)
    return Product.objects.create(
        item=make.item(ItemKind.PRODUCT),
        bulk=bulk,
        container=tin,
        fill_g=Decimal(60),
        label_name="Balm",
    )


def test_every_choice_is_checked_by_the_database() -> None:
    """A word that the program does not know is in no row, whoever wrote it."""
    unchecked = [
        f"{model._meta.label}.{field.name}"
        for model in apps.get_models()
        if model.__module__.startswith("workshop.") and not model.__name__.startswith("Historical")
        for field in model._meta.fields
        if field.choices and f"'{field.name}__in'" not in _conditions(model)
    ]
    assert unchecked == []


def _conditions(model: Any) -> str:
    checks = [one for one in model._meta.constraints if isinstance(one, models.CheckConstraint)]
    return " ".join(str(one.condition) for one in checks)
