"""After the spoon test, and before a substitute: what a change would do, and making it."""

from decimal import Decimal
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from pytest_django.asserts import assertContains, assertNotContains, assertRedirects

from tests import make
from tests.kettle import build
from tests.kettle.test_change_targets import described, lines, melt
from workshop.core.errors import ActionRefused
from workshop.core.models import Role
from workshop.core.saving.new_tokens import new_token
from workshop.kettle import services
from workshop.kettle.adjustments.adjusted_weights import adjustment
from workshop.kettle.models import Batch, BatchLine, TargetChange, TargetChangeKind
from workshop.ledger.models import Item, Lot
from workshop.materials.models import UseLimit

pytestmark = pytest.mark.django_db
NARROW = "\u202f"


def balm(**values: Any) -> Batch:
    """1000 g in the kettle: 800 g of oil and 200 g of wax."""
    oil, wax = described("Oil"), described("Wax")
    version = build.version([(oil, "80"), (wax, "20")])
    batch = build.batch(version, scale=build.scale("0.5"), **values)
    for line in batch.lines.all():
        build.weigh(line, lot=make.lot(line.item, on_hand=5000))
    return Batch.objects.get(pk=batch.pk)


def adjust(batch: Batch, points: str, adding: int, **values: Any) -> list[TargetChange]:
    """Change the share of the wax by adding the oil (0) or the wax (1)."""
    both = lines(batch)
    return services.adjust(
        batch,
        both[1],
        Decimal(points),
        both[adding],
        figures_hash=melt(batch).figures_hash,
        reason="too soft",
        by=make.user(Role.MAKER),
        at=make.NOON,
        token=new_token(),
        **values,
    )


def address(batch: Batch, name: str, *more: Any) -> str:
    return reverse(f"kettle:{name}", args=[batch.operation.reference, *more])


def test_too_soft_asks_for_wax() -> None:
    # By hand: (200 + a) / (1000 + a) = 0.22, so a = 25.64 g, 25.5 g on a half-gram scale.
    batch = balm()

    change = adjust(batch, "2", 1)[0]

    assert (change.line.item.name, change.was_g, change.now_g) == (
        "Wax",
        Decimal(200),
        Decimal("225.5"),
    )
    assert (change.kind, change.reason) == (TargetChangeKind.ADJUST, "Spoon test: too soft")
    assert lines(batch)[1].to_go_g == Decimal("25.5")


def test_too_hard_asks_for_oil() -> None:
    # By hand: 200 / (1000 + a) = 0.18, so a = 111.1 g, 111 g on a half-gram scale.
    batch = balm()

    adjust(batch, "-2", 0)

    assert lines(batch)[0].to_go_g == Decimal(111)


def test_small_addition_is_asked_for_although_the_line_was_within_its_tolerance() -> None:
    batch = balm()

    adjust(batch, "0.2", 1)

    wax = lines(batch)[1]
    assert (wax.to_go_g, wax.is_done) == (Decimal("2.5"), False)
    build.weigh(wax, "2.5", lot=make.lot(wax.item))
    assert lines(batch)[1].is_within


def test_shares_wanted_by_the_spoon_test_are_what_an_over_pour_is_brought_back_to() -> None:
    batch = balm()
    adjust(batch, "2", 1)
    build.weigh(lines(batch)[1], "55.5", lot=make.lot(lines(batch)[1].item))

    shares = [line.share for line in melt(batch).lines]

    assert [round(100 * float(share), 2) for share in shares] == [78.01, 21.99]


@pytest.mark.parametrize(
    ("points", "adding", "sentence"),
    [
        ("90", 1, "each share must be from 0 to 100 %"),
        ("-2", 1, "cannot bring the share from 20 % to 18 %"),
        ("0.01", 1, "less than Scale"),
    ],
)
def test_change_that_no_addition_brings_is_refused(points: str, adding: int, sentence: str) -> None:
    batch = balm()

    with pytest.raises(ActionRefused, match=sentence):
        adjust(batch, points, adding)

    assert not TargetChange.objects.exists()


def test_addition_that_the_kettle_cannot_hold_is_refused() -> None:
    batch = balm(kettle=build.kettle(1010))
    both = lines(batch)

    with pytest.raises(ActionRefused, match=f"in a kettle that holds 1{NARROW}010.0{NARROW}g"):
        adjustment(melt(batch), both[1], Decimal(2), both[1])


@pytest.fixture
def maker(client: Client) -> None:
    client.force_login(make.user(Role.MAKER))


def test_spoon_page_tells_what_the_wax_does_before_it_is_decided(
    client: Client, maker: None
) -> None:
    batch = balm()
    wax = lines(batch)[1]
    UseLimit.objects.create(item=wax.item, most=Decimal(21), source="our assessment")

    response = client.get(address(batch, "spoon"), {"line": str(wax.pk), "points": "2"})

    assertContains(response, f"25.5{NARROW}g more of Wax")
    assertContains(response, "Wax would be 21.9893 %, and 21 % is the most.")


def test_spoon_page_sets_the_target_and_leads_to_the_line(client: Client, maker: None) -> None:
    batch = balm()
    oil, wax = lines(batch)
    asked = f"{address(batch, 'spoon')}?line={wax.pk}&points=-2&adding={oil.pk}"
    sent = {"figures_hash": melt_now(batch), "reason": "too hard", "token": new_token()}

    response = client.post(asked, sent)

    assertRedirects(response, f"{address(batch, 'weigh')}?line={oil.pk}")
    assert TargetChange.objects.get().reason == "Spoon test: too hard"


def melt_now(batch: Batch) -> str:
    return melt(batch).figures_hash


@pytest.mark.parametrize(
    ("asked", "sentence"),
    [
        ("points=0&line={wax}", "Nothing changes by nothing."),
        ("points=-2&line={wax}", "Choose what is added so that Wax becomes less."),
        ("points=much&line={wax}", "“much” is not a number."),
        ("points=2&line=0", "Select a valid choice."),
        ("points=99&line={wax}", "It must be at most 50."),
    ],
)
def test_spoon_page_explains_what_it_cannot_work_out(
    client: Client, maker: None, asked: str, sentence: str
) -> None:
    batch = balm()

    response = client.get(f"{address(batch, 'spoon')}?{asked.format(wax=lines(batch)[1].pk)}")

    assertContains(response, sentence)


def with_substitute() -> tuple[Batch, BatchLine, Item]:
    oil, wax, soy = described("Oil"), described("Wax"), described("Soy")
    version = build.version([(oil, "80"), (wax, "20")], approved=False)
    version.lines.all()[1].substitutes.add(soy)
    version.status, version.approved_at, version.approved_by = "approved", make.NOON, make.user()
    version.save()
    batch = build.batch(version, scale=build.scale("0.5"))
    return batch, lines(batch)[1], soy


def look(client: Client, batch: Batch, line: BatchLine, lot: Lot, **asked: str) -> Any:
    return client.get(address(batch, "stand-in", line.pk), {"lot": lot.code, **asked})


def test_substitute_is_looked_at_before_it_is_used(client: Client, maker: None) -> None:
    batch, line, soy = with_substitute()

    response = look(client, batch, line, make.lot(soy))

    assertContains(response, "The ingredient list would have to read: Oil INCI, Soy INCI.")
    assertContains(response, "Weigh it in")


def test_substitute_at_half_the_amount_gets_a_target_of_its_own(
    client: Client, maker: None
) -> None:
    # By hand: 100 g for 200 g leave 800 : 100, the shares of `substituted_shares`: 88.89, 11.11 %.
    batch, line, soy = with_substitute()
    lot = make.lot(soy)
    assertContains(look(client, batch, line, lot, ratio="0,5"), "11.11")

    client.post(
        f"{address(batch, 'stand-in', line.pk)}?lot={lot.code}&ratio=0,5",
        {"figures_hash": melt(batch).figures_hash, "reason": "twice as hard", "token": new_token()},
    )

    change = TargetChange.objects.get()
    assert (change.kind, change.now_g, change.reason) == (
        TargetChangeKind.SUBSTITUTE,
        Decimal(100),
        "twice as hard",
    )


def test_what_the_formula_does_not_allow_is_no_substitute(client: Client, maker: None) -> None:
    batch, line, _ = with_substitute()
    lot = make.lot(described("Resin"))

    response = look(client, batch, line, lot)

    assertContains(
        response, f"Lot {lot} is Resin, which the formula does not allow instead of Wax."
    )


def melts(item: Item, low: str, high: str) -> None:
    item.profile.melting_from_c, item.profile.melting_to_c = Decimal(low), Decimal(high)
    item.profile.save()


def test_substitute_shows_how_the_melting_ranges_change_places(client: Client, maker: None) -> None:
    # Beeswax melts at 62 to 65 °C (USP 32).
    batch, line, soy = with_substitute()
    melts(line.item, "62", "65")
    melts(soy, "49.5", "54")

    response = look(client, batch, line, make.lot(soy))

    assertContains(
        response,
        f"Melting range of 20{NARROW}% of the melt: Wax 62 to 65{NARROW}°C, "
        f"Soy 49.5 to 54{NARROW}°C.",
    )
    assertContains(response, "cannot be computed from these: make a spoon test")


def test_melting_range_that_nobody_entered_is_said_to_be_unknown(
    client: Client, maker: None
) -> None:
    batch, line, soy = with_substitute()
    assertNotContains(look(client, batch, line, make.lot(soy)), "Melting range")
    melts(line.item, "62", "65")

    response = look(client, batch, line, make.lot(soy))

    assertContains(response, f"Wax 62 to 65{NARROW}°C, Soy not known.")
