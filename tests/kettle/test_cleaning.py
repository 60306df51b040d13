"""A kettle cleaned between a batch that is not organic and one that is."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.test import Client
from django.urls import reverse

from tests import make
from tests.kettle import build
from tests.kettle.test_lot_selection import bought, organic_item
from workshop.core.errors import ActionRefused
from workshop.core.saving.new_tokens import new_token
from workshop.kettle.equipment.cleaning import cleaning_missing, uncleaned_batches
from workshop.kettle.models import Batch, Kettle
from workshop.kettle.services.cleaning import record_cleaning

pytestmark = pytest.mark.django_db


def cleaned(kettle: Kettle, at: timedelta) -> None:
    record_cleaning(
        kettle,
        cleaned_at=make.NOON + at,
        method="Scraped and washed",
        agent="Soda",
        by=make.user(),
        at=make.NOON + timedelta(days=9),
        token=new_token(),
    )


def two_batches() -> tuple[Batch, Batch]:
    """A plain batch weighed at noon, and an organic one planned in the same kettle."""
    kettle, item = build.kettle(), organic_item()
    plain = build.batch(build.version([(item, "50"), (make.item(), "50")]), kettle=kettle)
    build.weigh(plain.lines.all()[0], "5", lot=bought(item))
    organic = build.batch(
        build.version([(item, "50"), (make.item(), "50")], claims_organic=True), kettle=kettle
    )
    return plain, organic


def test_missing_cleaning_is_told_before_the_organic_batch_begins_and_after() -> None:
    plain, organic = two_batches()
    missing = cleaning_missing(organic)
    build.weigh(organic.lines.all()[0], "5", lot=bought(organic.lines.all()[0].item))

    assert missing is not None
    assert missing.before.reference == str(plain)
    assert cleaning_missing(plain) is None
    assert [
        one.run.reference
        for one in uncleaned_batches(
            since=make.NOON - timedelta(days=1), until=make.NOON + timedelta(days=2)
        )
    ] == [str(organic)]


def test_cleaning_between_the_two_is_enough() -> None:
    _, organic = two_batches()
    cleaned(organic.kettle, timedelta(0))

    assert cleaning_missing(organic) is None


def test_cleaning_before_the_plain_batch_is_not() -> None:
    _, organic = two_batches()
    cleaned(organic.kettle, timedelta(hours=-1))

    assert cleaning_missing(organic) is not None
    with pytest.raises(ActionRefused, match="in the future"):
        cleaned(organic.kettle, timedelta(days=10))


def test_cleaning_is_recorded_on_the_kettles_page(client: Client) -> None:
    client.force_login(make.user())
    kettle = build.kettle()
    sent = {
        "cleaned_on": make.iso(-1), "cleaned_time": "14:05", "method": "Washed",
        "agent": "Soda", "rinse": "", "checked_by": "", "token": new_token(),
    }  # fmt: skip
    page = client.post(reverse("kettle:cleaning", args=[kettle.pk]), sent, follow=True)

    assert "The cleaning of" in page.content.decode()
    assert kettle.cleanings.get().agent == "Soda"
    assert Decimal(kettle.cleanings.count()) == 1
