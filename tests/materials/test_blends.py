"""What a blend was at the time: a lot keeps the parts that held on the day it came in."""

from datetime import date, timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from tests import make
from tests.goods_in import build
from workshop.core.errors import ActionRefused
from workshop.core.models import Role
from workshop.goods_in.lot_composition import compositions_of
from workshop.ledger.models import Item, Lot
from workshop.materials.fragrance_allergens import shares_in_lots
from workshop.materials.models import ALWAYS, BlendPart, Profile
from workshop.materials.services import blends
from workshop.materials.services.blends import BlendComponent, blends_of
from workshop.materials.services.materials import Material, material_of, save_material

pytestmark = pytest.mark.django_db

OLD = [BlendComponent("OIL", Decimal(60)), BlendComponent("WAX", Decimal(40))]
NEW = [BlendComponent("OIL", Decimal(70)), BlendComponent("RESIN", Decimal(30))]
CHANGED = make.day(-85)
BEFORE, AFTER = CHANGED - timedelta(days=1), CHANGED + timedelta(days=9)


def blend(**values: Any) -> Item:
    return build.material("Melt", parts=OLD, **values)


def start(item: Item, parts: list[BlendComponent] = NEW, day: date = CHANGED) -> None:
    profile = Profile.objects.get(item=item)
    blends.start_blend(profile, parts, from_day=day, by=make.user(), at=make.NOON)


def correct(item: Item, parts: list[BlendComponent], *, of: date, day: date | None) -> None:
    profile = Profile.objects.get(item=item)
    blends.correct_blend(profile, of, parts, from_day=day, by=make.user(), at=make.NOON)


def made_of(lot: Lot) -> dict[str, str]:
    shares = compositions_of([lot])[lot.pk]
    return {part.inci_name: str(100 * share) for part, share in shares.items()}


def sets(item: Item) -> list[tuple[date, list[str]]]:
    found = blends_of(Profile.objects.get(item=item))
    return [(one.from_day, [str(row) for row in one.rows]) for one in found]


def refusal(act: Any) -> tuple[str, str | None]:
    kept = list(BlendPart.objects.values_list("pk", "share", "from_day"))
    with pytest.raises(ActionRefused) as caught:
        act()
    assert list(BlendPart.objects.values_list("pk", "share", "from_day")) == kept
    return caught.value.message, caught.value.field


def test_lot_keeps_the_parts_that_held_on_the_day_it_came_in() -> None:
    item = blend()
    before, on_the_day = build.lot(item, received_on=BEFORE), build.lot(item, received_on=CHANGED)

    start(item)

    assert made_of(before) == {"OIL": "60", "WAX": "40"}
    assert made_of(on_the_day) == {"OIL": "70", "RESIN": "30"}


def test_correction_counts_for_the_lots_of_its_own_parts_only() -> None:
    item = blend()
    before, after = build.lot(item, received_on=BEFORE), build.lot(item, received_on=AFTER)
    start(item)

    correct(
        item,
        [BlendComponent("OIL", Decimal(55)), BlendComponent("WAX", Decimal(45))],
        of=ALWAYS,
        day=None,
    )

    assert made_of(before) == {"OIL": "55", "WAX": "45"}
    assert made_of(after) == {"OIL": "70", "RESIN": "30"}


def test_changed_material_corrects_the_latest_parts() -> None:
    item = blend()
    before, after = build.lot(item, received_on=BEFORE), build.lot(item, received_on=AFTER)
    start(item)
    kept = material_of(Item.objects.get(pk=item.pk))
    assert set(kept.parts) == set(NEW)

    entry = {**vars(kept), "parts": [BlendComponent("OIL", Decimal(100))]}
    save_material(Material(**entry), by=make.user(), at=make.NOON, item=item)

    assert made_of(before) == {"OIL": "60", "WAX": "40"}
    assert made_of(after) == {"OIL": "100"}


def test_single_ingredient_that_becomes_a_blend_was_none_before() -> None:
    item = build.material("Melt")
    before, after = build.lot(item, received_on=BEFORE), build.lot(item, received_on=AFTER)

    start(item)

    assert made_of(before) == {"MELT": "100"}
    assert made_of(after) == {"OIL": "70", "RESIN": "30"}


def test_parts_named_on_the_allergen_list_follow_the_day_too() -> None:
    item = build.material("Scent", parts=[BlendComponent("LIMONENE", Decimal(100))])
    before, after = build.lot(item, received_on=BEFORE), build.lot(item, received_on=AFTER)

    start(item, [BlendComponent("LINALOOL", Decimal(100))])

    shares = shares_in_lots([before, after])
    assert [list(shares[lot.pk]) for lot in (before, after)] == [["Limonene"], ["Linalool"]]


def test_organic_part_may_be_received_as_organic_only_while_it_is_in_the_blend() -> None:
    item = build.material("Melt", is_organic=False, parts=OLD)
    start(item, [BlendComponent("OIL", Decimal(100), is_organic=True)])
    sentence = "Melt is not kept as bought organic: change that on its page"

    with pytest.raises(ActionRefused, match=sentence):
        build.lot(item, received_on=BEFORE, organic_until=AFTER)
    assert build.lot(item, received_on=CHANGED, organic_until=AFTER).receipt_line.is_organic


def test_day_of_a_set_can_be_corrected_between_its_neighbours() -> None:
    item = blend()
    start(item)
    start(item, OLD, CHANGED + timedelta(days=40))

    correct(item, NEW, of=CHANGED, day=AFTER)

    assert [day for day, _ in sets(item)] == [CHANGED + timedelta(days=40), AFTER, ALWAYS]


def test_set_without_parts_is_taken_away_and_the_one_before_holds_on() -> None:
    item = blend()
    lot = build.lot(item, received_on=AFTER)
    start(item)

    correct(item, [], of=CHANGED, day=CHANGED)

    assert sets(item) == [(ALWAYS, ["OIL 60.0000 %", "WAX 40.0000 %"])]
    assert made_of(lot) == {"OIL": "60", "WAX": "40"}
    assert BlendPart.history.filter(history_type="-", from_day=CHANGED).count() == 2


def test_unchanged_parts_leave_no_trace_in_the_history() -> None:
    item = blend()
    count = BlendPart.history.count()

    correct(item, OLD, of=ALWAYS, day=None)

    assert BlendPart.history.count() == count


LATER = CHANGED + timedelta(days=40)


@pytest.mark.parametrize(
    ("parts", "day", "sentence", "field"),
    [
        ([], LATER, "Give the parts that hold from that day.", "parts"),
        (NEW, LATER, "These are the parts that hold already.", "parts"),
        (
            OLD,
            CHANGED,
            f"There are parts from {make.shown(-85)} already. Give a later day",
            "from_day",
        ),
        (
            OLD,
            BEFORE,
            f"There are parts from {make.shown(-85)} already. Give a later day",
            "from_day",
        ),
        (OLD, make.day(3324), f"{make.shown(3324)} cannot be right.", "from_day"),
        (
            [BlendComponent("A", Decimal(99))],
            LATER,
            "The parts of the blend add up to 99 %",
            "parts",
        ),
    ],
)
def test_odd_start_is_refused(
    parts: list[BlendComponent], day: date, sentence: str, field: str
) -> None:
    item = blend()
    start(item)

    told, beside = refusal(lambda: start(item, parts, day))

    assert (told.startswith(sentence), beside) == (True, field)


def test_day_before_all_reckoning_is_refused() -> None:
    item = build.material("Melt")

    assert refusal(lambda: start(item, NEW, ALWAYS))[1] == "from_day"


@pytest.mark.parametrize(
    ("of", "day", "sentence"),
    [
        (CHANGED, None, "The parts before these hold from the first lot: give a day after it."),
        (CHANGED, LATER, f"The next parts hold from {make.shown(-45)}: give a day before it."),
        (
            LATER,
            CHANGED,
            f"The parts before these hold from {make.shown(-85)}: give a day after it.",
        ),
        (ALWAYS, LATER, f"The next parts hold from {make.shown(-85)}: give a day before it."),
    ],
)
def test_corrected_day_stays_between_its_neighbours(
    of: date, day: date | None, sentence: str
) -> None:
    item = blend()
    start(item)
    start(item, OLD, LATER)

    assert refusal(lambda: correct(item, OLD, of=of, day=day)) == (sentence, "from_day")


def test_many_blends_and_sets_cost_no_more_queries() -> None:
    counts = []
    lots: list[Lot] = []
    for _ in range(2):
        for _ in range(3):
            item = blend()
            lots += [build.lot(item, received_on=BEFORE), build.lot(item, received_on=AFTER)]
            start(item)
        for read in (compositions_of, shares_in_lots):
            with CaptureQueriesContext(connection) as queries:
                read(lots)
            counts.append(len(queries))

    assert counts == [5, 5, 5, 5]


@pytest.fixture
def owner(client: Client) -> Client:
    client.force_login(make.user(Role.OWNER))
    return client


def typed(*parts: tuple[str, str], day: str = make.iso(-85)) -> dict[str, str]:
    sent = {"from_day": day, "parts-INITIAL_FORMS": "0", "parts-TOTAL_FORMS": str(len(parts))}
    for place, (name, share) in enumerate(parts):
        sent |= {f"parts-{place}-inci_name": name, f"parts-{place}-share": share}
        sent |= {f"parts-{place}-kind": "plain"}
    return sent


def page(item: Item, name: str, *more: str) -> str:
    return reverse(f"materials:{name}", args=[item.code, *more])


def text(response: Any) -> str:
    return " ".join(response.content.decode().split())


def test_new_parts_are_entered_and_the_page_shows_both_sets(owner: Client) -> None:
    item = blend()
    build.lot(item, received_on=BEFORE)
    build.lot(item, received_on=AFTER)

    answer = owner.post(page(item, "new-blend"), typed(("OIL", "70"), ("RESIN", "30")), follow=True)

    said = text(answer)
    assert f"Melt: these parts hold from {make.shown(-85)}. 1 lot of them so far." in said
    assert (
        f'These parts hold from <time datetime="{make.iso(-85)}">{make.shown(-85)}</time>: 1 lot'
        in said
    )
    earlier = said.partition("Earlier parts")[2]
    until = (
        "hold from the first lot, until <time "
        f'datetime="{make.iso(-85)}">{make.shown(-85)}</time>: 1 lot'
    )
    assert until in earlier
    assert ">WAX</td>" in earlier
    assert ">RESIN</td>" not in earlier


def test_form_of_new_parts_starts_with_the_latest(owner: Client) -> None:
    forms = owner.get(page(blend(), "new-blend")).context["parts"]

    assert [form["inci_name"].value() for form in forms][:3] == ["OIL", "WAX", None]


def test_odd_new_parts_keep_the_typing_and_write_nothing(owner: Client) -> None:
    item = blend()

    answer = owner.post(page(item, "new-blend"), typed(("OIL", "70"), ("RESIN", "20"), day=""))
    again = owner.post(page(item, "new-blend"), typed(("OIL", "70"), ("RESIN", "20")))

    assert answer.context["form"].errors == {"from_day": ["This field is required."]}
    assert again.context["form"].non_field_errors() == [
        "The parts of the blend add up to 90 %; they must add up to exactly 100 %."
    ]
    assert 'value="RESIN"' in text(again)
    assert len(sets(item)) == 1


def test_correction_page_mends_a_set(owner: Client) -> None:
    item = blend()
    start(item)
    address = page(item, "blend", make.iso(-85))
    assert "correction counts for the 0 lots" in text(owner.get(address))

    owner.post(address, typed(("OIL", "65"), ("RESIN", "35"), day=make.iso(-83)))

    assert sets(item)[0] == (make.day(-83), ["OIL 65.0000 %", "RESIN 35.0000 %"])


def test_first_parts_are_corrected_with_no_day(owner: Client) -> None:
    item = blend()
    address = page(item, "blend", ALWAYS.isoformat())
    assert owner.get(address).context["form"]["from_day"].value() is None

    said = text(owner.post(address, typed(("OIL", "65"), ("WAX", "35"), day=""), follow=True))

    assert "Melt: these parts hold from the first lot. 0 lots of them so far." in said
    assert sets(item) == [(ALWAYS, ["OIL 65.0000 %", "WAX 35.0000 %"])]


@pytest.mark.parametrize("day", [make.iso(-84), "soon", "٢٠٢٦-09-01"])
def test_set_that_is_not_there_is_not_found(owner: Client, day: str) -> None:
    assert owner.get(page(blend(), "blend", day)).status_code == 404


def test_packaging_has_no_blend(owner: Client) -> None:
    assert owner.get(page(build.packaging(), "new-blend")).status_code == 404


def test_material_form_says_that_other_parts_are_a_correction(owner: Client) -> None:
    item = blend()

    said = text(owner.get(page(item, "edit-material")))

    assert "Other parts below correct a mistake" in said
    assert page(item, "new-blend") in said


def test_material_form_leads_a_single_ingredient_to_a_blend_from_a_day(owner: Client) -> None:
    item = build.material()

    assert page(item, "new-blend") in text(owner.get(page(item, "edit-material")))
