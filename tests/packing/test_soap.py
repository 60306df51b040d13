"""Bars are packed once their soap is cured, and never of one that could burn."""

from datetime import date, timedelta

import pytest
from django.utils import timezone

from tests import make
from tests.kettle import build as kettle
from tests.kettle import soaps
from tests.packing import build
from workshop.core.errors import ActionRefused
from workshop.core.formatting import day
from workshop.core.saving.new_tokens import new_token
from workshop.kettle.models import Batch
from workshop.ledger.models import Lot, Status
from workshop.materials.models import SoapValue
from workshop.packing import services

pytestmark = pytest.mark.django_db
AGO = timedelta(days=50)


@pytest.fixture
def soap() -> Lot:
    """Poured fifty days ago, to cure for 42, and released since."""
    poured = timezone.now() - AGO
    batch = kettle.batch(soaps.version(), at=poured - timedelta(hours=1))
    for line in batch.lines.all():
        lot = make.lot(line.item, made_on=timezone.localdate(poured))
        kettle.weigh(line, lot=lot, at=poured)
    (made,) = kettle.pour(Batch.objects.get(pk=batch.pk), "900", at=poured)
    kettle.release(batch, at=timezone.now())
    return Lot.objects.get(pk=made.pk)


def packed(of: Lot, on: date) -> Lot:
    product = build.product(bulk=of.item)
    boxes = make.lot(product.container, on_hand=100, made_on=on)
    return services.pack(
        product, units=10, bulk=[(of, 10 * product.fill_g)], containers=[(boxes, 10)],
        made_on=on, by=make.user(), at=timezone.now(), token=new_token(),
    )  # fmt: skip


def test_bars_are_packed_from_the_day_the_soap_is_cured(soap: Lot) -> None:
    ready = soap.made_on + timedelta(days=42)

    with pytest.raises(ActionRefused) as caught:
        packed(soap, ready - timedelta(days=1))
    assert f"Lot {soap} cures until {day(ready)}" in caught.value.message
    assert caught.value.field == f"lot_{soap.pk}"

    assert packed(soap, ready).status == Status.QUARANTINE


def test_soap_whose_lye_cannot_be_told_is_not_packed(soap: Lot) -> None:
    SoapValue.objects.all().delete()

    with pytest.raises(ActionRefused, match="The superfat cannot be determined"):
        packed(soap, timezone.localdate())
