"""An untrue label reaches no printer: by no address, no second sending, no change in between."""

from collections.abc import Callable
from decimal import Decimal
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from tests import make
from tests.labels import build, paper
from tests.labels.test_print_status import SIX, Bench, extra, other_order
from workshop.core.errors import ActionRefused
from workshop.core.markets import (
    Market,
)
from workshop.core.models import (
    Role,
    User,
)
from workshop.labels import services
from workshop.labels.approval.print_status import label_status
from workshop.labels.models import Decision, OwnSize, Print, PrintKind
from workshop.labels.services import versions
from workshop.labels.services.cartons import print_cartons
from workshop.labels.services.decisions import decide
from workshop.ledger import services as ledger
from workshop.ledger.models import Lot, Posting, Side, Status
from workshop.materials.services.data_sheets import save_contents

pytestmark = pytest.mark.django_db


@pytest.fixture
def owner() -> User:
    return make.user(Role.OWNER)


@pytest.fixture
def packer() -> User:
    return make.user(Role.PACKER)


@pytest.fixture
def bench(client: Client, packer: User) -> Client:
    """The packer's browser."""
    client.force_login(packer)
    return client


ORDER = {"token": "form-1", "layout": "100x100", "count": "10", "first_cell": "1", "reason": "more"}
CARTON = {"token": "form-2", "per_carton": "5", "cartons": "2", "reason": "more"}


def roll() -> str:
    """A size of the workshop's own on a roll of a 203 dpi label printer."""
    size = OwnSize.objects.create(
        name="Roll", width_mm=Decimal(100), height_mm=Decimal(100), dpi=203
    )
    return size.key


def every_way(lot: Lot) -> list[tuple[str, dict[str, str]]]:
    """Every address that answers with paper for a lot, with what is sent there."""
    printing, sticker, carton = (
        reverse(f"labels:{name}", args=[lot.code]) for name in ("print", "sticker", "carton")
    )
    return [
        (printing, ORDER),
        (printing, ORDER | {"layout": "a4-8"}),
        (printing, ORDER | {"layout": roll()}),
        (printing, ORDER | {"layout": "lid-70"}),
        (printing, ORDER | {"numbered": "on"}),
        (sticker, ORDER),
        (carton, CARTON),
    ]


def words(response: Any) -> str:
    return " ".join(response.content.decode().replace("&quot;", '"').split())


@pytest.mark.parametrize(
    ("spoil", "values", "sentence"), SIX, ids=lambda x: getattr(x, "__name__", "")
)
def test_packer_gets_no_paper_by_any_address(
    bench: Client,
    spoil: Callable[[Bench, User], Lot],
    values: dict[str, Any],
    sentence: str,
    owner: User,
) -> None:
    lot = spoil(Bench(gtin="9521234543213", **values), owner)

    for address, sent in every_way(lot):
        answer = bench.post(address, sent)
        assert answer["Content-Type"].startswith("text/html"), address
        assert " ".join(sentence.format(lot=lot).split()) in words(answer), address
    assert not Print.objects.exists()


def test_pages_of_an_untrue_label_offer_no_printing(bench: Client, owner: User) -> None:
    lot = extra(Bench(), owner)

    page = words(bench.get(reverse("labels:label", args=[lot.code])))

    for name in ("print", "sticker", "carton", "decide"):
        assert reverse(f"labels:{name}", args=[lot.code]) not in page
    assert "Print and log" not in words(bench.get(reverse("labels:print", args=[lot.code])))


def test_preview_of_an_untrue_label_is_marked_as_not_for_use(bench: Client, owner: User) -> None:
    lot = extra(Bench(), owner)
    address = reverse("labels:preview", args=[lot.code])

    for query in ({"layout": "100x100"}, {"layout": "100x100", "kind": "sticker"}):
        assert "NOT FOR USE" in paper.text(bench.get(address, query).content)


def test_form_sent_again_after_the_label_became_untrue_answers_with_no_paper(
    bench: Client, owner: User
) -> None:
    lot = Bench().usual()
    address = reverse("labels:print", args=[lot.code])
    assert bench.post(address, ORDER).status_code == 302
    again = bench.post(address, ORDER)
    ledger.set_lot_status(lot, Status.ON_HOLD, by=owner, at=make.NOON, reason="Smells.")

    refused = bench.post(address, ORDER)

    assert again.status_code == 302
    sheet = bench.get(reverse("labels:printed", args=[Print.objects.get().pk]))
    assert "is on hold; an owner decides about it first" in words(sheet)
    assert "is on hold; an owner decides about it first" in words(refused)
    assert Print.objects.count() == 1


def test_form_sent_again_after_the_words_changed_asks_for_a_new_one(
    owner: User, packer: User
) -> None:
    bench = Bench()
    lot = bench.usual()
    services.log_print(lot, 10, by=packer, at=make.NOON, token="t")
    bench.approve(lot, owner, directions="Warm it first.")

    with pytest.raises(
        ActionRefused, match="The label has changed since it was printed with this form"
    ):
        services.log_print(lot, 10, by=packer, at=make.NOON, token="t")


def test_form_of_labels_prints_neither_stickers_nor_cartons(owner: User, packer: User) -> None:
    bench = Bench()
    lot = extra(bench, owner)
    decide(lot, "relabel", by=owner, at=make.NOON, reason="Stock.", token="d")
    services.log_print(lot, 10, by=packer, at=make.NOON, token="t")

    for kind in (PrintKind.STICKER, PrintKind.CARTON):
        with pytest.raises(ActionRefused, match="already sent with other figures"):
            services.log_print(lot, 10, by=packer, at=make.NOON, token="t", kind=kind)


def test_hold_between_the_form_and_its_sending_stops_the_printing(
    bench: Client, owner: User
) -> None:
    lot = Bench().usual()
    address = reverse("labels:print", args=[lot.code])
    assert "Print and log" in words(bench.get(address))

    ledger.set_lot_status(lot, Status.ON_HOLD, by=owner, at=make.NOON, reason="Smells.")

    assert f"Lot {lot} is on hold" in words(bench.post(address, ORDER))
    assert not Print.objects.exists()


def corrected(lot: Lot, of: Lot, grams: str, by: User) -> None:
    """An owner opens the batch behind a finished lot and puts one of its weighings right."""
    [bulk] = Posting.objects.filter(operation=lot.origin, side=Side.IN, lot__item__kind="bulk")
    batch = ledger.amend_operation(bulk.lot.origin, by=by, at=make.NOON, reason="Misread.")
    wrong = batch.postings.effective().get(lot=of)
    ledger.reverse(wrong, by=by, at=make.NOON, reason="Misread.")
    ledger.post(batch, of, Side.IN, Decimal(grams), by=by, at=make.NOON)
    ledger.close_operation(batch, by=by, at=make.NOON)


def test_weighing_corrected_after_the_approval_stops_the_printing(
    owner: User, packer: User
) -> None:
    bench = Bench()
    lot = bench.usual()
    bench.approve(lot, owner)
    assert label_status(lot).untrue == ()

    corrected(lot, bench.wax, "900", owner)

    with pytest.raises(ActionRefused, match="lists Olea Oil before Beeswax"):
        services.log_print(lot, 10, by=packer, at=make.NOON)


def test_weighing_corrected_after_the_printing_is_told_on_the_lots_page(
    bench: Client, owner: User, packer: User
) -> None:
    made = Bench()
    lot = made.usual()
    made.approve(lot, owner)
    services.log_print(lot, 10, by=packer, at=make.NOON)

    corrected(lot, made.wax, "900", owner)

    page = words(bench.get(reverse("labels:label", args=[lot.code])))
    assert "The approved label does not match this lot" in page
    assert "lists Olea Oil before Beeswax" in page


def test_packing_amended_to_more_units_makes_the_contents_untrue(owner: User, packer: User) -> None:
    bench = Bench()
    lot = bench.usual()
    bench.approve(lot, owner)

    run = ledger.amend_operation(lot.origin, by=owner, at=make.NOON, reason="Counted again.")
    out = run.postings.effective().get(lot=lot)
    ledger.reverse(out, by=owner, at=make.NOON, reason="Counted again.")
    ledger.post(run, lot, Side.OUT, Decimal(11), by=owner, at=make.NOON)

    with pytest.raises(ActionRefused, match="the 11 units of this run hold"):
        services.log_print(lot, 10, by=packer, at=make.NOON)


def test_analysis_that_comes_in_after_the_form_was_opened_stops_the_printing(
    bench: Client, owner: User
) -> None:
    made = Bench(market=Market.EU)
    scent = build.oil("Scent", constituency="fragrance")
    lot = made.lot((made.olive, 800), (made.wax, 195), (scent, 5))
    made.approve(lot, owner)
    address = reverse("labels:print", args=[lot.code])
    assert "Print and log" in words(bench.get(address))

    save_contents(scent, {"Linalool": Decimal("31.5")}, by=owner, at=make.NOON, source="analysis")

    assert "of the allergen Linalool" in words(bench.post(address, ORDER))
    assert not Print.objects.exists()


def test_label_that_nobody_approved_promises_no_more_than_is_inside(
    owner: User, packer: User
) -> None:
    bench = Bench()
    lot = bench.lot((bench.olive, 800), (bench.wax, 200), takes_g=588)

    with pytest.raises(ActionRefused) as refused:
        services.log_print(lot, 10, by=packer, at=make.NOON)

    assert refused.value.message == (
        "The label says Net wt. 2.11 oz (60 g), which promises 60\u202fg; the 10 units of this run "
        "hold 58.8\u202fg on average, 1.2\u202fg short. Correct the fill or the "
        "date, or hold the lot."
    )


def test_market_that_a_product_is_not_sold_in_is_no_way_past(bench: Client, owner: User) -> None:
    lot = extra(Bench(), owner)
    address = reverse("labels:print", args=[lot.code])

    answer = bench.post(f"{address}?market=EU", ORDER)

    assert "Hand salve 60 g is not sold under EU rules." in words(answer)
    assert not Print.objects.exists()


def test_retired_label_is_no_longer_printed_and_the_computed_one_is_true(
    owner: User, packer: User
) -> None:
    lot = extra(Bench(), owner)
    version = label_status(lot).version
    assert version is not None

    versions.retire(version, by=owner, at=make.NOON)

    printed = services.log_print(lot, 10, by=packer, at=make.NOON)
    assert (printed.version, "Rosmarinus Extract" in printed.text) == (None, True)


def test_carton_of_an_untrue_lot_waits_for_the_owner(owner: User, packer: User) -> None:
    lot = other_order(Bench(), owner)

    with pytest.raises(ActionRefused, match="lists Olea Oil before Beeswax"):
        print_cartons(
            lot, per_carton=5, cartons=2, by=packer, at=make.NOON, token="t"
        )  # fmt: skip
    decide(lot, "relabel", by=owner, at=make.NOON, reason="Stock.", token="d")

    assert print_cartons(
        lot, per_carton=5, cartons=2, by=packer, at=make.NOON, token="t"
    ).startswith(b"%PDF")


@pytest.mark.parametrize("kind", ["mend", "relabel", "hold"])
def test_decision_is_kept_with_who_when_and_the_sentences(kind: str, owner: User) -> None:
    lot = extra(Bench(), owner)
    said = [one.sentence for one in label_status(lot).untrue]

    decide(lot, kind, by=owner, at=make.NOON, reason="Rosemary was added.", token="d")

    [kept] = Decision.objects.all()
    assert (kept.kind, kept.by, kept.at) == (kind, owner, make.NOON)
    assert (kept.reason, kept.sentences) == ("Rosemary was added.", said)


def test_lot_released_from_hold_still_waits_for_a_decision(owner: User, packer: User) -> None:
    lot = extra(Bench(), owner)
    decide(lot, "hold", by=owner, at=make.NOON, reason="Look at it.", token="d")
    ledger.set_lot_status(lot, Status.RELEASED, by=owner, at=make.NOON, reason="Looked at.")

    with pytest.raises(ActionRefused, match="and the approved label does not name it"):
        services.log_print(lot, 10, by=packer, at=make.NOON)
