"""What the database itself refuses of formulas, whatever program asks it."""

from collections.abc import Callable
from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.db import IntegrityError, transaction

from tests import make
from tests.formulas import build
from workshop.formulas.guarded_tables import SENTENCE
from workshop.formulas.models import Formula, Line, Step, Version, VersionStatus
from workshop.ledger.models import ItemKind

pytestmark = pytest.mark.django_db


def refused(act: Callable[[], Any]) -> str:
    with pytest.raises(IntegrityError) as caught, transaction.atomic():
        act()
    return str(caught.value)


@pytest.fixture
def version() -> Version:
    """An approved version of one line with a substitute, and one step."""
    return build.approved(build.line(100, substitutes=[make.item()]))


def line(version: Version, **values: Any) -> Line:
    values = {"item": make.item(), "order": 9, "share": Decimal(1), **values}
    return Line.objects.create(version=version, **values)


def step(version: Version, **values: Any) -> Step:
    return Step.objects.create(version=version, **{"order": 9, "text": "Stir.", **values})


def allowed(version: Version) -> Any:
    return Line.substitutes.through.objects.filter(line__version=version)


FROZEN: dict[str, Callable[[Version], Any]] = {
    "line added": line,
    "line changed": lambda version: version.lines.update(share=Decimal(50)),
    "line removed": lambda version: Line.objects.filter(version=version).delete(),
    "line moved away": lambda version: version.lines.update(version=build.draft()),
    "step added": step,
    "step changed": lambda version: version.steps.update(to_c=Decimal(90)),
    "step removed": lambda version: version.steps.all().delete(),
    "substitute added": lambda version: allowed(version).create(
        line=version.lines.get(), item=make.item()
    ),
    "substitute changed": lambda version: allowed(version).update(item=make.item()),
    "substitute removed": lambda version: allowed(version).delete(),
    "loss changed": lambda version: Version.objects.filter(pk=version.pk).update(expected_loss=9),
    "organic claim changed": lambda version: Version.objects.filter(pk=version.pk).update(
        claims_organic=True
    ),
    "approval of somebody else": lambda version: Version.objects.filter(pk=version.pk).update(
        approved_by=make.user()
    ),
    "approval of another day": lambda version: Version.objects.filter(pk=version.pk).update(
        approved_at=make.NOON + timedelta(days=1)
    ),
    "begun by somebody else": lambda version: Version.objects.filter(pk=version.pk).update(
        made_by=make.user()
    ),
    "begun on another day": lambda version: Version.objects.filter(pk=version.pk).update(
        made_at=make.NOON + timedelta(days=-1)
    ),
    "made a draft again": lambda version: Version.objects.filter(pk=version.pk).update(
        status=VersionStatus.DRAFT
    ),
}


@pytest.mark.parametrize("change", FROZEN)
def test_approved_version_stays_as_it_was_approved(version: Version, change: str) -> None:
    assert SENTENCE in refused(lambda: FROZEN[change](version))


@pytest.mark.parametrize("change", FROZEN)
def test_retired_version_stays_as_it_was_approved(version: Version, change: str) -> None:
    Version.objects.filter(pk=version.pk).update(status=VersionStatus.RETIRED)

    assert SENTENCE in refused(lambda: FROZEN[change](version))


def test_approved_version_is_kept_for_ever(version: Version) -> None:
    bare = Version.objects.filter(pk=version.pk)

    assert "An approved version is kept for ever." in refused(lambda: bare._raw_delete("default"))


def test_line_of_a_draft_does_not_move_into_an_approved_version(version: Version) -> None:
    other = build.draft().lines.filter(order=2)

    assert SENTENCE in refused(lambda: other.update(version=version, order=9))


@pytest.fixture
def draft() -> Version:
    return build.draft()


CONSTRAINTS: dict[str, Callable[[Version], Any]] = {
    "version_number_once": lambda draft: Version.objects.create(
        formula=draft.formula, number=1, made_at=make.NOON, made_by=draft.made_by
    ),
    "version_status_is_known": lambda draft: Version.objects.filter(pk=draft.pk).update(
        status="odd", approved_at=make.NOON, approved_by=draft.made_by
    ),
    "version_approved_by_somebody": lambda draft: Version.objects.filter(pk=draft.pk).update(
        status=VersionStatus.APPROVED
    ),
    "version_loss_is_possible": lambda draft: Version.objects.filter(pk=draft.pk).update(
        expected_loss=100
    ),
    "version_cure_is_possible": lambda draft: Version.objects.filter(pk=draft.pk).update(
        cure_days=3661
    ),
    "version_cure_figures_are_possible": lambda draft: Version.objects.filter(pk=draft.pk).update(
        ph_least=9, ph_most=8
    ),
    "version_rework_is_possible": lambda draft: Version.objects.filter(pk=draft.pk).update(
        rework_limit=101
    ),
    "line_order_once": lambda draft: line(draft, order=1),
    "line_item_once": lambda draft: line(draft, item=draft.lines.all()[0].item),
    "line_share_is_possible": lambda draft: line(draft, share=Decimal(0)),
    "line_tolerance_is_possible": lambda draft: line(draft, tolerance=Decimal(51)),
    "line_strained_out_says_what_stays": lambda draft: line(draft, is_strained_out=True),
    "step_order_once": lambda draft: step(draft, order=1),
    "step_range_is_a_range": lambda draft: step(draft, from_c=Decimal(75), to_c=Decimal(70)),
}


@pytest.mark.parametrize("name", CONSTRAINTS)
def test_row_that_breaks_a_constraint_is_refused(draft: Version, name: str) -> None:
    refused(lambda: CONSTRAINTS[name](draft))


def test_every_constraint_has_its_row() -> None:
    named = {
        constraint.name
        for model in (Formula, Version, Line, Step)
        for constraint in model._meta.constraints
    }

    assert named == set(CONSTRAINTS)


def test_formula_name_is_taken_once() -> None:
    known = build.formula()

    refused(lambda: Formula.objects.create(name=known.name, item=make.item(ItemKind.BULK)))
