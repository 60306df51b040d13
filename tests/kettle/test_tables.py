"""Every rule that the kettle's tables keep by themselves."""

from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.db import DatabaseError, IntegrityError, transaction

from tests import make
from tests.kettle import build
from workshop.core.files.uploads import CheckedFile, store_upload
from workshop.core.saving.new_tokens import new_token
from workshop.kettle.models import (
    Batch,
    BatchLine,
    Check,
    Kettle,
    Photo,
    Scale,
    TargetChange,
    Timer,
    Weighing,
)
from workshop.materials.models import UseLimit

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


def change_values(**values: Any) -> dict[str, Any]:
    line = build.batch().lines.all()[0]
    usual = {"line": line, "kind": "accept", "was_g": Decimal(5), "now_g": Decimal(6)}
    usual |= {"least_g": Decimal(5), "most_g": Decimal(7), "reason": "so", "at": make.NOON}
    return {**usual, "by": make.user(), "token": new_token(), **values}


@pytest.mark.parametrize(
    ("values", "name"),
    [
        ({"kind": "magic"}, "target_change_kind_is_known"),
        ({"reason": ""}, "target_change_says_why"),
        ({"now_g": Decimal(5)}, "target_change_changes"),
        ({"least_g": Decimal("6.5")}, "target_change_lies_in_its_band"),
        ({"most_g": Decimal("5.5")}, "target_change_lies_in_its_band"),
    ],
)
def test_change_of_a_target_keeps_its_rules(values: dict[str, Any], name: str) -> None:
    refused(lambda: TargetChange.objects.create(**change_values(**values)), name)


def test_target_is_changed_once_a_token() -> None:
    values = change_values()
    TargetChange.objects.create(**values)

    with pytest.raises(IntegrityError), transaction.atomic():
        TargetChange.objects.create(**values)


def test_change_of_a_target_can_neither_be_changed_nor_removed() -> None:
    change = TargetChange.objects.create(**change_values())
    rows = TargetChange.objects.filter(pk=change.pk)

    for act in (lambda: rows.update(now_g=Decimal(9)), rows.delete):
        with pytest.raises(DatabaseError), transaction.atomic():
            act()


def timer_values(**values: Any) -> dict[str, Any]:
    usual = {"name": "melting", "minutes": 5, "started_at": make.NOON, "token": new_token()}
    return {"batch": build.batch(), "started_by": make.user(), **usual, **values}


@pytest.mark.parametrize(
    ("values", "name"),
    [
        ({"minutes": 0}, "timer_runs_a_while"),
        ({"ended_at": make.NOON - timedelta(minutes=1)}, "timer_ends_after_it_starts"),
    ],
)
def test_timer_keeps_its_rules(values: dict[str, Any], name: str) -> None:
    refused(lambda: Timer.objects.create(**timer_values(**values)), name)


def test_one_timer_runs_for_one_step() -> None:
    batch = build.batch(build.version(steps=[{"text": "Melt"}]))
    step = batch.version.steps.get()
    Timer.objects.create(**timer_values(batch=batch, step=step))

    with pytest.raises(IntegrityError), transaction.atomic():
        Timer.objects.create(**timer_values(batch=batch, step=step))


def test_ended_timer_stays_as_it_is() -> None:
    timer = Timer.objects.create(**timer_values(ended_at=make.NOON))

    with pytest.raises(DatabaseError), transaction.atomic():
        Timer.objects.filter(pk=timer.pk).update(ended_at=None)
    with pytest.raises(DatabaseError), transaction.atomic():
        timer.delete()


@pytest.mark.parametrize(
    ("values", "name"),
    [
        ({"most": Decimal(0)}, "use_limit_is_a_share"),
        ({"most": Decimal(101)}, "use_limit_is_a_share"),
        ({"source": ""}, "use_limit_names_its_source"),
    ],
)
def test_limit_on_the_skin_keeps_its_rules(values: dict[str, Any], name: str) -> None:
    usual = {"item": make.item(), "most": Decimal(1), "source": "certificate"}
    refused(lambda: UseLimit.objects.create(**{**usual, **values}), name)


def test_photo_says_what_it_shows(settings: Any, tmp_path: Any) -> None:
    settings.MEDIA_ROOT = tmp_path
    file = CheckedFile("a.png", b"x", "image/png")
    upload = store_upload(file, by=make.user(), at=make.NOON)
    values = {"batch": build.batch(), "upload": upload, "shows": "", "token": new_token()}

    refused(lambda: Photo.objects.create(**values), "photo_says_more")
