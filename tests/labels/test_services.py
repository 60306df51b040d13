"""The label log: what was printed, by whom, and why again."""

import pytest
from django.db import DatabaseError, IntegrityError, transaction

from tests import make
from tests.labels import build
from workshop.core.errors import ActionRefused
from workshop.core.models import Role, User
from workshop.labels import services
from workshop.labels.content.label import label_for
from workshop.labels.layout import label_stock
from workshop.labels.models import Print
from workshop.ledger import services as ledger
from workshop.ledger.models import Lot, Status

pytestmark = pytest.mark.django_db


@pytest.fixture
def packer() -> User:
    return make.user(Role.PACKER)


@pytest.fixture
def lot() -> Lot:
    build.workshop()
    return build.balm(is_small_package=True)


def test_log_keeps_every_word_and_who_printed_it(lot: Lot, packer: User) -> None:
    printed = services.log_print(lot, 40, by=packer, at=make.NOON)

    assert (printed.count, printed.by, printed.at) == (40, packer, make.NOON)
    assert printed.text == label_for(lot).text
    assert f"Lot {lot}" in printed.text


def test_second_printing_needs_a_reason(lot: Lot, packer: User) -> None:
    services.log_print(lot, 40, by=packer, at=make.NOON)

    with pytest.raises(ActionRefused, match=r"were printed before\. Say why more are needed\."):
        services.log_print(lot, 2, by=packer, at=make.NOON, reason=" ")
    services.log_print(lot, 2, by=packer, at=make.NOON, reason="two smeared")

    assert [row.reason for row in lot.prints.all()] == ["two smeared", ""]


def test_same_token_is_noted_once(lot: Lot, packer: User) -> None:
    first = services.log_print(lot, 40, by=packer, at=make.NOON, token="t")

    assert services.log_print(lot, 40, by=packer, at=make.NOON, token="t") == first
    with pytest.raises(ActionRefused, match="already sent with other figures"):
        services.log_print(lot, 41, by=packer, at=make.NOON, token="t")


@pytest.mark.parametrize("count", [0, -1, 10_001])
def test_odd_count_is_refused(lot: Lot, packer: User, count: int) -> None:
    with pytest.raises(ActionRefused, match="Print from 1 to 10000 labels at a time"):
        services.log_print(lot, count, by=packer, at=make.NOON)


def test_lot_on_hold_is_not_printed(lot: Lot, packer: User) -> None:
    ledger.set_lot_status(lot, Status.ON_HOLD, by=packer, at=make.NOON, reason="smell")

    with pytest.raises(ActionRefused, match="is on hold; an owner decides about it first"):
        services.log_print(lot, 40, by=packer, at=make.NOON)
    assert not Print.objects.exists()


def test_label_that_does_not_fit_is_not_logged(packer: User) -> None:
    build.workshop()
    lot = build.balm(cautions="Keep away from eyes. " * 20)

    with pytest.raises(ActionRefused, match="there is no room for"):
        services.print_labels(
            lot, layout=label_stock.DEFAULT, count=3, by=packer, at=make.NOON, token="t"
        )
    assert not Print.objects.exists()


def test_next_lot_of_a_product_is_offered_the_size_used_last(lot: Lot, packer: User) -> None:
    label = label_for(lot)
    assert services.usual_layout(label) == label_stock.DEFAULT

    sheet = label_stock.BY_KEY["a4-24"]
    services.log_print(lot, 40, by=packer, at=make.NOON, layout=sheet)

    assert services.usual_layout(label) == sheet


def test_database_refuses_a_printing_of_no_labels(lot: Lot, packer: User) -> None:
    with pytest.raises(IntegrityError, match="print_counts"):
        Print.objects.create(lot=lot, count=0, text="x", at=make.NOON, by=packer, token="t")


def test_database_refuses_a_token_twice(lot: Lot, packer: User) -> None:
    services.log_print(lot, 40, by=packer, at=make.NOON, token="t")

    with pytest.raises(IntegrityError):
        Print.objects.create(lot=lot, count=1, text="x", at=make.NOON, by=packer, token="t")


def test_log_is_only_added_to(lot: Lot, packer: User) -> None:
    printed = services.log_print(lot, 40, by=packer, at=make.NOON)

    for act in (lambda: Print.objects.update(count=1), printed.delete):
        with pytest.raises(DatabaseError, match="only ever added"), transaction.atomic():
            act()
    assert Print.objects.get().count == 40
