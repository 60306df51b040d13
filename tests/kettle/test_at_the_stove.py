"""What a device sends along with a reading: running totals, what it had seen; and the offers."""

from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from pytest_django.asserts import assertContains, assertNotContains

from tests import make
from tests.kettle import build
from workshop.core.models import Role
from workshop.core.saving.new_tokens import new_token
from workshop.kettle.models import Batch, BatchLine, Weighing

pytestmark = pytest.mark.django_db
NARROW = "\u202f"


@pytest.fixture(autouse=True)
def _maker(client: Client) -> None:
    client.force_login(make.user(Role.MAKER))


def under_way(**values: Any) -> Batch:
    """500 g and 500 g, 2 % each."""
    return build.batch(at=timezone.now() - timedelta(hours=1), **values)


def address(batch: Batch, name: str = "weigh") -> str:
    return reverse(f"kettle:{name}", args=[batch.operation.reference])


def send(client: Client, line: BatchLine, **values: Any) -> tuple[int, dict[str, Any]]:
    data = {
        "line": line.pk,
        "lot": make.lot(line.item).code,
        "scale": line.batch.scale_id,
        "token": new_token(),
        **values,
    }
    response = client.post(address(line.batch), data, headers={"accept": "application/json"})
    answer: dict[str, Any] = response.json()
    return response.status_code, answer


def readings() -> list[Decimal]:
    return [row.posting.moved for row in Weighing.objects.all()]


def test_running_total_of_an_untared_scale_is_recorded_as_its_difference(client: Client) -> None:
    first, second = under_way().lines.all()
    build.weigh(first, "500.5", at=timezone.now())

    status, _ = send(client, second, running_total_g="1000,0", kettle_g="500.5")

    assert (status, readings()[-1]) == (200, Decimal("499.5"))


def test_running_total_is_refused_when_somebody_put_something_in_meanwhile(
    client: Client,
) -> None:
    first, second = under_way().lines.all()
    build.weigh(first, "500", at=timezone.now())
    build.weigh(first, "1", at=timezone.now())

    status, answer = send(client, second, running_total_g="1000", kettle_g="500")

    assert (status, len(readings())) == (422, 2)
    assert answer["sentence"] == (
        f"The book now says 501.0{NARROW}g in the kettle, not 500.0{NARROW}g: something was "
        "weighed or taken back meanwhile. Look at the lines, tare the scale, and weigh this one "
        "net."
    )


def test_running_total_sent_again_answers_as_before(client: Client) -> None:
    line = under_way().lines.all()[0]
    data = {"running_total_g": "500", "kettle_g": "0", "token": new_token()}
    data["lot"] = make.lot(line.item).code

    first, second = send(client, line, **data), send(client, line, **data)

    assert first == second
    assert readings() == [Decimal(500)]


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"running_total_g": "5"}, "A running total needs what was in the kettle before."),
        ({"running_total_g": "5", "kettle_g": "5"}, "is not more than the"),
        ({"running_total_g": "5", "reading_g": "5"}, "not both"),
        ({"running_total_g": "soon", "kettle_g": "0"}, "“soon” is not a number."),
        ({"running_total_g": "NaN", "kettle_g": "0"}, "is not a number that can be kept"),
        ({"reading_g": "5", "shown_taken_g": "none"}, "“none” is not a number."),
    ],
)
def test_running_total_that_tells_nothing_is_refused(
    client: Client, typed: dict[str, str], sentence: str
) -> None:
    status, answer = send(client, under_way().lines.all()[0], **typed)

    assert status == 422
    assert sentence in answer["sentence"]
    assert not readings()


def test_line_weighed_elsewhere_meanwhile_is_not_weighed_twice_unknowingly(
    client: Client,
) -> None:
    line = under_way().lines.select_related("item")[0]
    build.weigh(line, "500", at=timezone.now())

    status, answer = send(client, line, reading_g="500", shown_taken_g="0")

    assert (status, readings()) == (409, [Decimal(500)])
    assert answer["sentence"] == (
        f"500.0{NARROW}g of {line.item} is in already; this device showed 0.0{NARROW}g. Somebody "
        f"weighed it meanwhile. Confirm only if these 500.0{NARROW}g went in as well."
    )


def test_reading_of_a_line_weighed_elsewhere_is_recorded_once_confirmed(client: Client) -> None:
    line = under_way().lines.all()[0]
    build.weigh(line, "500", at=timezone.now())

    status, _ = send(client, line, reading_g="500", shown_taken_g="0", confirmed="yes")

    assert (status, len(readings())) == (200, 2)


def test_adding_to_what_the_device_shows_needs_no_confirming(client: Client) -> None:
    line = under_way().lines.all()[0]
    build.weigh(line, "495", at=timezone.now())

    assert send(client, line, reading_g="1", shown_taken_g="495.000")[0] == 200


def test_reading_on_a_line_finished_elsewhere_is_asked_about_even_within_its_band(
    client: Client,
) -> None:
    line = under_way().lines.all()[0]
    build.weigh(line, "495", at=timezone.now())

    assert send(client, line, reading_g="1", shown_taken_g="0")[0] == 409
    assert readings() == [Decimal(495)]


def test_same_grams_again_on_a_line_with_nothing_more_to_go_in_are_asked_about(
    client: Client,
) -> None:
    line = under_way().lines.select_related("item")[0]
    build.weigh(line, "500", at=timezone.now())

    status, answer = send(client, line, reading_g="500", shown_taken_g="500.000")

    assert (status, readings()) == (409, [Decimal(500)])
    assert answer["sentence"] == (
        f"500.0{NARROW}g of {line.item} is in already, and nothing more is to go in. Confirm only "
        f"if these 500.0{NARROW}g went in as well."
    )


def test_two_makers_who_share_a_line_are_not_stopped_within_its_band(client: Client) -> None:
    line = under_way().lines.all()[0]
    build.weigh(line, "200", at=timezone.now())

    assert send(client, line, reading_g="300", shown_taken_g="0")[0] == 200


def test_second_maker_who_would_take_a_shared_line_over_its_band_is_asked(
    client: Client,
) -> None:
    line = under_way().lines.all()[0]
    build.weigh(line, "200", at=timezone.now())

    assert send(client, line, reading_g="500", shown_taken_g="0")[0] == 409


def test_more_than_the_kettle_holds_is_asked_about_and_recorded_at_a_second_yes(
    client: Client,
) -> None:
    batch = under_way(kettle=build.kettle(1200, name="Small kettle"))
    first, second = batch.lines.select_related("item")
    values = {"lot": make.lot(first.item, on_hand=4000).code, "token": new_token()}
    typed = {"reading_g": "3760", "shown_taken_g": "0", **values}

    status, answer = send(client, first, **typed)

    assert (status, readings()) == (409, [])
    assert answer["sentence"] == (
        f"With 3{NARROW}760.0{NARROW}g more 3{NARROW}760.0{NARROW}g would be in Small kettle, "
        f"which holds 1{NARROW}200.0{NARROW}g. Confirm only if 3{NARROW}760.0{NARROW}g of "
        f"{first.item} went in."
    )
    assert send(client, first, **typed, confirmed="yes")[0] == 200
    assert send(client, first, **typed)[0] == 200  # the answer was lost, and it comes again
    # The kettle is known to be over; a figure that it could hold is asked about no more.
    assert send(client, second, reading_g="500", shown_taken_g="0")[0] == 200
    assert readings() == [Decimal(3760), Decimal(500)]


def test_kettle_filled_to_the_brim_is_not_asked_about(client: Client) -> None:
    line = under_way(kettle=build.kettle(1000)).lines.all()[0]

    assert send(client, line, reading_g="1000", shown_taken_g="0")[0] == 200


@pytest.mark.parametrize(
    ("held", "status"), [(249, 409), (250, 200), (0, 200)], ids=["less", "half", "none"]
)
def test_more_than_twice_what_the_lot_holds_is_asked_about(
    client: Client, held: int, status: int
) -> None:
    """Of a lot that the book says is empty nothing can be told: it is shown for counting."""
    line = under_way().lines.select_related("item")[0]
    lot = make.lot(line.item, on_hand=held)

    answered, answer = send(client, line, reading_g="500", shown_taken_g="0", lot=lot.code)

    assert (answered, len(readings())) == (status, int(status == 200))
    asked = f"Lot {lot} is said to hold 249.0{NARROW}g. Confirm only if 500.0{NARROW}g of "
    assert (asked in answer.get("sentence", "")) == (status == 409)


def test_what_a_scale_shows_that_was_not_tared_is_asked_about(client: Client) -> None:
    batch = under_way()
    first, second = batch.lines.all()
    build.weigh(first, "400", at=timezone.now())

    status, answer = send(client, second, reading_g="900", shown_taken_g="0")

    assert (status, readings()) == (409, [Decimal(400)])
    assert f"not tared would show that for 500.0{NARROW}g: then type 500.0" in answer["sentence"]
    assert send(client, second, reading_g="500", shown_taken_g="0")[0] == 200


def test_reading_taken_back_before_it_was_sent_is_not_asked_about(client: Client) -> None:
    line = under_way(kettle=build.kettle(1000)).lines.all()[0]

    status, _ = send(client, line, reading_g="5000", shown_taken_g="0", taken_back=new_token())

    assert (status, Weighing.objects.effective().count()) == (200, 0)


def test_plain_page_asks_and_takes_the_same_figure_at_a_second_record(client: Client) -> None:
    batch = under_way()
    line = batch.lines.all()[0]
    lot = make.lot(line.item, on_hand=100)
    page = client.get(f"{address(batch)}?lot={lot.code}&line={line.pk}")
    typed = {"line": line.pk, "lot": lot.code, "scale": batch.scale_id, "shown_taken_g": "0"}
    typed |= {"token": page.context["token"], "ticket": page.context["ticket"]}

    asked = client.post(address(batch), {**typed, "reading_g": "5000"})

    assertContains(asked, f"is said to hold 100.0{NARROW}g")
    assertContains(asked, 'name="reading_g"', count=1)
    yes = {"confirmed": "yes", "asked_about": "5000"}
    for name, value in (*yes.items(), ("token", typed["token"])):
        assertContains(asked, f'<input type="hidden" name="{name}" value="{value}">', html=True)
    # The question was about 5000: another figure is looked at anew.
    again = client.post(address(batch), {**typed, **yes, "reading_g": "4000"})
    assertContains(again, "Confirm only if 4\u202f000.0")
    assert readings() == []
    assert client.post(address(batch), {**typed, **yes, "reading_g": "5000"}).status_code == 302
    assert readings() == [Decimal(5000)]


def test_reading_sent_again_is_not_mistaken_for_another_makers(client: Client) -> None:
    line, token = under_way().lines.all()[0], new_token()
    lot = make.lot(line.item).code

    first = send(client, line, reading_g="500", shown_taken_g="0", token=token, lot=lot)
    again = send(client, line, reading_g="500", shown_taken_g="0", token=token, lot=lot)

    assert first == again


def test_reading_that_leaves_the_band_is_answered_with_an_offer(client: Client) -> None:
    # By hand: with half of ±2 % 520 g may be 50.5 % of 1029.7 g, so 509.7 g, 509.8 g on this
    # scale, make it right, 29.8 g more than planned; for the planned weight 1000 / 1029.7 of the
    # 520 g may stay.
    batch = under_way()
    first, second = batch.lines.all()
    make.lot(second.item, on_hand=2000)

    _, answer = send(client, first, reading_g="520")

    assert answer["offer"]["address"] == address(batch, "mend")
    sentence = answer["offer"]["sentence"]
    assert sentence.startswith(f"20.0{NARROW}g too much {first.item}. Typed wrong? Undo last. ")
    assert "If not: accept it as it is, rebalance" in sentence
    assert f"rebalance (29.8{NARROW}g more than planned)" in sentence
    assert f"split off 15.0{NARROW}g" in sentence


def test_reading_within_the_band_is_answered_without_an_offer(client: Client) -> None:
    _, answer = send(client, under_way().lines.all()[0], reading_g="505")

    assert "offer" not in answer


def test_offer_comes_with_the_state_so_another_tablet_shows_it_too(client: Client) -> None:
    batch = under_way()
    build.weigh(batch.lines.all()[0], "520", at=timezone.now())

    answer = client.get(address(batch), headers={"accept": "application/json"}).json()

    assert answer["offer"]["address"] == address(batch, "mend")


def test_offer_leads_to_a_page_with_every_way_and_its_figures(client: Client) -> None:
    batch = under_way()
    first, second = batch.lines.all()
    make.lot(second.item, on_hand=2000)
    build.weigh(first, "520", at=timezone.now())

    response = client.get(address(batch, "mend"))

    for words in ("Accept it as it is", "Rebalance: bring", "Restore", "Split part"):
        assertContains(response, words)
    assertContains(response, "509.8")


def test_slip_of_the_hand_is_the_first_thing_to_think_of(client: Client) -> None:
    batch = under_way()
    first, _ = batch.lines.all()
    last = build.weigh(first, "5000", at=timezone.now())
    page = client.get(address(batch, "mend"))

    said = page.content.decode()
    assert "The last reading, 5\u202f000.0" in said
    slip, accept = (said.index(words) for words in ("It was typed wrong", "<h2>Accept it as it is"))
    assert slip < accept
    taking_back = reverse("kettle:undo", args=[batch.operation.reference, last.pk])
    assertContains(page, f"{taking_back}?why=misread")
    asked = client.get(taking_back, {"why": "misread or mistyped"})
    assert asked.context["form"]["reason"].value() == "misread or mistyped"


@pytest.mark.parametrize("readings", [("515", "3"), ("515",)])
def test_reading_that_is_not_what_is_too_much_is_not_called_a_slip(
    client: Client, readings: tuple[str, ...]
) -> None:
    """515 g is above 510 g by itself; whatever came after it is not the cause."""
    batch = under_way()
    first, second = batch.lines.all()
    for grams in readings:
        build.weigh(first, grams, at=timezone.now())
    if len(readings) == 1:
        build.weigh(second, "100", at=timezone.now())

    page = client.get(address(batch, "mend"))

    assertContains(page, "Accept it as it is")
    assertNotContains(page, "typed wrong")
    assert "Typed wrong" not in client.get(address(batch)).context["offer"]["sentence"]


def test_head_of_the_weigh_up_follows_the_targets(client: Client) -> None:
    batch = under_way()
    first, second = batch.lines.all()
    make.lot(second.item, on_hand=2000)
    build.weigh(first, "520", at=timezone.now())
    weigh_up = reverse("kettle:weigh", args=[batch.operation.reference])
    assertContains(client.get(weigh_up), f'data-part="whole">1{NARROW}000.0{NARROW}g<')
    mending = reverse("kettle:mend", args=[batch.operation.reference])
    seen = client.get(mending).context["melt"].figures_hash

    client.post(
        mending, {"kind": "rebalance", "figures_hash": seen, "reason": "slip", "token": "t"}
    )

    assertContains(client.get(weigh_up), f'data-part="whole">1{NARROW}029.8{NARROW}g<')


def test_way_chosen_on_the_page_is_written_with_its_reason(client: Client) -> None:
    batch = under_way()
    first, second = batch.lines.all()
    make.lot(second.item, on_hand=2000)
    build.weigh(first, "520", at=timezone.now())
    page = client.get(address(batch, "mend"))
    seen = page.context["form"].initial["figures_hash"]

    response = client.post(
        address(batch, "mend"),
        {
            "kind": "rebalance",
            "reason": "poured too fast",
            "figures_hash": seen,
            "token": new_token(),
        },
        follow=True,
    )

    assertContains(response, f"509.8{NARROW}g {second.item} (was 500.0{NARROW}g)")


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"kind": ""}, "Choose what is done."),
        ({"kind": "pray"}, "Select a valid choice."),
        ({"reason": ""}, "This field is required."),
        ({"figures_hash": "old"}, "Something was weighed meanwhile"),
        ({"kind": "split"}, "Weigh what was poured off."),
        ({"kind": "split", "poured_off_g": "all of it"}, "all of it"),
        ({"kind": "split", "poured_off_g": "9 kg"}, "pour off less than that"),
    ],
)
def test_page_of_ways_explains_bad_input_and_keeps_it(
    client: Client, typed: dict[str, str], sentence: str
) -> None:
    batch = under_way()
    first, second = batch.lines.all()
    make.lot(second.item, on_hand=2000)
    build.weigh(first, "520", at=timezone.now())
    seen = client.get(address(batch, "mend")).context["form"].initial["figures_hash"]
    data = {"kind": "accept", "reason": "so be it", "figures_hash": seen, "token": new_token()}

    response = client.post(address(batch, "mend"), data | typed)

    assertContains(response, sentence)
    if typed.get("reason") != "":
        assertContains(response, 'value="so be it"')
