"""Limits met exactly, and slips at the kettle that figures alone do not show."""

from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from tests import make
from tests.kettle import build
from tests.kettle.test_adjusted_weights import adjust, balm
from tests.kettle.test_change_targets import lines, over_poured, split_off
from tests.kettle.test_photos_and_timers import picture
from workshop.core.errors import ActionRefused
from workshop.core.files.uploads import checked_file
from workshop.core.models import Role
from workshop.core.saving.new_tokens import new_token
from workshop.kettle import services
from workshop.kettle.models import Batch, Photo, Weighing
from workshop.kettle.services.photos_and_timers import MOST_PHOTOS
from workshop.ledger import services as ledger
from workshop.ledger.models import Lot, Posting

pytestmark = pytest.mark.django_db


def correct(posting: Posting, grams: str) -> Posting:
    return services.correct_yield(
        posting,
        Decimal(grams),
        reason="weighed again",
        by=build.owner(),
        at=make.NOON,
        token=new_token(),
    )


def test_reading_as_heavy_as_the_scale_takes_is_recorded() -> None:
    batch = build.batch(target_g="9000", kettle=build.kettle(9000), scale=build.scale("0.1", 4500))

    build.weigh(batch.lines.all()[0], "4500", lot=make.lot(batch.lines.all()[0].item, on_hand=5000))

    assert Weighing.objects.get().posting.moved == 4500


def test_batch_as_heavy_as_the_kettle_holds_is_planned() -> None:
    assert build.batch(target_g="9000", kettle=build.kettle(9000)).target_g == 9000


def test_addition_that_just_fits_the_kettle_is_set() -> None:
    # By hand: 25.5 g of wax bring 1000 g up by two points, as near as half grams come.
    adjusted = adjust(balm(kettle=build.kettle("1025.5")), "2", 1)
    assert adjusted[0].now_g == Decimal("225.5")

    with pytest.raises(ActionRefused, match="in a kettle that holds"):
        adjust(balm(kettle=build.kettle("1025.4")), "2", 1)


def test_thirty_photos_are_kept_and_no_more(settings: Any, tmp_path: Any) -> None:
    settings.MEDIA_ROOT = tmp_path
    batch = build.batch()

    def keep() -> Photo:
        sent: SimpleUploadedFile = picture()
        file = checked_file(str(sent.name), sent)
        who: dict[str, Any] = {"by": make.user(Role.MAKER), "at": make.NOON, "token": new_token()}
        return services.add_photo(batch, file, shows="the melt", **who)

    for _ in range(MOST_PHOTOS):
        keep()
    with pytest.raises(ActionRefused, match="at most 30 photos"):
        keep()

    assert batch.photos.count() == MOST_PHOTOS == 30


def test_yield_may_be_all_that_went_in() -> None:
    batch = build.poured(grams="1000")

    assert Batch.objects.with_weights().get(pk=batch.pk).put_out_g == 1000


def test_yield_may_be_corrected_to_all_that_went_in() -> None:
    batch = build.poured(grams="970")
    (posting,) = batch.operation.postings.filter(side="out")

    correct(posting, "1000")

    assert ledger.on_hand(Lot.objects.get(pk=posting.lot_id)) == 1000


def test_weighing_is_no_yield_and_is_not_corrected_as_one() -> None:
    batch = build.poured()
    weighed = batch.operation.postings.filter(side="in")[0]
    before = Posting.objects.count()

    with pytest.raises(ActionRefused, match="Only a yield is corrected here"):
        correct(weighed, "400")

    assert Posting.objects.count() == before


def test_correction_of_firmness_after_an_over_pour_starts_from_what_is_in() -> None:
    # By hand: (230 + a) / (1030 + a) = 230 / 1030 + 0.02, so a = 27.22 g, 27 g in half grams.
    batch = over_poured("230")

    change = adjust(batch, "2", 1)[0]

    assert change.now_g == Decimal(257)
    assert lines(batch)[1].to_go_g == Decimal(27)


def test_each_part_of_a_split_reading_keeps_the_time_it_was_taken() -> None:
    batch = over_poured("300")
    early = make.NOON - timedelta(hours=3)
    oil = lines(batch)[0]
    build.weigh(oil, "10", lot=make.lot(oil.item), at=early)
    taken = {row.posting.lot_id: row.posting.at for row in Weighing.objects.all()}

    split_off(batch, "360")

    parts = Weighing.objects.effective().select_related("posting")
    assert {(row.posting.lot_id, row.posting.at) for row in parts} == set(taken.items())
    assert early in {row.posting.at for row in parts}
    assert parts.count() == 2 * len(taken)
