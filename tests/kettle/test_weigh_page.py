"""The weigh-up: as a plain page, and as its script speaks with it."""

import json
from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone
from pytest_django.asserts import assertContains, assertNotContains, assertRedirects

from tests import make
from tests.counts.build import place, put
from tests.kettle import build, soaps
from workshop.core.models import Role, User
from workshop.core.saving.new_tokens import new_token
from workshop.kettle import services
from workshop.kettle.models import Batch, BatchLine, Weighing
from workshop.kettle.weighing.safety_cautions import (
    HOT,
    KEEP_WATER_OUT,
    danger_of,
    said_once,
)
from workshop.ledger.models import ItemKind, Lot, Status
from workshop.rules.soap.lye import CAUTIONS

pytestmark = pytest.mark.django_db
NARROW = "\u202f"


@pytest.fixture(autouse=True)
def maker(client: Client) -> User:
    person = make.user(Role.MAKER)
    client.force_login(person)
    return person


def under_way(**values: Any) -> Batch:
    return build.batch(at=timezone.now() - timedelta(hours=1), **values)


def address(batch: Batch, name: str = "weigh", *more: Any) -> str:
    return reverse(f"kettle:{name}", args=[batch.operation.reference, *more])


def reading(line: BatchLine, lot: Lot, grams: str, **values: Any) -> dict[str, Any]:
    return {
        "line": line.pk,
        "lot": lot.code,
        "reading_g": grams,
        "scale": line.batch.scale_id,
        "token": new_token(),
        **values,
    }


def send(client: Client, batch: Batch, data: dict[str, Any]) -> tuple[int, dict[str, Any]]:
    """What the page's script sends, and what it is answered."""
    response = client.post(address(batch), data, headers={"accept": "application/json"})
    answer: dict[str, Any] = response.json()
    return response.status_code, answer


def test_first_line_comes_first_with_the_lot_that_expires_first(client: Client) -> None:
    batch = under_way()
    line = batch.lines.all()[0]
    lot = make.lot(line.item, on_hand=800)

    response = client.get(address(batch))

    assertContains(response, f'<h1 data-part="name" aria-live="polite">{line.item}</h1>', html=True)
    assertContains(response, f'from lot <b class="lot">{lot}</b>')
    assertContains(response, f"500.0{NARROW}g")


def test_reading_is_recorded_and_the_next_line_follows(client: Client, maker: User) -> None:
    batch = under_way()
    first, second = batch.lines.all()
    lot = make.lot(first.item)

    response = client.post(address(batch), reading(first, lot, "499,5"), follow=True)

    assert Weighing.objects.get().posting.by == maker
    assertContains(
        response,
        f"Recorded: 499.5{NARROW}g {first.item} from lot {lot}. Within tolerance.",
    )
    assertContains(
        response, f'<h1 data-part="name" aria-live="polite">{second.item}</h1>', html=True
    )


def test_short_reading_stays_on_its_line_and_says_what_is_to_go(client: Client) -> None:
    batch = under_way()
    line = batch.lines.all()[0]

    data = reading(line, make.lot(line.item), "200")
    response = client.post(address(batch), data, follow=True)

    assertContains(response, f"300.0{NARROW}g to go.")
    assertContains(response, f'<h1 data-part="name" aria-live="polite">{line.item}</h1>', html=True)


def test_over_pour_is_said(client: Client) -> None:
    batch = under_way()
    line = batch.lines.all()[0]

    data = reading(line, make.lot(line.item), "512.5")
    response = client.post(address(batch), data, follow=True)

    assertContains(response, f"12.5{NARROW}g over, outside the tolerance.")


def test_book_below_zero_is_said(client: Client) -> None:
    batch = under_way()
    line = batch.lines.all()[0]
    lot = make.lot(line.item, on_hand=3)

    response = client.post(address(batch), reading(line, lot, "5"), follow=True)

    assertContains(response, f"The book now says −2.0{NARROW}g for lot {lot}: count it.")


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"reading_g": "soon"}, "“soon” is not a number."),
        ({"reading_g": ""}, "Type what the scale shows."),
        ({"reading_g": "1,5.2"}, "both a comma and a point"),
        ({"reading_g": "5.0001"}, "Give at most 3 decimal places."),
        ({"reading_g": "5.05"}, "it cannot have shown 5.05"),
        ({"reading_g": "1e9"}, "takes at most"),
        ({"lot": ""}, "Choose a lot, or scan its tag."),
        ({"lot": "NOSUCH1"}, "No lot has the code “NOSUCH1”."),
        ({"line": "999999"}, "Select a valid choice."),
        ({"scale": "x"}, "Select a valid choice."),
        ({"token": ""}, "This field is required."),
        ({"at": "yesterday"}, "The time of the reading is not a time."),
        ({"at": "2026-13-45T00:00:00Z"}, "The time of the reading is not a time."),
        ({"at": "2026-11-25T12:00:00"}, "The time of the reading is not a time."),
        ({"at": "9999-12-31T23:59:59-12:00"}, "The time of the reading is not a time."),
        ({"at": "9999-12-31T23:59:59Z"}, "The time of the reading is not a time."),
        ({"at": "0001-01-01T00:00:00+14:00"}, "The time of the reading is not a time."),
        ({"at": "0001-01-01T00:00:00Z"}, "The time of the reading is not a time."),
        ({"at": "9000-01-01T08:30:00Z"}, "clock says 1 Jan 9000"),
        ({"at": "1970-01-01T00:00:00Z"}, "no reading waits longer than 90 days"),
        ({"at": "20261125"}, "The time of the reading is not a time."),
    ],
)
def test_bad_reading_is_explained_on_the_page_and_to_the_script(
    client: Client, typed: dict[str, str], sentence: str
) -> None:
    batch = under_way()
    line = batch.lines.all()[0]
    data = reading(line, make.lot(line.item), "5") | typed

    page = client.post(address(batch), data)
    status, answer = send(client, batch, data)

    assertContains(page, sentence)
    assertContains(page, f'value="{data["reading_g"]}"')
    assert status == 422
    assert sentence in answer["sentence"]
    assert not Weighing.objects.exists()


def test_misread_code_is_answered_with_what_is_near(client: Client) -> None:
    batch = under_way()
    line = batch.lines.all()[0]
    lot = make.lot(line.item)
    swapped = lot.code[1] + lot.code[0] + lot.code[2:]
    if swapped == lot.code:
        swapped = lot.code[:-1]

    response = client.get(address(batch), {"lot": swapped})

    assertContains(response, f"Did you mean {lot} ({line.item})?")


def test_same_token_through_the_script_is_recorded_once(client: Client) -> None:
    batch = under_way()
    line = batch.lines.all()[0]
    data = reading(line, make.lot(line.item), "5")

    first, second = send(client, batch, data), send(client, batch, data)

    assert first[0] == second[0] == 200
    assert Weighing.objects.count() == 1


def test_reading_keeps_the_time_it_was_taken(client: Client) -> None:
    batch = under_way()
    line = batch.lines.all()[0]
    at = timezone.now() - timedelta(minutes=40)

    send(client, batch, reading(line, make.lot(line.item), "5", at=at.isoformat()))

    assert Weighing.objects.get().posting.at == at


def test_clock_that_runs_ahead_is_pointed_out(client: Client) -> None:
    batch = under_way()
    line = batch.lines.all()[0]
    at = timezone.now() + timedelta(minutes=5)

    status, answer = send(client, batch, reading(line, make.lot(line.item), "5", at=at.isoformat()))

    assert status == 422
    assert answer["sentence"].startswith("This device's clock says")


def test_clock_a_little_ahead_is_taken_as_now(client: Client) -> None:
    batch = under_way()
    line = batch.lines.all()[0]
    at = timezone.now() + timedelta(minutes=1)

    send(client, batch, reading(line, make.lot(line.item), "5", at=at.isoformat()))

    assert Weighing.objects.get().posting.at <= timezone.now()


def test_clock_from_before_the_batch_is_pointed_out(client: Client) -> None:
    batch = under_way()
    line = batch.lines.all()[0]

    at = timezone.now() - timedelta(hours=2)

    status, answer = send(client, batch, reading(line, make.lot(line.item), "5", at=at.isoformat()))

    assert status == 422
    assert "before the batch began" in answer["sentence"]


def test_script_gets_the_state_in_whole_thousandths(client: Client) -> None:
    batch = under_way(of=build.soft_balm(), target_g="46.1")
    line = batch.lines.all()[0]
    lot = make.lot(line.item, on_hand=100)

    _, answer = send(client, batch, reading(line, lot, "37.2"))
    state = client.get(address(batch), headers={"accept": "application/json"}).json()["state"]

    assert answer["taken"] == 37200
    assert state["shape"] == "3 True"
    assert [row["target"] for row in state["lines"]] == [37300, 5200, 3600]
    assert [row["taken"] for row in state["lines"]] == [37200, 0, 0]
    # 37.3 g less and more 2 %, inward to a milligram.
    assert (state["lines"][0]["low"], state["lines"][0]["high"]) == (36554, 38046)
    assert state["lines"][0]["lots"][0]["left"] == 62800


def test_first_load_of_the_page_stays_below_60_kilobytes_with_20_lines(client: Client) -> None:
    items = [make.item() for _ in range(20)]
    for item in items:
        for _ in range(3):
            make.lot(item)
    batch = under_way(of=build.version([(item, "5") for item in items]))

    assert len(client.get(address(batch)).content) < 40_000


def test_scanned_lot_picks_its_line(client: Client) -> None:
    batch = under_way()
    second = batch.lines.all()[1]
    lot = make.lot(second.item)

    page = client.get(address(batch), {"lot": f"{lot}".lower()})
    script = client.get(
        address(batch), {"lot": lot.code}, headers={"accept": "application/json"}
    ).json()

    assertContains(page, f'<h1 data-part="name" aria-live="polite">{second.item}</h1>', html=True)
    assert (script["line"], script["lot"]["code"]) == (second.pk, lot.code)


def test_scanned_lot_of_another_item_is_refused_with_a_way_on(client: Client) -> None:
    batch = under_way()
    lot = make.lot(make.item(name="Beeswax"))

    page = client.get(address(batch), {"lot": lot.code})
    script = client.get(address(batch), {"lot": lot.code}, headers={"accept": "application/json"})

    sentence = (
        f"Lot {lot} is Beeswax, which this batch does not call for. Choose another lot, "
        "or add it as something unplanned."
    )
    assertContains(page, sentence)
    assert (script.status_code, script.json()) == (422, {"sentence": sentence})


def test_scanned_lot_in_quarantine_is_refused_with_a_way_on(client: Client) -> None:
    batch = under_way()
    lot = make.lot(batch.lines.all()[0].item, status=Status.QUARANTINE)

    assertContains(
        client.get(address(batch), {"lot": lot.code}),
        f"Lot {lot} is in quarantine. Choose another lot, or ask the owner to release it.",
    )


def test_any_line_can_be_chosen_out_of_turn(client: Client) -> None:
    batch = under_way()
    second = batch.lines.all()[1]

    response = client.get(address(batch), {"line": second.pk})

    assertContains(
        response, f'<h1 data-part="name" aria-live="polite">{second.item}</h1>', html=True
    )


def test_all_lines_in_leads_to_the_pour(client: Client) -> None:
    batch = build.filled()

    response = client.get(address(batch))

    assertContains(response, "All ingredients are in.")
    tag = reverse("labels:kettle-tag", args=[batch.operation.reference])
    assertContains(response, f'href="{tag}"')
    assertContains(client.get(address(batch, "batch")), f'href="{tag}"')
    assertContains(response, f'href="{address(batch, "pour")}"')


def test_caution_of_the_material_stands_at_its_line(client: Client) -> None:
    batch = under_way(of=soaps.version([(soaps.lye(), "10"), (soaps.olive(), "90")]))
    first, second = batch.lines.all()

    assertContains(
        client.get(address(batch), {"line": first.pk}), f'<p class="lye">{CAUTIONS[0]}</p>'
    )
    assertNotContains(
        client.get(address(batch), {"line": second.pk}), f'<p class="lye">{CAUTIONS[0]}</p>'
    )


def test_closed_batch_leads_to_its_record(client: Client) -> None:
    batch = build.poured()
    services.close_batch(batch, by=build.owner(), at=make.NOON)

    assertRedirects(client.get(address(batch)), address(batch, "batch"))


def test_inspector_looks_but_records_nothing(client: Client) -> None:
    batch = under_way()
    line = batch.lines.all()[0]
    client.force_login(make.user(Role.INSPECTOR))

    page = client.get(address(batch))
    refused = client.post(address(batch), reading(line, make.lot(line.item), "5"))

    assertNotContains(page, 'data-part="record"')
    assert refused.status_code == 403
    assert not Weighing.objects.exists()


def test_undo_takes_the_reading_back_with_one_touch(client: Client) -> None:
    batch = under_way()
    weighing = build.weigh(batch.lines.all()[0], "5")

    response = client.post(
        address(batch, "undo", weighing.pk),
        {"reason": "misread or mistyped", "token": new_token()},
        follow=True,
    )

    assert not Weighing.objects.effective().exists()
    assertContains(response, "(misread or mistyped).")


def test_reading_entered_twice_is_taken_back_by_that_name(client: Client) -> None:
    batch = under_way()
    weighing = build.weigh(batch.lines.all()[0], at=timezone.now())

    data = {"reason": "entered twice", "token": new_token()}
    response = client.post(address(batch, "undo", weighing.pk), data, follow=True)

    assertContains(response, "(entered twice).")
    assert not Weighing.objects.effective().exists()


def test_undo_for_another_reason_wants_it_in_words(client: Client) -> None:
    batch = under_way()
    weighing = build.weigh(batch.lines.all()[0], "5")

    response = client.post(
        address(batch, "undo", weighing.pk), {"reason": "other", "token": new_token()}
    )

    assertContains(response, "Say why.")
    assert Weighing.objects.effective().exists()


def test_reading_of_another_batch_is_not_found_here(client: Client) -> None:
    weighing = build.weigh(under_way().lines.all()[0], "5")

    assert client.get(address(under_way(), "undo", weighing.pk)).status_code == 404


def added(lot: Lot, grams: str, reason: str = "too soft") -> dict[str, Any]:
    scale = build.scale("0.5")
    return {
        "lot": str(lot),
        "reading_g": grams,
        "scale": scale.pk,
        "reason": reason,
        "token": new_token(),
    }


def test_unplanned_addition_is_recorded_with_its_reason(client: Client) -> None:
    batch = under_way()
    wax = make.lot(make.item(name="Beeswax"))

    response = client.post(address(batch, "add"), added(wax, "4.5"), follow=True)

    assert batch.lines.get(formula_line=None).reason == "too soft"
    assertContains(response, f"Added: 4.5{NARROW}g Beeswax from lot {wax}.")


def test_too_much_rework_is_refused_and_the_typing_kept(client: Client) -> None:
    batch = under_way(of=build.version(rework_limit=Decimal(5)))
    leftover = make.lot(make.item(ItemKind.BULK))

    response = client.post(address(batch, "add"), added(leftover, "50.5"))

    assertContains(response, "takes at most 5 % of rework")
    assertContains(response, 'value="50.5"')


def test_state_takes_the_same_queries_for_any_number_of_lines(client: Client) -> None:
    def queries(lines: int) -> int:
        items = [make.item() for _ in range(lines)]
        for item in items:
            make.lot(item)
        shares = [(item, str(Decimal(100) / lines)) for item in items]
        batch = under_way(of=build.version(shares))
        with CaptureQueriesContext(connection) as captured:
            client.get(address(batch), headers={"accept": "application/json"})
        return len(captured)

    assert queries(1) == queries(20)


def test_page_carries_its_state_for_the_script(client: Client) -> None:
    batch = under_way()

    text = client.get(address(batch)).content.decode()

    state = json.loads(text.split('type="application/json">')[1].split("</script>")[0])
    assert [line["pk"] for line in state["lines"]] == [line.pk for line in batch.lines.all()]


def test_weigh_up_says_where_each_lot_stands(client: Client) -> None:
    batch = under_way()
    line = batch.lines.order_by("order")[0]
    lot = make.lot(line.item, on_hand=5000)
    put(place("Drums by the wall"), lot)

    shown = client.get(address(batch), {"line": str(line.pk), "lot": lot.code}).content.decode()

    assert "· Drums by the wall" in shown


def test_lot_at_hand_is_marked_among_the_others(client: Client) -> None:
    batch = under_way()
    line = batch.lines.all()[0]
    make.lot(line.item)
    other = make.lot(line.item)

    page = client.get(f"{address(batch)}?choose=1&line={line.pk}&lot={other.code}")

    assertContains(page, 'aria-current="true"', count=1)
    before = " ".join(page.content.decode().split()).partition('aria-current="true"')[0]
    assert before.endswith(f'lot={other.code}" ')


def test_caution_is_said_once_and_has_a_pictogram() -> None:
    told = said_once([KEEP_WATER_OUT, "Sleeves down.", HOT, "Sleeves down.", KEEP_WATER_OUT])

    assert told == ["Sleeves down.", HOT]
    assert said_once([KEEP_WATER_OUT]) == [KEEP_WATER_OUT]
    assert [danger_of(one) for one in (*told, KEEP_WATER_OUT)] == ["care", "heat", "dry"]
