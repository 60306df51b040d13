"""Checks and their critical limits."""

from decimal import Decimal
from typing import Any

import pytest

from tests import make
from tests.kettle import build
from workshop.core.errors import ActionRefused
from workshop.core.models import Role
from workshop.core.saving.new_tokens import new_token
from workshop.formulas.models import Step
from workshop.kettle import services
from workshop.kettle.models import Batch, Check, CheckKind

pytestmark = pytest.mark.django_db
MELT = {"text": "Melt", "from_c": Decimal(68), "to_c": Decimal(75), "minutes": 20}


def batch_and_step() -> tuple[Batch, Step]:
    batch = build.batch(build.version(steps=[MELT]))
    return batch, batch.version.steps.get()


def add(batch: Batch, kind: CheckKind, **values: Any) -> Check:
    values.setdefault("by", make.user(Role.MAKER))
    values.setdefault("token", new_token())
    return services.add_check(batch, kind, at=make.NOON, **values)


@pytest.mark.parametrize(
    ("degrees", "is_within"), [("67.9", False), ("68", True), ("75", True), ("75.1", False)]
)
def test_temperature_is_held_against_the_step(degrees: str, is_within: bool) -> None:  # noqa: FBT001
    batch, step = batch_and_step()

    check = add(
        batch, CheckKind.TEMPERATURE, temperature_c=Decimal(degrees), step=step, note="seen"
    )

    assert check.is_within is is_within


@pytest.mark.parametrize(("minutes", "is_within"), [("19.9", False), ("20", True), ("40", True)])
def test_time_is_at_least_that_of_the_step(minutes: str, is_within: bool) -> None:  # noqa: FBT001
    batch, step = batch_and_step()

    check = add(batch, CheckKind.TIME, minutes=Decimal(minutes), step=step, note="seen")

    assert check.is_within is is_within


def test_outside_its_limits_needs_a_note() -> None:
    batch, step = batch_and_step()

    with pytest.raises(ActionRefused) as refused:
        add(batch, CheckKind.TEMPERATURE, temperature_c=Decimal(80), step=step)

    assert refused.value.field == "note"
    assert refused.value.message == (
        "It is outside the limits of the step: say in the note what was done about it."
    )
    assert not Check.objects.exists()


def test_check_sent_again_is_recorded_once() -> None:
    batch, token = build.batch(), new_token()

    first = add(batch, CheckKind.SPOON, note="firm", token=token)
    second = add(batch, CheckKind.SPOON, note="firm", token=token)

    assert first == second


@pytest.mark.parametrize(
    ("kind", "values", "field"),
    [
        (CheckKind.TEMPERATURE, {}, "temperature_c"),
        (CheckKind.TEMPERATURE, {"temperature_c": Decimal(301)}, "temperature_c"),
        (CheckKind.TIME, {}, "minutes"),
        (CheckKind.TIME, {"minutes": Decimal(-1)}, "minutes"),
        (CheckKind.SPOON, {}, "note"),
        (CheckKind.SAMPLE, {}, "note"),
        (CheckKind.NOTE, {"note": "  "}, "note"),
    ],
)
def test_empty_or_impossible_check_is_refused(
    kind: CheckKind, values: dict[str, Any], field: str
) -> None:
    batch = build.batch()

    with pytest.raises(ActionRefused) as refused:
        add(batch, kind, **values)

    assert refused.value.field == field


def test_step_of_another_formula_is_refused() -> None:
    _, step = batch_and_step()

    with pytest.raises(ActionRefused, match="belongs to another formula"):
        add(build.batch(), CheckKind.TIME, minutes=Decimal(30), step=step)


def test_check_of_a_closed_batch_is_refused() -> None:
    batch = build.poured()
    services.close_batch(batch, by=build.owner(), at=make.NOON)

    with pytest.raises(ActionRefused, match="is closed"):
        add(batch, CheckKind.NOTE, note="late")


def test_token_of_a_check_of_another_batch_is_refused() -> None:
    token = new_token()
    add(build.batch(), CheckKind.NOTE, note="firm", token=token)

    with pytest.raises(ActionRefused, match="already sent with other figures"):
        add(build.batch(), CheckKind.NOTE, note="firm", token=token)


def test_clean_kettle_is_ticked_off_without_words() -> None:
    check = add(build.batch(), CheckKind.CLEAN)

    assert (check.kind, check.note) == (CheckKind.CLEAN, "")
