"""A formula scaled to a kettle."""

from decimal import Decimal
from typing import Any

import pytest

from tests import make
from tests.kettle import build
from workshop.core.errors import ActionRefused
from workshop.core.saving.new_tokens import new_token
from workshop.formulas.models import VersionStatus
from workshop.kettle import services
from workshop.kettle.models import Batch, BatchState
from workshop.ledger.models import Operation

pytestmark = pytest.mark.django_db


def weights(batch: Batch) -> list[Decimal]:
    return [line.target_g for line in batch.lines.all()]


def test_plan_scales_the_soft_balm_to_its_grams() -> None:
    # Common practice, no source: 37.3 g solid oil, 5.2 g wax, 3.6 g liquid oil.
    batch = build.batch(build.soft_balm(), target_g="46.1", scale=build.scale("0.1"))

    assert weights(batch) == [Decimal("37.3"), Decimal("5.2"), Decimal("3.6")]
    assert sum(weights(batch)) == build.SOFT_BALM_G


def test_plan_on_a_half_gram_scale_adds_up_at_half_grams() -> None:
    batch = build.batch(build.soft_balm(), target_g="46", scale=build.scale("0.5"))

    assert weights(batch) == [Decimal("37.5"), Decimal("5.0"), Decimal("3.5")]


def test_plan_reckons_units_with_their_loss() -> None:
    # 40 x 60 g / (1 - 0.03) = 2474.2…, up to the next half gram.
    batch = build.batch(
        units=40, fill_g=Decimal(60), expected_loss=Decimal(3), scale=build.scale("0.5")
    )

    assert batch.target_g == Decimal("2474.5")
    assert (batch.units, batch.fill_g) == (40, Decimal(60))


def test_plan_uses_the_loss_of_the_version_unless_told_otherwise() -> None:
    batch = build.batch(build.version(expected_loss=Decimal(5)), units=1, fill_g=Decimal(95))

    assert (batch.expected_loss, batch.target_g) == (Decimal(5), Decimal(100))


def test_plan_opens_an_operation_and_begins_as_planned() -> None:
    batch = build.batch()

    assert batch.operation.reference == f"K-{make.MONTH}-01"
    assert batch.state == BatchState.PLANNED


def test_plan_sent_twice_plans_one_batch() -> None:
    version, token = build.version(), new_token()
    in_what: dict[str, Any] = {"kettle": build.kettle(), "scale": build.scale()}

    first = build.batch(version, token=token, **in_what)
    second = build.batch(version, token=token, **in_what)

    assert first == second
    assert Batch.objects.count() == 1


@pytest.mark.parametrize(
    ("values", "field", "sentence"),
    [
        (
            {"target_g": "9000.1"},
            "kettle",
            "9\u202f000.1\u202fg is more than the 9\u202f000.0\u202fg that Kettle 1 holds. "
            "Make less, or choose a larger kettle.",
        ),
        (
            {"target_g": "100.05"},
            "target_g",
            "The Scale 1 shows steps of 0.1 g, so a batch on it cannot weigh 100.05 g; "
            "100.1 g would do.",
        ),
        ({"target_g": "0"}, "target_g", "A batch weighs more than nothing."),
        (
            {"units": 3, "fill_g": None},
            None,
            "Give the grams wanted, or the number of units and the fill of one.",
        ),
        (
            {"units": 0, "fill_g": Decimal(5)},
            "units",
            "The number of units and the fill must be above zero.",
        ),
    ],
)
def test_plan_refuses_and_writes_nothing(
    values: dict[str, Any], field: str | None, sentence: str
) -> None:
    with pytest.raises(ActionRefused) as refused:
        build.batch(**values)

    assert (refused.value.field, refused.value.message) == (field, sentence)
    assert not Operation.objects.exists()


def test_plan_refuses_a_draft() -> None:
    version = build.version(approved=False)

    with pytest.raises(ActionRefused, match=r"is draft\. Only an approved version can be made"):
        build.batch(version)


def test_plan_refuses_a_retired_version() -> None:
    version = build.version()
    version.status = VersionStatus.RETIRED
    version.save()

    with pytest.raises(ActionRefused, match="is retired"):
        build.batch(version)


def test_plan_refuses_a_line_smaller_than_the_scale_can_show() -> None:
    version = build.version([(make.item(), "99.9"), (make.item(name="Vitamin E"), "0.1")])

    with pytest.raises(
        ActionRefused, match=r"Vitamin E would be 0\.1 g, less than the Scale 1 can show"
    ):
        build.batch(version, target_g="100", scale=build.scale("0.5"))


@pytest.mark.parametrize("what", ["kettle", "scale"])
def test_plan_refuses_what_is_out_of_use(what: str) -> None:
    thing = getattr(build, what)(is_active=False)

    with pytest.raises(ActionRefused, match="is out of use"):
        build.batch(**{what: thing})


def test_plan_leaves_the_approved_version_as_it_was() -> None:
    version = build.version()

    services.plan_batch(
        version,
        kettle=build.kettle(),
        scale=build.scale(),
        target_g=Decimal(10),
        by=build.owner(),
        at=make.NOON,
        token=new_token(),
    )

    version.refresh_from_db()
    assert version.status == VersionStatus.APPROVED
