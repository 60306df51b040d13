"""Labels issued, used, spoiled and returned must balance."""

import pytest
from django.db import DatabaseError, IntegrityError, transaction

from tests import make
from tests.labels import build
from workshop.core.errors import ActionRefused
from workshop.core.models import Role, User
from workshop.labels import services
from workshop.labels.models import LabelCount
from workshop.labels.printing.reconciliation import balance_of
from workshop.ledger.models import Lot

pytestmark = pytest.mark.django_db


@pytest.fixture
def packer() -> User:
    return make.user(Role.PACKER)


@pytest.fixture
def lot(packer: User) -> Lot:
    """Ten units, twelve labels issued."""
    build.workshop()
    made = build.balm(is_small_package=True)
    services.log_print(made, 12, by=packer, at=make.NOON)
    return made


def count(lot: Lot, by: User, *figures: int, form: str = "t", reason: str = "") -> LabelCount:
    used, spoiled, returned = figures
    return services.count_labels(
        lot, used=used, spoiled=spoiled, returned=returned, by=by, at=make.NOON, token=form,
        reason=reason,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("figures", "sentence", "is_sound"),
    [
        # Common practice, no source: label reconciliation of good manufacturing practice.
        ((10, 1, 1), "All 12 labels are accounted for.", True),
        ((10, 1, 0), "1 of 12 labels are not accounted for: look for them.", False),
        (
            (9, 2, 1),
            "All 12 labels are accounted for, but 9 were used on 10 units: count again, or say "
            "why.",
            False,
        ),
    ],
)
def test_balance_says_where_it_stands(
    lot: Lot, packer: User, figures: tuple[int, int, int], sentence: str, *, is_sound: bool
) -> None:
    assert balance_of(lot).sentence == "12 labels issued, none accounted for yet."

    count(lot, packer, *figures)

    assert (balance_of(lot).sentence, balance_of(lot).is_sound) == (sentence, is_sound)


def test_reprint_is_issued_and_counted_too(lot: Lot, packer: User) -> None:
    count(lot, packer, 8, 4, 0)
    services.log_print(lot, 2, by=packer, at=make.NOON, reason="four smeared")
    count(lot, packer, 2, 0, 0, form="u")

    assert balance_of(lot).is_sound


def test_wrong_count_is_taken_back_with_a_reason(lot: Lot, packer: User) -> None:
    count(lot, packer, 11, 1, 0)

    with pytest.raises(ActionRefused, match="takes back an earlier count: say why"):
        count(lot, packer, -1, 0, 1, form="u")
    count(lot, packer, -1, 0, 1, form="u", reason="one was still on the roll")

    assert balance_of(lot).is_sound


@pytest.mark.parametrize(
    ("figures", "sentence"),
    [
        ((0, 0, 0), "Give at least one figure."),
        ((12, 1, 0), "12 labels of lot .* were issued, and these figures account for 13"),
        ((0, -1, 0), "takes back more than was counted"),
    ],
)
def test_odd_figures_are_refused(
    lot: Lot, packer: User, figures: tuple[int, int, int], sentence: str
) -> None:
    with pytest.raises(ActionRefused, match=sentence):
        count(lot, packer, *figures, reason="x")
    assert not LabelCount.objects.exists()


def test_labels_never_issued_are_not_counted(packer: User) -> None:
    build.workshop()

    with pytest.raises(ActionRefused, match="was issued yet"):
        count(build.balm(), packer, 1, 0, 0)


def test_same_count_twice_is_one(lot: Lot, packer: User) -> None:
    assert count(lot, packer, 10, 1, 1) == count(lot, packer, 10, 1, 1)
    with pytest.raises(ActionRefused, match="already sent with other figures"):
        count(lot, packer, 9, 1, 1)


def test_database_keeps_counts(lot: Lot, packer: User) -> None:
    row = count(lot, packer, 10, 1, 1)

    for act in (lambda: LabelCount.objects.update(used=1), row.delete):
        with pytest.raises(DatabaseError, match="only ever added"), transaction.atomic():
            act()
    with pytest.raises(IntegrityError, match="below_zero"), transaction.atomic():
        LabelCount.objects.create(
            lot=lot, used=-1, spoiled=0, returned=0, at=make.NOON, by=packer, token="x"
        )
