"""When a soap may be used, and until when it keeps."""

from datetime import date, timedelta
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from pytest_django.asserts import assertContains

from tests import make
from tests.kettle import build, soaps
from workshop.core.errors import ActionRefused
from workshop.core.formatting import day
from workshop.kettle import services
from workshop.kettle.models import Batch
from workshop.kettle.soap_readiness import DOES_NOT_BIND, date_reasons, ready_day
from workshop.ledger.models import Item, Lot, Status
from workshop.rules.dates.calendar_days import add_months

pytestmark = pytest.mark.django_db


def poured(shares: soaps.Shares | None = None, **values: Any) -> Batch:
    """A soap poured today, of lots without a date unless `until` gives theirs by item name."""
    until: dict[str, date] = values.pop("until", {})
    made = build.batch(soaps.version(shares, **values), at=timezone.now() - timedelta(minutes=30))
    for line in made.lines.all():
        lot = make.lot(line.item, best_before=until.get(line.item.name))
        build.weigh(line, lot=lot, at=timezone.now())
    build.pour(made, "900", at=timezone.now())
    return Batch.objects.get(pk=made.pk)


def release(of: Batch, after: timedelta) -> list[Lot]:
    at = timezone.now() + after
    return build.release(of, at=at, note="Cured.")


def lot_of(batch: Batch) -> Lot:
    found: Lot = batch.operation.lots.select_related("item", "origin").get()
    return found


def test_soap_is_not_released_before_its_cure_is_over() -> None:
    # Common practice, no source: four to six weeks for a cold-process bar; six are 42 days.
    made = poured()
    ready = lot_of(made).made_on + timedelta(days=42)

    for days in (0, 41):
        with pytest.raises(ActionRefused) as caught:
            release(made, timedelta(days=days))
        assert f"cures until {day(ready)}" in caught.value.message
    assert lot_of(made).status == Status.QUARANTINE

    release(made, timedelta(days=42))
    assert lot_of(made).status == Status.RELEASED


@pytest.mark.parametrize("cure_days", [0, None])
def test_soap_without_a_cure_is_ready_at_once(cure_days: int | None) -> None:
    made = poured(cure_days=cure_days)

    assert ready_day(lot_of(made)) is None
    assert release(made, timedelta())


def test_hold_and_rejection_do_not_wait_for_the_cure() -> None:
    made = poured()

    services.hold_batch(made, by=build.owner(), at=timezone.now(), reason="soft")
    services.reject_batch(made, by=build.owner(), at=timezone.now(), reason="too soft")

    assert lot_of(made).status == Status.REJECTED


def test_balm_has_no_cure() -> None:
    assert ready_day(lot_of(build.poured())) is None


# ---- how long it keeps ---------------------------------------------------------------------------


def with_scent() -> tuple[soaps.Shares, Item]:
    scent = soaps.item("Lavender oil", "Lavandula Angustifolia Oil", kind="fragrance")
    shares = [(soaps.olive(), "75"), (soaps.water(), "14"), (soaps.lye(), "9"), (scent, "2")]
    return shares, scent


def soon(days: int = 30) -> date:
    return timezone.localdate() + timedelta(days=days)


def test_what_is_used_up_in_a_soap_does_not_date_it() -> None:
    shares, _ = with_scent()
    until = {"Olive oil": soon(40), "Water": soon(30), "Sodium hydroxide": soon(20)}

    lot = lot_of(poured(shares, shelf_life_months=24, until=until))

    assert lot.best_before == add_months(lot.made_on, 24)


def test_what_lasts_in_a_soap_dates_it() -> None:
    shares, _ = with_scent()

    made = poured(
        shares, shelf_life_months=24, until={"Lavender oil": soon(90), "Olive oil": soon(40)}
    )

    lot = lot_of(made)
    assert lot.best_before == soon(90)
    reasons = date_reasons(made, lot)
    assert [reason.day for reason in reasons] == [soon(90), add_months(lot.made_on, 24)]
    assert "of Lavender oil" in reasons[0].text


def test_everything_dates_a_balm() -> None:
    shares = [(soaps.olive(), "80"), (soaps.water(), "20")]

    lot = lot_of(poured(shares, cure_days=None, until={"Water": soon(30), "Olive oil": soon(40)}))

    assert lot.best_before == soon(30)


def test_page_of_a_batch_says_why_the_date_and_until_when_it_cures(client: Client) -> None:
    client.force_login(build.owner())
    made = poured(until={"Water": soon()})
    lot = lot_of(made)

    shown = client.get(reverse("kettle:batch", args=[made.operation.reference]))

    assertContains(shown, DOES_NOT_BIND)
    assertContains(shown, f"made on {day(lot.made_on)}, keeps 12 months")
    assertContains(shown, "it cures until")
    assert shown.context["dates"][0][2] == lot.made_on + timedelta(days=42)
