"""A pour that came out short: every pack is topped up, and those weighed are weighed again."""

from decimal import Decimal

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from pytest_django.asserts import assertContains, assertNotContains, assertRedirects

from tests import make
from tests.packing import build
from workshop.core.errors import ActionRefused
from workshop.core.models import Role
from workshop.core.saving.new_tokens import new_token
from workshop.ledger.proof.checks import run_checks
from workshop.packing.fill_control.figures import check_of
from workshop.packing.models import FillSample, PackingRun, Product
from workshop.packing.services import top_ups

pytestmark = pytest.mark.django_db
SHORT = " ".join(["49.92"] * 12)
GOOD = " ".join(["50.1"] * 12)


def tin_of_50() -> Product:
    return build.product(fill_g=Decimal(50))


def short_run() -> PackingRun:
    run = build.run(tin_of_50(), 40)
    build.weighed(run, SHORT)
    return run


def top_up(
    run: PackingRun, weights: str, role: Role = Role.PACKER, **values: str
) -> list[FillSample]:
    given = [Decimal(one) for one in weights.split()]
    values = {"token": new_token(), "note": "", **values}
    return top_ups.top_up(run, given, by=make.user(role), at=timezone.now(), **values)


def address(run: PackingRun, name: str = "top-up") -> str:
    return reverse(f"packing:{name}", args=[run.operation.reference])


def test_packer_tops_up_a_short_fill_and_the_check_passes() -> None:
    run = short_run()
    assert check_of(run).binding.problems

    top_up(run, GOOD)

    check = check_of(run)
    assert (check.binding.word, check.mean) == ("passes", "50.1\u202fg")
    assert {one.grams for one in run.samples.filter(corrects=None)} == {Decimal("49.92")}
    assert {one.reason for one in run.samples.exclude(corrects=None)} == {
        "topped up, every pack of the lot"
    }


def test_pack_that_needed_nothing_keeps_its_first_weight() -> None:
    run = build.run(tin_of_50(), 40)
    build.weighed(run, " ".join(["49.92"] * 11 + ["50.3"]))

    rows = top_up(run, " ".join(["50.1"] * 11 + ["50.3"]))

    assert len(rows) == 11
    assert check_of(run).contents_g[-1] == Decimal("50.3")


@pytest.mark.parametrize(
    ("weights", "sentence"),
    [
        ("50.1 50.2", "12 packs were weighed before"),
        (GOOD.replace("50.1", "49.9", 1), "Pack 1 weighed 49.92\u202fg before"),
        (SHORT, "No weight is another one than before."),
        (GOOD.replace("50.1", "501", 1), "far from a fill of 50.0"),
    ],
)
def test_top_up_that_cannot_be_is_refused_and_writes_nothing(weights: str, sentence: str) -> None:
    run = short_run()

    with pytest.raises(ActionRefused, match=sentence):
        top_up(run, weights)

    assert not run.samples.exclude(corrects=None).exists()


def test_top_up_sent_again_is_recorded_once() -> None:
    run, token = short_run(), new_token()

    assert top_up(run, GOOD, token=token) == top_up(run, GOOD, token=token)
    assert run.samples.count() == 24


def test_closed_run_is_topped_up_by_an_owner_and_sealed_anew() -> None:
    run = build.run_of(build.packed(tin_of_50(), 40))
    build.weighed(run, SHORT)

    with pytest.raises(ActionRefused, match="is closed and sealed"):
        top_up(run, GOOD)
    top_up(run, GOOD, Role.OWNER, note="scraped from the pot")

    assert check_of(run).binding.word == "passes"
    assert run.operation.amendments.latest("pk").reason == (
        "topped up, every pack of the lot: scraped from the pot"
    )
    assert [finding.problems for finding in run_checks() if not finding.is_sound] == []


def test_page_leads_the_packer_from_the_short_fill_to_the_top_up(client: Client) -> None:
    run = short_run()
    client.force_login(make.user(Role.PACKER))

    assertContains(client.get(address(run, "run")), f'href="{address(run)}"')
    page = client.get(address(run))
    assertContains(page, "then weigh the 12 packs again that were weighed")
    assertContains(page, f'value="{SHORT}"')
    data = {"weights": GOOD, "token": new_token()}
    refused = client.post(address(run), data)
    assertContains(refused, "Packs that nobody weighed are as short as those that were: top up all")
    assert run.samples.count() == 12

    done = client.post(address(run), data | {"every": "on"}, follow=True)

    assertRedirects(done, address(run, "run"))
    assertContains(done, "Topped up: 12 packs weigh more than before.")
    assertContains(done, "49.92\u202fg before; topped up, every pack of the lot")
    assertNotContains(done, f'href="{address(run)}"')


def test_averages_on_one_page_each_say_what_they_are_of(client: Client) -> None:
    lot = build.packed(tin_of_50(), 40)
    run = build.run_of(lot)
    build.weighed(run, " ".join(["49.9"] * 9 + ["50.3"] * 6))
    client.force_login(make.user())

    page = " ".join(client.get(address(run, "run")).content.decode().split())

    assert "50.0 g by the bulk that was taken" in page
    assert "50.06 g, of all packs weighed" in page
    # Of 15 packs the places 0 to 3, 5 to 8, 10 to 13: eight of 49.9 g, four of 50.3 g.
    assert "50.03 g, of 12 of the 15 packs weighed, spread evenly" in page
