"""An over-pour: accepted, rebalanced, restored, or part of the melt split off."""

from decimal import Decimal
from fractions import Fraction
from typing import Any

import pytest

from tests import make
from tests.kettle import build, soaps
from workshop.core.errors import ActionRefused
from workshop.core.models import Role
from workshop.core.saving.new_tokens import new_token
from workshop.goods_in.lot_composition import composition_of
from workshop.kettle import services
from workshop.kettle.adjustments.impact import NOTHING_ELSE
from workshop.kettle.adjustments.kettle_contents import KettleContents, contents_of
from workshop.kettle.adjustments.options import options
from workshop.kettle.models import Batch, BatchLine, TargetChange, TargetChangeKind, Weighing
from workshop.kettle.record.record_as_shown import record_of
from workshop.ledger import services as ledger
from workshop.ledger.models import Lot, Status
from workshop.materials.models import Profile, UseLimit

pytestmark = pytest.mark.django_db
NARROW = "\u202f"


def described(name: str, **values: Any) -> Any:
    item = make.item(name=name)
    Profile.objects.create(item=item, inci_name=f"{name} INCI", **values)
    return item


def over_poured(
    wax_g: str = "230", *, oil_g: str | None = "800", oil_stock: int = 5000, **values: Any
) -> Batch:
    """Planned 800 g of oil and 200 g of wax, 2 % each; more wax went in."""
    oil, wax = described("Oil"), described("Wax")
    version = build.version([(oil, "80"), (wax, "20")])
    batch = build.batch(version, scale=build.scale("0.5"), **values)
    first, second = batch.lines.order_by("order")
    lot = make.lot(oil, on_hand=oil_stock)
    if oil_g:
        build.weigh(first, oil_g, lot=lot)
    build.weigh(second, wax_g, lot=make.lot(wax, on_hand=5000))
    return Batch.objects.get(pk=batch.pk)


def melt(batch: Batch) -> KettleContents:
    return contents_of(batch, on=make.DAY)


def mend(batch: Batch, kind: TargetChangeKind, **values: Any) -> list[TargetChange]:
    values.setdefault("figures_hash", melt(batch).figures_hash)
    values.setdefault("reason", "the wax slipped")
    values.setdefault("token", new_token())
    values.setdefault("by", make.user(Role.MAKER))
    return services.mend(batch, kind, at=make.NOON, **values)


def lines(batch: Batch) -> list[BatchLine]:
    return list(batch.lines.with_taken().select_related("item"))


def split_off(batch: Batch, grams: str, **values: Any) -> Lot:
    values.setdefault("figures_hash", melt(batch).figures_hash)
    values.setdefault("reason", "too much wax")
    values.setdefault("token", new_token())
    values.setdefault("by", make.user(Role.MAKER))
    return services.split_off(batch, Decimal(grams), at=make.NOON, **values)


def test_rebalancing_asks_for_the_least_oil_that_leaves_half_the_tolerance_to_weigh_by() -> None:
    # By hand: at half of ±2 % 230 g may be 20.2 % of the melt, so it weighs 1138.61 g and 908.61 g
    # are oil; the scale shows half grams.
    batch = over_poured()

    mend(batch, TargetChangeKind.REBALANCE)

    oil, wax = lines(batch)
    assert (oil.aim_g, wax.aim_g) == (Decimal(909), Decimal(230))
    assert (oil.to_go_g, oil.is_done, wax.is_within) == (Decimal(109), False, True)
    assert (oil.target_g, wax.target_g) == (Decimal(800), Decimal(200))


def test_after_rebalancing_the_band_is_what_keeps_every_share_within_its_tolerance() -> None:
    batch = over_poured()
    mend(batch, TargetChangeKind.REBALANCE)

    oil = lines(batch)[0]

    # 230 / 0.204 - 230, up to the milligram; and with 82 % the oil may be 82 / 18 of the wax,
    # but the wax must be 19.6 % at least: 230 / 0.196 - 230.
    assert (oil.low_g, oil.high_g) == (Decimal("897.451"), Decimal("943.469"))


def test_rebalanced_target_leaves_room_below_it_for_the_hand_that_weighs() -> None:
    batch = over_poured()
    mend(batch, TargetChangeKind.REBALANCE)

    oil = lines(batch)[0]

    # No less than the line's own tolerance of what is still to go in.
    assert oil.aim_g - oil.low_g >= oil.to_go_g * oil.tolerance / 100


def test_rebalancing_that_fits_the_kettle_only_at_the_edge_of_the_tolerance_is_still_offered() -> (
    None
):
    # 230 g may be 20.4 % of 1127.45 g; half the tolerance would take 1138.61 g.
    batch = over_poured(kettle=build.kettle(1130))

    mend(batch, TargetChangeKind.REBALANCE)

    assert lines(batch)[0].aim_g == Decimal("897.5")


def test_rebalanced_batch_is_poured_without_a_word_about_tolerance() -> None:
    batch = over_poured()
    mend(batch, TargetChangeKind.REBALANCE)
    build.weigh(lines(batch)[0], "109", lot=make.lot(lines(batch)[0].item))

    build.pour(batch, "1100")

    assert record_of(batch).deviations == [
        f"Target of Oil changed from 800.0{NARROW}g to 909.0{NARROW}g, "
        "rebalanced within tolerance: the wax slipped",
        f"Target of Wax changed from 200.0{NARROW}g to 230.0{NARROW}g, "
        "rebalanced within tolerance: the wax slipped",
    ]


def test_rebalancing_while_oil_is_still_to_come_raises_its_target() -> None:
    batch = over_poured(oil_g=None)

    mend(batch, TargetChangeKind.REBALANCE)

    assert lines(batch)[0].to_go_g == Decimal(909)


def test_full_restoration_brings_the_formula_back_exactly() -> None:
    # By hand: 230 g are 20 % of 1150 g, of which 920 g are oil.
    batch = over_poured()

    mend(batch, TargetChangeKind.RESTORE)

    assert [line.aim_g for line in lines(batch)] == [Decimal(920), Decimal(230)]


def test_accepting_changes_only_the_target_of_the_line_that_is_over() -> None:
    batch = over_poured()

    changes = mend(batch, TargetChangeKind.ACCEPT)

    oil, wax = lines(batch)
    assert [change.line for change in changes] == [wax]
    assert (oil.aim_g, wax.aim_g, wax.is_within) == (Decimal(800), Decimal(230), True)


def test_accepted_shares_are_what_a_later_over_pour_is_brought_back_to() -> None:
    batch = over_poured()
    mend(batch, TargetChangeKind.ACCEPT)
    build.weigh(lines(batch)[1], "20", lot=make.lot(lines(batch)[1].item))

    mend(batch, TargetChangeKind.RESTORE)

    # 250 g of wax at 230 : 800 take 869.57 g of oil, to the half gram.
    assert lines(batch)[0].aim_g == Decimal("869.5")


def test_same_choice_sent_again_is_written_once() -> None:
    batch, token = over_poured(), new_token()
    seen, by = melt(batch).figures_hash, make.user(Role.MAKER)

    first = mend(batch, TargetChangeKind.REBALANCE, token=token, figures_hash=seen, by=by)
    second = mend(batch, TargetChangeKind.REBALANCE, token=token, figures_hash=seen, by=by)

    assert first == second
    assert TargetChange.objects.count() == 2


def test_choice_by_old_figures_is_refused_and_writes_nothing() -> None:
    batch = over_poured()
    seen = melt(batch).figures_hash
    build.weigh(lines(batch)[0], "5", lot=make.lot(lines(batch)[0].item))

    with pytest.raises(ActionRefused, match="Something was weighed meanwhile"):
        mend(batch, TargetChangeKind.REBALANCE, figures_hash=seen)

    assert not TargetChange.objects.exists()


def test_choice_needs_a_reason() -> None:
    batch = over_poured()

    with pytest.raises(ActionRefused) as refused:
        mend(batch, TargetChangeKind.ACCEPT, reason=" ")

    assert refused.value.field == "reason"


def test_batch_with_every_line_within_tolerance_has_nothing_to_mend() -> None:
    batch = build.filled()

    with pytest.raises(ActionRefused, match="there is nothing to correct"):
        mend(batch, TargetChangeKind.ACCEPT)


def test_poured_batch_keeps_its_targets() -> None:
    batch = over_poured()
    services.pour(
        batch,
        [(None, Decimal(1000))],
        note="the wax slipped",
        by=build.owner(),
        at=make.NOON,
        token=new_token(),
    )

    with pytest.raises(ActionRefused, match="is poured; its targets stay as they are"):
        mend(batch, TargetChangeKind.REBALANCE)


def test_kettle_too_small_for_rebalancing_says_what_it_would_have_to_hold() -> None:
    batch = over_poured(kettle=build.kettle(1100))

    with pytest.raises(ActionRefused) as refused:
        mend(batch, TargetChangeKind.REBALANCE)

    assert refused.value.message == (
        f"The kettle would have to hold 1{NARROW}128{NARROW}g, and it holds 1{NARROW}100{NARROW}g. "
        "Split off part of the melt first."
    )


def test_stock_too_short_for_rebalancing_names_what_is_short() -> None:
    batch = over_poured(oil_stock=850)

    with pytest.raises(ActionRefused) as refused:
        mend(batch, TargetChangeKind.REBALANCE)

    assert refused.value.message.startswith("There is not enough in stock to rebalance: Oil (")


def test_stranger_in_the_kettle_cannot_be_rebalanced_away() -> None:
    batch = over_poured()
    resin = described("Resin")
    add_unplanned(batch, make.lot(resin))

    with pytest.raises(ActionRefused, match="Resin is in the kettle and not in the formula"):
        mend(batch, TargetChangeKind.REBALANCE)


def add_unplanned(batch: Batch, lot: Lot, grams: str = "5") -> Weighing:
    return services.add_unplanned(
        batch,
        lot.item,
        lot,
        Decimal(grams),
        reason="to see",
        scale=batch.scale,
        by=make.user(Role.MAKER),
        at=make.NOON,
        token=new_token(),
    )


def test_unplanned_oil_counts_with_the_oil_of_the_formula() -> None:
    batch = over_poured()
    add_unplanned(batch, make.lot(lines(batch)[0].item), "50")

    mend(batch, TargetChangeKind.REBALANCE)

    # 109 g less the 50 g that went in unplanned.
    assert lines(batch)[0].to_go_g == Decimal(59)


def test_ways_tell_what_becomes_of_list_organic_share_and_limits() -> None:
    batch = over_poured("900")
    UseLimit.objects.create(item=lines(batch)[1].item, most=Decimal(50), source="assessment 3")

    accept, rebalance = options(melt(batch))[:2]

    assert accept.sentences == [
        "The share of Oil, Wax is then outside its tolerance.",
        "The ingredient list would have to read: Wax INCI, Oil INCI.",
        "Wax would be 52.9412 %, and 50 % is the most.",
    ]
    assert rebalance.sentences == [NOTHING_ELSE]


def test_material_nobody_described_is_said_and_the_figures_stay() -> None:
    batch = build.batch(scale=build.scale("0.5"))
    first, second = batch.lines.all()
    build.weigh(first, "600")
    make.lot(second.item)

    accept = options(melt(batch))[0]

    assert "has no ingredient profile yet" in accept.sentences[-1]
    assert accept.total_g == Decimal(1100)


def test_splitting_off_brings_the_rest_back_to_the_planned_weight() -> None:
    batch = over_poured("300")

    way = options(melt(batch))[3]

    # 300 g may be 20.2 % of 1485.15 g; 1000 / 1485.15 of 1100 g may stay: 740.67 g.
    assert way.poured_off_g == Decimal("359.5")
    assert Decimal(999) < way.total_g <= Decimal(1001)


def test_split_off_part_is_a_lot_on_hold_with_its_share_of_every_reading() -> None:
    batch = over_poured("300")
    used = [row.posting.lot for row in Weighing.objects.order_by("pk")]

    lot = split_off(batch, "352")

    assert (ledger.on_hand(lot), lot.item) == (Decimal(352), batch.version.formula.item)
    assert Lot.objects.get(pk=lot.pk).status == Status.ON_HOLD
    assert [line.taken_g for line in lines(batch)] == [Decimal(544), Decimal(204)]
    assert [line.taken_g for line in lines(lot.origin.batch)] == [Decimal(256), Decimal(96)]
    # Nothing more and nothing less left the drums.
    assert [ledger.on_hand(one) for one in used] == [Decimal(4200), Decimal(4700)]


def test_both_parts_of_a_split_melt_have_their_exact_composition() -> None:
    batch = over_poured("300")
    lot = split_off(batch, "352")
    oil = lines(batch)[0]
    build.weigh(oil, str(oil.to_go_g), lot=make.lot(oil.item))
    rest = build.pour(batch, "950")[0]

    aside = {part.inci_name: share for part, share in composition_of(lot).items()}
    kept = {part.inci_name: share for part, share in composition_of(rest).items()}

    assert aside == {"Oil INCI": Fraction(8, 11), "Wax INCI": Fraction(3, 11)}
    assert kept["Wax INCI"] == Fraction(204) / Fraction(lines(batch)[0].taken_g + 204)
    assert Fraction("0.196") <= kept["Wax INCI"] <= Fraction("0.204")


def test_split_sent_again_answers_with_the_same_lot() -> None:
    batch, token = over_poured("300"), new_token()
    seen, by = melt(batch).figures_hash, make.user(Role.MAKER)

    first = split_off(batch, "352", figures_hash=seen, token=token, by=by)
    second = split_off(batch, "352", figures_hash=seen, token=token, by=by)

    assert first == second


def test_split_record_says_where_each_reading_went() -> None:
    batch = over_poured("300")

    lot = split_off(batch, "352")

    side = lot.origin.batch
    assert (
        f"A weighing of 300.0{NARROW}g, lot {Weighing.objects.order_by('pk')[1].posting.lot}, "
        f"taken back: 96.0{NARROW}g of it was split off into {side}"
    ) in record_of(batch).deviations
    assert side.note == (
        f"Split off from {batch}; its readings are parts of that batch's readings."
    )


@pytest.mark.parametrize("grams", ["1100", "2000"])
def test_nobody_pours_off_all_there_is(grams: str) -> None:
    batch = over_poured("300")

    with pytest.raises(ActionRefused, match="pour off less than that"):
        split_off(batch, grams)

    assert Batch.objects.count() == 1


def test_rework_of_the_same_bulk_changes_no_share_and_only_takes_room() -> None:
    oil, wax = described("Oil"), described("Wax")
    version = build.version([(oil, "80"), (wax, "20")], rework_limit=Decimal(10))
    batch = build.batch(version, scale=build.scale("0.5"), kettle=build.kettle(1200))
    add_unplanned(batch, make.lot(version.formula.item), "80")
    for line, grams in zip(batch.lines.exclude(formula_line=None), ("800", "230"), strict=True):
        build.weigh(line, grams, lot=make.lot(line.item))

    way = options(melt(batch))[1]

    assert way.refusal == (
        f"The kettle would have to hold 1{NARROW}128{NARROW}g, and it holds 1{NARROW}120{NARROW}g. "
        "Split off part of the melt first."
    )


def test_melt_with_lye_says_that_another_weight_leaves_other_lye_free() -> None:
    batch = build.batch(soaps.version())

    assert melt(batch).cautions[0].startswith("There is lye in this formula")
    assert melt(over_poured()).cautions == []
