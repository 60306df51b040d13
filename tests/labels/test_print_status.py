"""Approved labels: frozen, held against each lot, refused when untrue, mended by an owner."""

from collections.abc import Callable
from decimal import Decimal
from importlib import import_module
from typing import Any

import pytest
from django.apps import apps
from django.db import DatabaseError, IntegrityError, connection, transaction

from tests import make
from tests.labels import build
from tests.packing import build as packing
from workshop.audit.master_data_proof import check_masters
from workshop.core.database import triggers
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
from workshop.labels.content.dated_lines import HOURGLASS
from workshop.labels.content.label import design_of
from workshop.labels.models import DateStyle, Decision, LabelVersion, Print, PrintKind, VersionState
from workshop.labels.services import designs
from workshop.labels.services import versions as approved
from workshop.labels.services.decisions import decide
from workshop.ledger.models import Lot, Status
from workshop.materials.models import Constituency
from workshop.materials.services import data_sheets
from workshop.packing.models import Product

pytestmark = pytest.mark.django_db

LATER = make.day(months=12)


@pytest.fixture
def owner() -> User:
    return make.user(Role.OWNER)


@pytest.fixture
def packer() -> User:
    return make.user(Role.PACKER)


class Bench:
    """One product, its materials, and lots packed of it."""

    def __init__(self, market: Market = Market.US, **values: Any) -> None:
        build.workshop(market=market, certified_by="Evergrain Assurance")
        self.market = market
        self.olive = build.oil("Olea Oil", organic_until=LATER)
        self.plain_olive = build.oil("Olea Oil")
        self.wax = build.oil("Cera Alba")
        self.vitamin = build.oil("Tocopherol")
        self.values = {"is_small_package": True, "fill_g": Decimal(60), **values}
        self.product: Product | None = None

    def lot(self, *parts: build.Part, takes_g: int = 600, **values: Any) -> Lot:
        """Ten units of a fresh melt of these parts."""
        item = self.product.bulk if self.product else None
        melt = build.bulk(parts, made_g=5000, item=item, **values)
        self.product = self.product or packing.product(bulk=melt.item, **self.values)
        return packing.packed(self.product, 10, bulk=[(melt, Decimal(takes_g))], confirmed=True)

    def usual(self) -> Lot:
        return self.lot((self.olive, 800), (self.wax, 195), (self.vitamin, 5))

    def approve(self, lot: Lot, by: User, **words: Any) -> LabelVersion:
        """Approved with its sheet, which a product of these tests gets by the way."""
        if self.product and not self.product.market_sheets.filter(market=self.market).exists():
            build.sheet(self.product, self.market)
        draft = approved.draft_from_lot(lot, self.market, by=by, at=make.NOON)
        if words:
            kept = {name: getattr(draft, name) for name in approved.WORDS}
            order = [entry["name"] for entry in draft.entries]
            draft = approved.save_draft(draft, kept | words, order=order, by=by, at=make.NOON)
        return approved.approve(draft, by=by, at=make.NOON, reason="first label")


def design(product: Product | None, by: User, **values: Any) -> None:
    assert product is not None
    found = design_of(product)
    kept = {name: getattr(found, name) for name in values}
    designs.save_design(product, kept | values, by=by, at=make.NOON)


def other_order(bench: Bench, owner: User) -> Lot:
    bench.approve(bench.usual(), owner)
    return bench.lot((bench.olive, 495), (bench.wax, 500), (bench.vitamin, 5))


def missing(bench: Bench, owner: User) -> Lot:
    bench.approve(bench.usual(), owner)
    return bench.lot((bench.olive, 800), (bench.wax, 200))


def extra(bench: Bench, owner: User) -> Lot:
    bench.approve(bench.usual(), owner)
    rosemary = build.oil("Rosmarinus Extract")
    return bench.lot((bench.olive, 800), (bench.wax, 190), (bench.vitamin, 5), (rosemary, 5))


def allergen(bench: Bench, owner: User) -> Lot:
    scent = build.oil("Scent", constituency=Constituency.FRAGRANCE)
    parts: tuple[build.Part, ...] = ((bench.olive, 800), (bench.wax, 195), (scent, 5))
    bench.approve(bench.lot(*parts), owner)
    later = bench.lot(*parts)
    shares = {"Linalool": Decimal("31.5"), "Limonene": Decimal("0.2")}
    data_sheets.save_contents(scent, shares, by=owner, at=make.NOON, source="analysis 7")
    return later


def less_organic(bench: Bench, owner: User) -> Lot:
    bench.approve(bench.lot((bench.olive, 960), (bench.wax, 40)), owner)
    return bench.lot((bench.olive, 940), (bench.wax, 60))


def earlier(bench: Bench, owner: User) -> Lot:
    first = bench.usual()
    design(bench.product, owner, keeps_months=12)
    bench.approve(Lot.objects.get(pk=first.pk), owner)
    return bench.lot(
        (bench.olive, 800), (bench.wax, 195), (bench.vitamin, 5), best_before=make.day(110)
    )


def underfilled(bench: Bench, owner: User) -> Lot:
    bench.approve(bench.usual(), owner)
    return bench.lot((bench.olive, 800), (bench.wax, 195), (bench.vitamin, 5), takes_g=588)


SIX = [
    (
        other_order,
        {},
        "The approved label lists Olea Oil before Beeswax, and lot {lot} holds more Beeswax "
        "(50 %) than Olea Oil (49.5 %).",
    ),
    (missing, {}, "The approved label names Tocopherol, and lot {lot} holds none."),
    (
        extra,
        {},
        "Lot {lot} holds Rosmarinus Extract (0.5 %), and the approved label does not name it.",
    ),
    (
        allergen,
        {"market": Market.EU},
        "Lot {lot} holds 0.1575 % of the allergen Linalool, above the 0.001 % from which a "
        "leave-on product must name it, and the approved label does not.",
    ),
    (
        less_organic,
        {"claims_organic": True},
        'The approved label says "organic". The lot is 94 % organic, and "organic" needs at '
        "least 95 %.",
    ),
    (
        earlier,
        {},
        "The approved label says it keeps 12 months, which from "
        f"{make.shown()} is to {make.shown(months=12)}, "
        f"and lot {{lot}} keeps only to {make.shown(110)}.",
    ),
    (
        underfilled,
        {},
        "The approved label says Net wt. 2.11 oz (60 g), which promises 60\u202fg; the 10 units of "
        "this run hold 58.8\u202fg on average, 1.2\u202fg short.",
    ),
]


@pytest.mark.parametrize(
    ("spoil", "values", "sentence"), SIX, ids=lambda x: getattr(x, "__name__", "")
)
def test_untrue_label_is_not_printed_by_a_packer_and_the_sentence_says_why(
    spoil: Callable[[Bench, User], Lot],
    values: dict[str, Any],
    sentence: str,
    owner: User,
    packer: User,
) -> None:
    lot = spoil(Bench(**values), owner)

    with pytest.raises(ActionRefused) as refused:
        services.log_print(lot, 10, by=packer, at=make.NOON)

    assert sentence.format(lot=lot) in refused.value.message
    assert refused.value.message.endswith("corrects the label, relabels or holds the lot first.")
    assert not Print.objects.exists()


def test_true_label_is_printed_in_the_approved_words(owner: User, packer: User) -> None:
    bench = Bench()
    bench.approve(bench.usual(), owner, directions="Warm it in the hand first.")
    lot = bench.usual()

    printed = services.log_print(lot, 10, by=packer, at=make.NOON)

    assert "Warm it in the hand first." in printed.text
    assert f"Lot {lot}" in printed.text
    assert printed.version == LabelVersion.objects.get()


def test_order_may_differ_where_it_is_free(owner: User) -> None:
    # Source: 21 CFR 701.3(f)(2): at not more than 1 per cent in any order.
    bench = Bench()
    rosemary = build.oil("Rosmarinus Extract")
    first = bench.lot((bench.olive, 985), (bench.vitamin, 8), (rosemary, 7))
    bench.approve(first, owner)

    lot = bench.lot((bench.olive, 985), (bench.vitamin, 7), (rosemary, 8))

    assert label_status(lot).untrue == ()


def test_date_printed_before_must_not_be_later_than_the_lots_now(owner: User, packer: User) -> None:
    bench = Bench()
    lot = bench.usual()
    bench.approve(lot, owner)
    services.log_print(lot, 10, by=packer, at=make.NOON)
    make.dated(lot, make.day(110))

    [difference] = label_status(Lot.objects.get(pk=lot.pk)).untrue

    assert difference.sentence == (
        f"Labels already printed for it say {make.shown(months=12)}, and "
        f"lot {lot} keeps only to {make.shown(110)}."
    )


def test_owner_mends_by_a_new_version_and_the_packer_prints(owner: User, packer: User) -> None:
    bench = Bench()
    lot = extra(bench, owner)

    decision = decide(lot, "mend", by=owner, at=make.NOON, reason="Rosemary added.", token="t")
    printed = services.log_print(lot, 10, by=packer, at=make.NOON)

    versions = LabelVersion.objects.order_by("number")
    assert [(v.number, v.state) for v in versions] == [(1, "retired"), (2, "approved")]
    assert (decision.by, decision.reason) == (owner, "Rosemary added.")
    assert printed.version == versions[1]
    assert "Rosmarinus Extract" in printed.text


def test_owner_relabels_and_the_sticker_carries_the_true_list(owner: User, packer: User) -> None:
    bench = Bench()
    lot = extra(bench, owner)
    with pytest.raises(ActionRefused, match="once an owner has decided to relabel"):
        services.log_print(bench.usual(), 1, by=packer, at=make.NOON, kind=PrintKind.STICKER)

    decide(lot, "relabel", by=owner, at=make.NOON, reason="Old labels in stock.", token="t")
    services.log_print(lot, 10, by=packer, at=make.NOON)
    sticker = services.log_print(lot, 10, by=packer, at=make.NOON, kind=PrintKind.STICKER)

    # Source: 21 CFR 701.3(n): a sticker with the words "new ingredient list".
    assert sticker.text.startswith("New ingredient list\nIngredients: Olea Oil*, Beeswax,")
    assert "Rosmarinus Extract" in sticker.text


def test_decision_holds_only_for_the_differences_it_was_about(owner: User, packer: User) -> None:
    bench = Bench()
    lot = extra(bench, owner)
    decide(lot, "relabel", by=owner, at=make.NOON, reason="Old labels.", token="t")

    assert label_status(lot).is_relabelled
    services.log_print(lot, 10, by=packer, at=make.NOON)
    make.dated(lot, make.day(110))

    assert label_status(Lot.objects.get(pk=lot.pk)).needs_a_decision


@pytest.mark.parametrize(
    ("spoil", "values"),
    [(less_organic, {"claims_organic": True}), (earlier, {}), (underfilled, {})],
)
def test_sticker_does_not_mend_claim_date_or_contents(
    spoil: Callable[[Bench, User], Lot], values: dict[str, Any], owner: User
) -> None:
    lot = spoil(Bench(**values), owner)

    with pytest.raises(
        ActionRefused, match="A sticker with the new ingredient list does not correct this"
    ):
        decide(lot, "relabel", by=owner, at=make.NOON, reason="Stock.", token="t")
    assert not Decision.objects.exists()


def test_new_version_that_would_be_untrue_as_well_is_refused(owner: User) -> None:
    lot = underfilled(Bench(), owner)

    with pytest.raises(ActionRefused, match="A new version would not match either"):
        decide(lot, "mend", by=owner, at=make.NOON, reason="Try.", token="t")
    assert LabelVersion.objects.count() == 1


def test_owner_holds_the_lot(owner: User, packer: User) -> None:
    lot = underfilled(Bench(), owner)

    decide(lot, "hold", by=owner, at=make.NOON, reason="Weigh all of it.", token="t")

    assert Lot.objects.get(pk=lot.pk).status == Status.ON_HOLD
    assert [row.kind for row in lot.label_decisions.all()] == ["hold"]


def test_only_an_owner_decides_with_a_reason_about_what_is_untrue(
    owner: User, packer: User
) -> None:
    bench = Bench()
    lot = extra(bench, owner)

    with pytest.raises(ActionRefused, match="Only an owner decides"):
        decide(lot, "hold", by=packer, at=make.NOON, reason="x", token="a")
    with pytest.raises(ActionRefused, match="Say why"):
        decide(lot, "hold", by=owner, at=make.NOON, reason=" ", token="b")
    with pytest.raises(ActionRefused, match="there is nothing to decide"):
        decide(bench.usual(), "hold", by=owner, at=make.NOON, reason="x", token="c")


def test_same_decision_twice_is_one(owner: User) -> None:
    lot = extra(Bench(), owner)

    first = decide(lot, "mend", by=owner, at=make.NOON, reason="Added.", token="t")

    assert decide(lot, "mend", by=owner, at=make.NOON, reason="Added.", token="t") == first
    assert LabelVersion.objects.count() == 2


def test_approved_words_are_kept_by_the_database(owner: User) -> None:
    bench = Bench()
    version = bench.approve(bench.usual(), owner)

    changes: list[dict[str, Any]] = [
        {"name": "Other"},
        {"entries": []},
        {"state": "draft"},
        {"keeps_months": 3},
        {"fixed_date": make.day(37), "date_style": "fixed"},
    ]
    for values in changes:
        with pytest.raises(DatabaseError, match="stays as it was approved"), transaction.atomic():
            LabelVersion.objects.filter(pk=version.pk).update(**values)
    with pytest.raises(DatabaseError, match="kept for ever"), transaction.atomic():
        version.delete()
    approved.retire(version, by=owner, at=make.NOON)
    with pytest.raises(DatabaseError, match="stays as it was approved"), transaction.atomic():
        LabelVersion.objects.update(state=VersionState.APPROVED)


def test_decisions_are_only_added_to(owner: User) -> None:
    lot = extra(Bench(), owner)
    decision = decide(lot, "hold", by=owner, at=make.NOON, reason="x", token="t")

    for act in (lambda: Decision.objects.update(reason="y"), decision.delete):
        with pytest.raises(DatabaseError, match="only ever added"), transaction.atomic():
            act()


def test_two_approved_labels_of_one_market_are_refused_by_the_database(owner: User) -> None:
    bench = Bench()
    bench.approve(bench.usual(), owner)
    draft = approved.draft_from_lot(bench.usual(), "US", by=owner, at=make.NOON)

    with pytest.raises(IntegrityError), transaction.atomic():
        LabelVersion.objects.filter(pk=draft.pk).update(
            state="approved", approved_at=make.NOON, approved_by=owner
        )


def test_draft_keeps_its_names_and_may_only_order_them_truly(owner: User) -> None:
    bench = Bench()
    draft = approved.draft_from_lot(bench.usual(), "US", by=owner, at=make.NOON)
    words = {name: getattr(draft, name) for name in approved.WORDS}

    with pytest.raises(ActionRefused, match="Change only their order"):
        approved.save_draft(draft, words, order=["Olea Oil", "Beeswax"], by=owner, at=make.NOON)
    order = ["Beeswax", "Olea Oil", "Tocopherol"]
    wrong = approved.save_draft(draft, words, order=order, by=owner, at=make.NOON)

    with pytest.raises(ActionRefused, match="lists Beeswax before Olea Oil"):
        approved.approve(wrong, by=owner, at=make.NOON)


def test_packer_approves_nothing(owner: User, packer: User) -> None:
    bench = Bench()
    lot = bench.usual()
    draft = approved.draft_from_lot(lot, "US", by=owner, at=make.NOON)

    with pytest.raises(ActionRefused, match="Only an owner"):
        approved.approve(draft, by=packer, at=make.NOON)
    with pytest.raises(ActionRefused, match="Only an owner"):
        approved.draft_from_lot(lot, "US", by=packer, at=make.NOON)


def test_jar_stands_for_the_date_above_thirty_months_in_the_eu(owner: User) -> None:
    # Source: Regulation (EC) 1223/2009, article 19(1)(c).
    bench = Bench(market=Market.EU)
    long = bench.lot((bench.olive, 800), (bench.wax, 200), best_before=make.day(months=36))
    design(bench.product, owner, opened_months=12)

    version = bench.approve(Lot.objects.select_related("item__product").get(pk=long.pk), owner)
    label = label_status(Lot.objects.get(pk=long.pk)).label
    short = bench.lot((bench.olive, 800), (bench.wax, 200))

    assert version.date_style == DateStyle.JAR
    assert (label.date_line, label.opened_line) == ("", "12M")
    assert [one.way for one in label_status(short).untrue] == ["date"]


@pytest.mark.parametrize("market", [Market.EU, Market.UK])
@pytest.mark.parametrize("has_hourglass", [True, False])
def test_hourglass_or_words_are_printed_as_approved(
    owner: User, market: Market, *, has_hourglass: bool
) -> None:
    bench = Bench(market=market)
    lot = bench.usual()
    design(bench.product, owner, has_hourglass=has_hourglass)

    version = bench.approve(Lot.objects.select_related("item__product").get(pk=lot.pk), owner)
    design(bench.product, owner, has_hourglass=not has_hourglass)
    label = label_status(Lot.objects.get(pk=lot.pk)).label

    assert (HOURGLASS in label.date_line) == has_hourglass == version.has_hourglass
    assert ("before the end of" in label.date_line) != has_hourglass
    with pytest.raises(DatabaseError, match="stays as it was approved"), transaction.atomic():
        LabelVersion.objects.filter(pk=version.pk).update(has_hourglass=not has_hourglass)


def test_hourglass_is_approved_only_where_the_law_offers_it(owner: User) -> None:
    bench = Bench(market=Market.US)
    lot = bench.usual()
    design(bench.product, owner, has_hourglass=True)

    version = bench.approve(Lot.objects.select_related("item__product").get(pk=lot.pk), owner)

    assert not version.has_hourglass


def test_upgrade_gives_each_version_the_hourglass_its_product_says_now(owner: User) -> None:
    bench = Bench(market=Market.EU)
    lot = bench.usual()
    design(bench.product, owner, sold_in_eu=True, sold_in_us=True)
    drafts = {
        market: approved.draft_from_lot(lot, market, by=owner, at=make.NOON)
        for market in ("US", "EU")
    }
    design(bench.product, owner, has_hourglass=True)

    triggers.remove(connection)  # as `migrate` does
    import_module("workshop.labels.migrations.0009_versions_keep_the_hourglass").carry(apps, None)

    said = LabelVersion.objects.values_list("market", "has_hourglass")
    assert dict(said) == {"US": False, "EU": True}
    lines = LabelVersion.history.filter(id=drafts["EU"].pk)
    assert set(lines.values_list("has_hourglass", flat=True)) == {True}
    assert check_masters().is_sound


def test_date_on_the_artwork_must_be_kept(owner: User) -> None:
    bench = Bench()
    bench.approve(bench.usual(), owner, date_style="fixed", fixed_date=make.day(217))
    lot = bench.lot(
        (bench.olive, 800), (bench.wax, 195), (bench.vitamin, 5), best_before=make.day(216)
    )

    assert [one.sentence for one in label_status(lot).untrue] == [
        f"The approved label is printed with {make.shown(217)}, and lot "
        f"{lot} keeps only to {make.shown(216)}."
    ]
