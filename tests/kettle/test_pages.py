"""The pages of the kettle: lists, plan, acts, record on page and paper."""

from decimal import Decimal
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from pypdf import PdfReader
from pytest_django.asserts import assertContains, assertNotContains, assertRedirects

from tests import make
from tests.kettle import build, soaps
from workshop.core.models import Role, User
from workshop.core.saving.new_tokens import new_token
from workshop.kettle import services
from workshop.kettle.models import Batch, BatchState, CheckKind
from workshop.ledger.models import Status
from workshop.ledger.proof.chain_head import Head
from workshop.rules.soap.lye import CAUTIONS

pytestmark = pytest.mark.django_db
NARROW = "\u202f"


@pytest.fixture
def owner(client: Client) -> User:
    person = build.owner()
    person.set_password("a long password")
    person.save()
    client.force_login(person)
    return person


@pytest.fixture
def maker(client: Client) -> User:
    person = make.user(Role.MAKER)
    client.force_login(person)
    return person


def page(name: str, batch: Batch, *more: Any) -> str:
    return reverse(f"kettle:{name}", args=[batch.operation.reference, *more])


def queries_of(client: Client, address: str) -> int:
    with CaptureQueriesContext(connection) as captured:
        assert client.get(address).status_code == 200
    return len(captured)


def test_home_shows_batches_under_way_before_the_closed_ones(client: Client, owner: User) -> None:
    closed = services.close_batch(build.poured(), by=owner, at=make.NOON)
    under_way = build.batch()

    text = client.get(reverse("kettle:home")).content.decode()

    assert "1 batch under way" in text
    assert text.index(str(under_way)) < text.index("<h2>Closed</h2>") < text.index(str(closed))


def test_home_takes_the_same_queries_for_any_number_of_batches(client: Client, owner: User) -> None:
    def add() -> None:
        build.batch()
        services.abandon_batch(build.batch(), by=owner, at=make.NOON, reason="a trial")

    add()
    one = queries_of(client, reverse("kettle:home"))
    for _ in range(4):
        add()

    assert queries_of(client, reverse("kettle:home")) == one


def test_home_finds_a_batch_by_its_reference(client: Client, owner: User) -> None:
    first, second = build.batch(), build.batch()

    response = client.get(reverse("kettle:home"), {"q": str(first)})

    assertContains(response, str(first))
    assertNotContains(response, str(second))


def plan_data(**values: Any) -> dict[str, Any]:
    return {
        "version": build.version().pk,
        "kettle": build.kettle().pk,
        "scale": build.scale().pk,
        "token": new_token(),
        **values,
    }


def test_plan_leads_to_the_plan_of_the_new_batch(client: Client, maker: User) -> None:
    response = client.post(reverse("kettle:plan"), plan_data(target_g="2,5 kg"))

    batch = Batch.objects.get()
    assert (batch.target_g, batch.operation.opened_by) == (Decimal(2500), maker)
    assertRedirects(response, page("sheet", batch))


def test_plan_in_units_is_rounded_up_to_the_scale(client: Client, maker: User) -> None:
    client.post(reverse("kettle:plan"), plan_data(units="33", fill_g="60", expected_loss="3"))

    # 33 x 60 g / 0.97 = 2041.23…, up to the next tenth.
    assert Batch.objects.get().target_g == Decimal("2041.3")


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"target_g": "a lot"}, "a lot"),
        ({"target_g": "9 t"}, "9 t"),
        ({"target_g": "10 kg"}, "is more than the"),
        ({"target_g": "100.05"}, "100.1 g would do."),
        ({"target_g": "100", "units": "3"}, "Give either the grams in all or the units, not both."),
        ({}, "Give the grams wanted, or the number of units and the fill of one."),
        ({"units": "3"}, "Give the grams wanted, or the number of units and the fill of one."),
        ({"units": "three", "fill_g": "5"}, "“three” is not a number."),
        ({"target_g": "100", "expected_loss": "100"}, "It must be at most 99 %."),
        ({"target_g": "100", "version": "99999"}, "Select a valid choice."),
        ({"target_g": "100", "kettle": "x\x00"}, "Null characters are not allowed."),
    ],
)
def test_plan_explains_bad_input_and_keeps_it(
    client: Client, maker: User, typed: dict[str, str], sentence: str
) -> None:
    response = client.post(reverse("kettle:plan"), plan_data(**typed))

    assertContains(response, sentence)
    for value in typed.values():
        if value.isprintable() and not value.isdigit():
            assertContains(response, f'value="{value}"')
    assert not Batch.objects.exists()


def test_sheet_shows_lots_and_what_is_short(client: Client, maker: User) -> None:
    batch = build.batch()
    lot = make.lot(batch.lines.all()[0].item, on_hand=300)

    response = client.get(page("sheet", batch))

    assertContains(response, "2 lines short")
    assertContains(response, lot.shown_code)
    assertContains(response, "200.0 short")
    assertContains(response, "none that may be used")


def test_sheet_calls_out_the_small_line_of_a_soft_balm_on_a_half_gram_scale(
    client: Client, maker: User
) -> None:
    # Common practice, no source: 3.6 g of liquid oil in 46.1 g.
    scale = build.scale("0.5", name="bench scale")
    build.scale("0.01", 600, name="fine scale", accuracy_class="II")
    batch = build.batch(build.soft_balm(), target_g="46", scale=scale)

    response = client.get(page("sheet", batch))

    assertContains(
        response,
        f"Liquid oil: 3.5{NARROW}g is too little for bench scale (from 10.0{NARROW}g) and may be "
        "up to 14.3 % off.",
    )
    assertContains(response, "Use fine scale instead.")


def test_sheet_tells_of_each_line_its_scale_its_error_and_the_batch_that_cures_it(
    client: Client, maker: User
) -> None:
    # By hand: rounding 0.25 g and 0.5 g permissible are 2 % of 37.5 g, and 7.8091 % of the batch
    # is 37.5 g from 480.2 g on (OIML R 76: class III, up to 500 e, twice half an e in service).
    scale = build.scale("0.5", name="bench scale")
    batch = build.batch(build.soft_balm(), target_g="46", scale=scale)

    response = client.get(page("sheet", batch))

    assert [
        (one.check.verdict, one.smallest_load_g, one.cure_g)
        for one in response.context["fitness"][1:]
    ] == [
        ("too small", Decimal("10.0"), Decimal("332.5")),
        ("too small", Decimal("10.0"), Decimal("480.5")),
    ]
    assertContains(response, f"every line comes within its tolerance from 480.5{NARROW}g upwards.")


def test_sheet_shows_the_cautions_of_lye_and_essential_oil(client: Client, maker: User) -> None:
    lavender = soaps.item("Lavender oil", "Lavandula Oil", kind="fragrance")
    batch = build.batch(soaps.version([(soaps.lye(), "9"), (soaps.olive(), "89"), (lavender, "2")]))

    response = client.get(page("sheet", batch))

    for caution in CAUTIONS:
        assertContains(response, caution)
    assertContains(response, "add below 50 to 60 °C and away from any flame")


def test_sheet_takes_the_same_queries_for_any_number_of_lines(client: Client, maker: User) -> None:
    def sheet_of(lines: int) -> str:
        items = [make.item() for _ in range(lines)]
        for item in items:
            make.lot(item)
        shares = [(item, str(Decimal(100) / lines)) for item in items]
        return page("sheet", build.batch(build.version(shares)))

    assert queries_of(client, sheet_of(1)) == queries_of(client, sheet_of(20))


def test_batch_page_shows_a_correction_struck_through(client: Client, maker: User) -> None:
    batch = build.filled()
    weighing = batch.lines.all()[0].weighings.get()
    services.undo_reading(weighing, by=maker, at=make.NOON, reason="wrong drum", token=new_token())

    response = client.get(page("batch", batch))

    assertContains(response, f"<s>{500:.1f}</s>", html=True)
    assertContains(response, "by Maker: wrong drum")


def test_what_is_still_to_be_weighed_is_no_deviation(client: Client, maker: User) -> None:
    batch = build.batch()
    first, second = batch.lines.all()
    build.weigh(first, "100")

    assertNotContains(client.get(page("batch", batch)), "Outside its tolerance")

    build.weigh(first, "412.5")
    over = f"Outside its tolerance: 512.5{NARROW}g of {first.item}"
    assertContains(client.get(page("batch", batch)), over)

    build.pour(batch, "500", note="sold as a sample")
    short = f"Outside its tolerance: 0.0{NARROW}g of {second.item}"
    assertContains(client.get(page("batch", batch)), short)


def test_batch_page_names_every_deviation(client: Client, maker: User) -> None:
    batch = build.batch()
    first, second = batch.lines.all()
    build.weigh(first, "512.5")
    wrong = build.weigh(second)
    services.undo_reading(wrong, by=maker, at=make.NOON, reason="wrong drum", token=new_token())
    build.weigh(second)

    response = client.get(page("batch", batch))

    planned = f"planned 500.0{NARROW}g"
    assertContains(response, f"Outside its tolerance: 512.5{NARROW}g of {first.item}, {planned}")
    assertContains(
        response,
        f"A weighing of 500.0{NARROW}g, lot {wrong.posting.lot}, taken back: wrong drum",
    )


def test_batch_page_of_a_smooth_batch_has_no_deviation(client: Client, maker: User) -> None:
    response = client.get(page("batch", build.poured()))

    assertContains(response, '<h2>Deviations</h2><p class="empty">None.</p>', html=True)


def test_batch_page_takes_the_same_queries_for_any_number_of_weighings(
    client: Client, maker: User
) -> None:
    batch = build.batch()
    line = batch.lines.all()[0]
    build.weigh(line, "1")
    one = queries_of(client, page("batch", batch))
    for _ in range(4):
        build.weigh(line, "1")

    assert queries_of(client, page("batch", batch)) == one


def test_batch_that_does_not_exist_is_not_found(client: Client, owner: User) -> None:
    assert client.get(reverse("kettle:batch", args=["K-9999-01"])).status_code == 404


def test_check_outside_its_limits_asks_for_a_note_and_keeps_the_reading(
    client: Client, maker: User
) -> None:
    step = {"text": "Melt", "from_c": Decimal(68), "to_c": Decimal(75)}
    batch = build.batch(build.version(steps=[step]))
    data = {"step": batch.version.steps.get().pk, "kind": "temperature", "temperature_c": "80,5"}

    response = client.post(page("check", batch), data | {"token": new_token()})

    assertContains(response, "say in the note what was done about it.")
    assertContains(response, 'value="80,5"')
    assert not batch.checks.exists()


def test_check_is_recorded_and_said(client: Client, maker: User) -> None:
    batch = build.batch()
    data = {"kind": CheckKind.SPOON, "note": "sets firm", "token": new_token()}

    response = client.post(page("check", batch), data, follow=True)

    assert batch.checks.get().by == maker
    assertContains(response, "Recorded: spoon test")


@pytest.mark.parametrize(
    "typed",
    [{"kind": "magic"}, {"kind": "temperature"}, {"kind": "time", "minutes": "soon"}, {}],
)
def test_bad_check_is_explained(client: Client, maker: User, typed: dict[str, str]) -> None:
    batch = build.batch()

    response = client.post(page("check", batch), typed | {"token": new_token()})

    assertContains(response, "invalid-feedback")
    assert not batch.checks.exists()


def pour_data(*parts: tuple[Any, str], **values: str) -> dict[str, Any]:
    data: dict[str, Any] = {"part-TOTAL_FORMS": 3, "part-INITIAL_FORMS": 0, "token": new_token()}
    for place, (item, grams) in enumerate(parts):
        data |= {f"part-{place}-item": item, f"part-{place}-measured_g": grams}
    return data | values


def test_pour_says_lot_and_what_is_unexplained(client: Client, maker: User) -> None:
    batch = build.filled()

    response = client.post(page("pour", batch), pour_data(("", "965 g")), follow=True)

    lot = batch.operation.lots.get()
    assertContains(response, f"965.0{NARROW}g poured as lot {lot}, in quarantine.")
    assertContains(response, f"Unexplained: 35.0{NARROW}g, 3.5 %.")


@pytest.mark.parametrize(
    ("grams", "sentence"),
    [
        ("1001", "cannot come out of"),
        ("much", "much"),
        ("", "Weigh what was poured; the yield is above zero."),
    ],
)
def test_pour_explains_an_odd_yield(client: Client, maker: User, grams: str, sentence: str) -> None:
    batch = build.filled()

    response = client.post(page("pour", batch), pour_data(("", grams)))

    assertContains(response, sentence)
    assert not batch.operation.lots.exists()


def test_pour_with_a_broken_set_of_vessels_is_explained(client: Client, maker: User) -> None:
    batch = build.filled()

    response = client.post(page("pour", batch), {"token": new_token(), "part-TOTAL_FORMS": "x"})

    assert response.status_code == 200
    assert not batch.operation.lots.exists()


def test_yield_is_mended_with_a_reason(client: Client, maker: User) -> None:
    batch = build.poured(grams="790")
    posting = batch.operation.postings.get(side="out")
    data = {"measured_g": "970", "reason": "digits swapped", "token": new_token()}

    response = client.post(page("yield", batch, posting.pk), data, follow=True)

    assertContains(response, f"now has a yield of 970.0{NARROW}g")


def test_release_asks_for_the_password_again(client: Client, owner: User) -> None:
    batch = build.poured()

    response = client.post(page("release", batch), {"password": "wrong"})

    assertContains(response, "That is not your password. Nothing was done.")
    assert batch.operation.lots.get().status == Status.QUARANTINE


@pytest.mark.parametrize("act", ["release", "amend"])
def test_guessing_the_password_of_a_signature_is_stopped(
    client: Client, owner: User, act: str
) -> None:
    batch = build.poured()
    if act == "amend":
        services.close_batch(batch, by=owner, at=make.NOON)

    for _ in range(5):
        client.post(page(act, batch), {"password": "wrong", "reason": "wrong lot noted"})
    right = {"password": "a long password", "reason": "wrong lot noted"}
    response = client.post(page(act, batch), right)

    assertContains(response, "There were too many wrong passwords from this device.")
    assertContains(response, "wrong lot noted" if act == "amend" else "Release the bulk of")
    assert batch.operation.lots.get().status == Status.QUARANTINE
    assert not batch.operation.amendments.exists()


def test_release_with_the_password_releases(client: Client, owner: User) -> None:
    batch = build.poured()

    response = client.post(page("release", batch), {"password": "a long password"}, follow=True)

    lot = batch.operation.lots.get()
    assert lot.status == Status.RELEASED
    assertContains(response, f"Released: lot {lot}.")


@pytest.mark.parametrize(("act", "status"), [("hold", Status.ON_HOLD), ("reject", Status.REJECTED)])
def test_owner_decides_with_a_reason(client: Client, owner: User, act: str, status: Status) -> None:
    batch = build.poured()

    client.post(page(act, batch), {"reason": "grainy"})

    assert batch.operation.lots.get().status == status


def test_owner_closes_and_opens_again(client: Client, owner: User) -> None:
    batch = build.poured()

    closed = client.post(page("close", batch), follow=True)
    client.post(page("amend", batch), {"reason": "wrong lot noted", "password": "a long password"})

    assertContains(closed, f"{batch} is closed; seal")
    batch.refresh_from_db()
    assert batch.state == BatchState.POURED


def test_close_before_the_pour_is_explained(client: Client, owner: User) -> None:
    response = client.post(page("close", build.filled()), follow=True)

    assertContains(response, "pour it before it is closed.")


def test_maker_stops_a_batch(client: Client, maker: User) -> None:
    batch = build.filled()

    response = client.post(page("abandon", batch), {"reason": "burnt"}, follow=True)

    assertContains(response, "Nothing was poured")
    batch.refresh_from_db()
    assert batch.state == BatchState.ABANDONED


def test_maker_may_not_release(client: Client, maker: User) -> None:
    assert client.get(page("release", build.poured())).status_code == 403


def test_record_on_paper_names_lots_people_corrections_yield_and_seal(
    client: Client, owner: User, tmp_path: Any
) -> None:
    batch = build.filled()
    weighing = batch.lines.all()[0].weighings.get()
    services.undo_reading(weighing, by=owner, at=make.NOON, reason="wrong drum", token=new_token())
    line = batch.lines.all()[0]
    again = build.weigh(line, lot=make.lot(line.item, best_before=make.day(157)))
    build.pour(batch, "970")
    build.release(batch, by=owner)
    services.close_batch(batch, by=owner, at=make.NOON)

    path = tmp_path / "record.pdf"
    path.write_bytes(client.get(page("paper", batch)).content)

    pages = [sheet.extract_text() for sheet in PdfReader(path).pages]
    text = " ".join(" ".join(pages).split())
    seal = batch.operation.seals.get()
    for words in (
        str(weighing.posting.lot),
        str(again.posting.lot),
        "Taken back",
        "wrong drum",
        "970.0",
        "30.0",
        "released",
        f"Seal {seal.number}",
    ):
        assert words in text
    assert Head(seal.number, seal.digest).code in text.replace(" ", "")
    for number, sheet in enumerate(pages, start=1):
        assert f"Batch {batch}" in sheet
        assert f"page {number} of {len(pages)}" in sheet


@pytest.mark.parametrize("odd", ["abc", "9" * 30, "-1", "' OR 1=1 --", "𝟞", "a" * 500])
def test_odd_addresses_are_answered_in_plain_pages(client: Client, owner: User, odd: str) -> None:
    batch = build.filled()

    for address in (
        reverse("kettle:home") + f"?q={odd}&page={odd}",
        reverse("kettle:plan") + f"?version={odd}&units={odd}",
        page("weigh", batch) + f"?line={odd}&lot={odd}",
        page("check", batch) + f"?step={odd}&kind={odd}",
        page("add", batch) + f"?lot={odd}",
    ):
        assert client.get(address).status_code == 200


@pytest.mark.parametrize("name", ["check", "add", "pour", "release", "hold", "abandon", "weigh"])
def test_form_sent_empty_comes_back_with_its_sentences(
    client: Client, owner: User, name: str
) -> None:
    batch = build.filled()

    response = client.post(page(name, batch), {})

    assert response.status_code == 200
    batch.refresh_from_db()
    assert batch.state == BatchState.UNDER_WAY


@pytest.mark.parametrize("name", ["yield", "undo"])
def test_entry_that_does_not_exist_is_not_found(client: Client, owner: User, name: str) -> None:
    assert client.get(page(name, build.batch(), 2**62)).status_code == 404
