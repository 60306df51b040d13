"""Every rule that the kettle's tables keep by themselves."""

from decimal import Decimal
from typing import Any

import pytest
from django.db import DatabaseError, IntegrityError, transaction

from tests import make
from tests.kettle import build
from workshop.core.tokens import new_token
from workshop.kettle.models import Batch, BatchLine, Check, Kettle, Scale, Weighing

pytestmark = pytest.mark.django_db


def refused(make_row: Any, name: str) -> None:
    with pytest.raises(IntegrityError, match=name), transaction.atomic():
        make_row()


def test_kettle_holds_something() -> None:
    refused(lambda: build.kettle(0), "kettle_holds_something")


def test_scale_reads_something() -> None:
    refused(lambda: build.scale("0"), "scale_reads_something")


def test_scale_is_of_a_known_class() -> None:
    refused(lambda: build.scale(accuracy_class="V"), "scale_class_is_known")


@pytest.mark.parametrize(
    ("values", "name"),
    [
        ({"state": "lost"}, "batch_state_is_known"),
        ({"target_g": Decimal(0)}, "batch_weighs_something"),
        ({"units": 5}, "batch_units_have_a_fill"),
    ],
)
def test_batch_keeps_its_rules(values: dict[str, Any], name: str) -> None:
    batch = build.batch()

    refused(lambda: Batch.objects.filter(pk=batch.pk).update(**values), name)


@pytest.mark.parametrize(
    ("values", "name"),
    [
        ({"target_g": Decimal(-1)}, "batch_line_target_not_negative"),
        ({"formula_line": None}, "batch_line_unplanned_says_why"),
    ],
)
def test_batch_line_keeps_its_rules(values: dict[str, Any], name: str) -> None:
    line = build.batch().lines.all()[0]

    refused(lambda: BatchLine.objects.filter(pk=line.pk).update(**values), name)


def test_two_lines_of_a_batch_never_share_a_place() -> None:
    batch = build.batch()

    with pytest.raises(IntegrityError), transaction.atomic():
        batch.lines.update(order=1)


def check(**values: Any) -> Check:
    return Check.objects.create(
        batch=build.batch(),
        **{"kind": "note", "at": make.NOON, "by": make.user(), "token": new_token()} | values,
    )


def test_check_is_of_a_known_kind() -> None:
    refused(lambda: check(kind="magic"), "check_kind_is_known")


def test_check_outside_its_limits_says_more() -> None:
    refused(lambda: check(is_within=False), "check_out_of_limits_says_more")


def test_check_is_never_changed_or_removed() -> None:
    row = check(note="firm")

    for change in (
        lambda: Check.objects.filter(pk=row.pk).update(note="soft"),
        lambda: Check.objects.filter(pk=row.pk).delete(),
    ):
        with pytest.raises(DatabaseError, match="only ever added"), transaction.atomic():
            change()


def test_weighing_is_never_changed_or_removed() -> None:
    weighing = build.weigh(build.batch().lines.all()[0], "5")

    for change in (
        lambda: Weighing.objects.filter(pk=weighing.pk).update(note="other"),
        lambda: Weighing.objects.filter(pk=weighing.pk).delete(),
    ):
        with pytest.raises(DatabaseError, match="only ever added"), transaction.atomic():
            change()


def test_kettle_and_scale_say_their_names() -> None:
    assert (str(build.kettle(name="large")), str(build.scale(name="bench"))) == ("large", "bench")
    assert Kettle.objects.count() == Scale.objects.count() == 1
