"""A soap in the kettle: whether its lye still fits the fats that are really in."""

from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from pytest_django.asserts import assertContains, assertNotContains

from tests import make
from tests.kettle import build, soaps
from workshop.core.errors import ActionRefused
from workshop.core.models import Role
from workshop.core.saving.new_tokens import new_token
from workshop.kettle import services
from workshop.kettle.models import Batch, BatchState, Check
from workshop.kettle.weighing.weighed_superfat import soap_in
from workshop.ledger.models import Lot, Status
from workshop.materials.models import SoapValue
from workshop.materials.saponification import CAUTION, PERHAPS_TOO_MUCH, TOO_MUCH_LYE

pytestmark = pytest.mark.django_db
NARROW = "\u202f"


@pytest.fixture
def batch() -> Batch:
    # 760 g of olive oil at 190 bind 102.94 g of NaOH (ISO 3657, molar masses from memory).
    return build.batch(soaps.version(), at=timezone.now() - timedelta(hours=1))


def weigh(batch: Batch, *grams: str) -> Batch:
    for line, reading in zip(batch.lines.all(), grams, strict=True):
        build.weigh(line, reading, at=timezone.now())
    return again(batch)


def again(batch: Batch) -> Batch:
    return Batch.objects.with_names().with_weights().get(pk=batch.pk)


def short_of_oil(batch: Batch, grams: str) -> Batch:
    """All is in as planned; then the oil is found to have been less."""
    weigh(batch, "760", "142", "98")
    oil = batch.lines.all()[0]
    services.undo_reading(
        oil.weighings.get(), by=make.user(Role.MAKER), at=timezone.now(), reason="misread",
        token=new_token(),
    )  # fmt: skip
    build.weigh(oil, grams, at=timezone.now())
    return again(batch)


def told(batch: Batch) -> list[str]:
    soap = soap_in(batch)
    assert soap
    return soap.told()


def test_superfat_comes_from_what_was_really_weighed(batch: Batch) -> None:
    # 760 x 0.190 x 39.997 / 56.106 = 102.94 g; 98 g leave 4.8 %. Olive oil lies from 184 to 196.
    weigh(batch, "760", "142", "98")

    assert told(batch) == [
        f"The superfat comes to 4.8{NARROW}%; by the published values of its fats it lies from "
        f"1.7{NARROW}% to 7.7{NARROW}%."
    ]


def test_too_little_fat_is_called_out(batch: Batch) -> None:
    short_of_oil(batch, "700")

    assert told(batch)[1] == TOO_MUCH_LYE


def test_lye_that_only_the_lowest_values_leave_over_is_called_out(batch: Batch) -> None:
    short_of_oil(batch, "745")

    assert told(batch)[1] == PERHAPS_TOO_MUCH


def test_fat_without_a_value_is_named(batch: Batch) -> None:
    weigh(batch, "760", "142", "98")
    SoapValue.objects.all().delete()

    assert told(batch) == [
        "The superfat cannot be determined: no saponification value is kept for Olea Europaea "
        "Fruit Oil. The owner enters it with the material; 0 says that it binds no lye."
    ]


def test_nothing_is_said_of_a_balm() -> None:
    assert soap_in(build.filled()) is None


def test_nothing_is_said_before_anything_is_weighed(batch: Batch) -> None:
    assert soap_in(batch) is None


def test_what_nobody_described_keeps_it_from_being_told(batch: Batch) -> None:
    build.weigh(batch.lines.all()[0], "760", at=timezone.now())
    stranger = make.lot(make.item(name="Something blue"))
    line = batch.lines.create(
        item=stranger.item, order=9, phase="", target_g=0, reason="colour", formula_line=None
    )
    build.weigh(line, "1", lot=stranger, at=timezone.now())

    assert told(batch)[0].startswith("The superfat cannot be determined: Something blue has no")


def pour(batch: Batch, note: str = "") -> None:
    build.pour(batch, "900", at=timezone.now(), note=note)


def test_pour_is_never_stopped_but_what_may_burn_goes_on_hold(batch: Batch) -> None:
    batch = short_of_oil(batch, "745")

    pour(batch)

    assert again(batch).state == BatchState.POURED
    lot = batch.operation.lots.get()
    assert lot.status == Status.ON_HOLD
    first = Check.objects.get(is_within=False)
    assert first.note.startswith(f"The superfat comes to 2.9{NARROW}%")
    last = lot.status_changes.get(now=Status.ON_HOLD)
    assert last.reason.startswith(f"The superfat comes to 2.9{NARROW}%")


def test_note_of_the_pour_stands_with_the_check(batch: Batch) -> None:
    batch = short_of_oil(batch, "745")

    pour(batch, "20 g of oil follow at trace")

    assert Check.objects.get(is_within=False).note.endswith("20 g of oil follow at trace")


def release(batch: Batch, *, days: int = 42) -> list[Lot]:
    at = timezone.now() + timedelta(days=days)
    return build.release(batch, at=at, note="Looked at.")


def test_what_may_burn_is_not_released_until_the_record_is_put_right(batch: Batch) -> None:
    batch = short_of_oil(batch, "700")
    pour(batch, "short of oil")

    with pytest.raises(ActionRefused, match="There is more lye than these fats can bind"):
        release(batch)
    assert batch.operation.lots.get().status == Status.ON_HOLD

    oil = batch.lines.all()[0]
    build.weigh(oil, "60", at=timezone.now(), note="Found in the jug: it did go in.")

    assert [lot.status for lot in release(batch)] == [Status.RELEASED]


def test_what_cannot_be_told_is_not_released(batch: Batch) -> None:
    weigh(batch, "760", "142", "98")
    SoapValue.objects.all().delete()
    pour(batch)

    assert batch.operation.lots.get().status == Status.ON_HOLD
    with pytest.raises(ActionRefused, match="no saponification value is kept"):
        release(batch)


def test_soap_that_fits_is_poured_without_a_word(batch: Batch) -> None:
    batch = weigh(batch, "760", "142", "98")

    pour(batch)

    assert not Check.objects.exists()


def address(batch: Batch, name: str) -> str:
    return reverse(f"kettle:{name}", args=[batch.operation.reference])


def test_pages_of_the_batch_show_the_superfat_with_the_caution(
    client: Client, batch: Batch
) -> None:
    client.force_login(make.user(Role.MAKER))
    batch = weigh(batch, "760", "142", "98")

    for name in ("batch", "pour"):
        page = client.get(address(batch, name))
        assertContains(page, f"The superfat comes to 4.8{NARROW}%")
        assertContains(page, CAUTION)


def test_record_of_half_a_soap_does_not_frighten(client: Client, batch: Batch) -> None:
    client.force_login(make.user(Role.MAKER))
    build.weigh(batch.lines.all()[2], "98", at=timezone.now())

    assertNotContains(client.get(address(batch, "batch")), "superfat")


def test_page_of_a_balm_has_no_such_section(client: Client) -> None:
    client.force_login(make.user(Role.MAKER))

    assertNotContains(client.get(address(build.filled(), "batch")), "superfat")


def test_each_way_to_mend_tells_its_superfat(client: Client, batch: Batch) -> None:
    client.force_login(make.user(Role.MAKER))
    for line in batch.lines.all():
        make.lot(line.item, on_hand=2000)
    build.weigh(batch.lines.all()[0], "790", at=timezone.now())

    page = client.get(address(batch, "mend"))

    # As it is: 790 g of oil to 98 g of lye leave 8.4 %; restored, the 4.8 % of the formula.
    assertContains(page, f"The superfat comes to 8.4{NARROW}% (4.8{NARROW}% was meant)")
    assertContains(page, f"The superfat comes to 4.8{NARROW}% (4.8{NARROW}% was meant)")


def test_token_of_the_note_is_its_own(batch: Batch) -> None:
    batch = short_of_oil(batch, "745")
    token = new_token()

    for _ in range(2):
        build.pour(batch, "900", at=timezone.now(), note="seen", token=token)

    assert Check.objects.count() == 2
