"""Pages of a packing run: begun, weighed, finished, judged and printed."""

from decimal import Decimal
from io import BytesIO
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from pypdf import PdfReader

from tests import make
from tests.packing import build
from tests.packing.test_pages import filled_in, owner, packer, text
from workshop.core.models import Role
from workshop.ledger import services as ledger
from workshop.ledger.models import Lot, Status
from workshop.packing.models import PackingRun, Product

__all__ = ["owner", "packer"]
pytestmark = pytest.mark.django_db


def started(client: Client, product: Product, units: int = 12) -> PackingRun:
    address = reverse("packing:start", args=[product.item.code])
    client.post(address, {"token": "start-1", "units": str(units), "note": "first pour"})
    return PackingRun.objects.get(product=product)


def page_of(client: Client, run: PackingRun) -> str:
    return text(client.get(reverse("packing:run", args=[run.operation.reference])))


def weigh(client: Client, run: PackingRun, weights: str, **values: str) -> Any:
    typed = {"token": "w-1", "kind": "net", "weights": weights, "confirmed": "", **values}
    return client.post(reverse("packing:weigh", args=[run.operation.reference]), typed, follow=True)


def test_run_is_begun_weighed_and_finished_by_its_pages(packer: Client) -> None:
    product = build.product()
    bulk, tins = make.lot(product.bulk, on_hand=2500), make.lot(product.container, on_hand=100)

    run = started(packer, product)
    begun = page_of(packer, run)
    weighed = text(weigh(packer, run, "60.4 60,2 60.3 60.5 60.2 60.4;60.1 60.3 60.2 60.1 60.6"))
    address = reverse("packing:finish", args=[run.operation.reference])
    form = packer.get(address).context["form"]
    taken = form[f"lot_{bulk.pk}"].value()
    typed = filled_in(product, bulk, tins, units="12") | {
        f"lot_{bulk.pk}": "",
        f"left_{bulk.pk}": "1760",
        f"lot_{tins.pk}": "13",
        "spoiled": "1",
        "spill_g": "15",
        "spill_why": "jug tipped",
        "retained": "1",
        "retained_at": "cupboard 2",
    }
    done = text(packer.post(address, typed, follow=True))

    assert f"{run}</span> is under way: 12 units of Hand salve 60 g" in begun
    assert "12 more packs to weigh." in begun
    assert "11 weighed (contents alone): 60.4 g, 60.2 g," in weighed
    assert "1 more pack to weigh." in weighed
    assert taken == "720"
    assert ledger.on_hand(bulk) == 1760
    assert "Giveaway, and what clung to the pot" in done
    assert "Spilled: jug tipped" in done
    assert "Loss 20.0 g, 2.7 % of what was taken; giveaway 0.42 g in each tin." in done
    assert "1 as samples, not for sale" in done
    assert "11 of the 12 packs that the sampling plan asks for are weighed." in done


def test_begin_sent_twice_begins_one_run(packer: Client) -> None:
    product = build.product()

    first = started(packer, product)

    assert started(packer, product) == first
    assert (first.planned_units, first.note) == (12, "first pour")


@pytest.mark.parametrize(
    ("units", "sentence"),
    [
        ("", "This field is required."),
        ("many", "Enter a whole number."),
        ("0", "Ensure this value is greater than or equal to 1."),
        ("9" * 30, "Ensure this value is less than or equal to 100000."),
    ],
)
def test_run_of_an_odd_number_is_not_begun(packer: Client, units: str, sentence: str) -> None:
    product = build.product()
    address = reverse("packing:start", args=[product.item.code])

    page = packer.post(address, {"token": "t", "units": units, "note": "first pour"})

    assert sentence in text(page)
    assert 'value="first pour"' in text(page)
    assert not PackingRun.objects.exists()


@pytest.mark.parametrize(
    ("typed", "field", "sentence"),
    [
        ({"weights": ""}, "weights", "This field is required."),
        ({"weights": "sixty"}, "weights", "“sixty” is not a number. Put spaces between"),
        ({"weights": "60.2, 60.4"}, "weights", "keep only the decimal mark. Put spaces between"),
        ({"weights": "-60"}, "weights", "A weight is above zero."),
        ({"weights": "60.1234"}, "weights", "Give at most 3 decimal places."),
        ({"weights": "1e99"}, "weights", "is not a number that can be kept."),
        ({"weights": "60 " * 61}, "weights", "Enter at most 60 weights at once."),
        ({"weights": "6.02"}, "confirmed", "6.02 g is far from a fill of 60.0 g"),
        ({"kind": "guess"}, "kind", "Select a valid choice."),
        ({"scale": "999"}, "scale", "Select a valid choice."),
    ],
)
def test_odd_weight_is_refused_beside_its_field_and_stays_typed(
    packer: Client, typed: dict[str, str], field: str, sentence: str
) -> None:
    run = started(packer, build.product())

    page = weigh(packer, run, **{"weights": "60.2", **typed})

    form = page.context["weights"]
    assert list(form.errors) == [field]
    assert sentence in form.errors[field][0].replace("\u202f", " ")
    assert form["weights"].value() == typed.get("weights", "60.2")
    assert not run.samples.exists()


def test_unusual_weight_is_kept_once_it_is_ticked(packer: Client) -> None:
    run = started(packer, build.product())

    weigh(packer, run, "6.02", confirmed="on")

    assert run.samples.get().grams == Decimal("6.02")


def test_weight_is_corrected_and_struck_out_by_the_page(packer: Client) -> None:
    run = started(packer, build.product())
    weigh(packer, run, "60.2 60.4")
    first, second = (
        reverse("packing:correct", args=[run.operation.reference, place]) for place in (1, 2)
    )

    asked = packer.post(first, {"token": "c", "grams": "60.3", "reason": ""})
    said = packer.post(first, {"token": "c", "grams": "60,3", "reason": "misread"}, follow=True)
    struck = packer.post(second, {"token": "d", "grams": "", "reason": "twice"}, follow=True)

    assert asked.context["form"].errors == {"reason": ["This field is required."]}
    assert 'value="60.3"' in text(asked)
    assert "Weight 1 was 60.2 g and is now 60.3 g." in text(said)
    assert "Weight 2 was 60.4 g and is now struck out." in text(struck)
    again = packer.post(second, {"token": "d", "grams": "", "reason": "twice"}, follow=True)
    assert "There is no weight 2 that could be corrected." in text(again)


def test_more_left_in_the_pot_than_the_book_knows_is_refused(packer: Client) -> None:
    product = build.product()
    bulk, tins = make.lot(product.bulk, on_hand=2500), make.lot(product.container, on_hand=100)
    run = started(packer, product)
    typed = filled_in(product, bulk, tins) | {f"left_{bulk.pk}": "2600"}

    page = packer.post(reverse("packing:finish", args=[run.operation.reference]), typed)

    assert "The book knows of 2 500.0 g in this lot. Enter what was taken" in text(page)
    assert run.is_under_way


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"spill_g": "5"}, "Say what happened to it."),
        ({"spill_g": "a little"}, "“a little” is not a number."),
        ({"sample_g": "-1"}, "It must be at least 0."),
        ({"retained": "2"}, "Say where the samples are kept."),
        ({"retained": "99", "retained_at": "x"}, "Keep back from none to all of the units."),
    ],
)
def test_losses_and_samples_half_told_keep_the_form_open(
    packer: Client, typed: dict[str, str], sentence: str
) -> None:
    product = build.product()
    bulk, tins = make.lot(product.bulk, on_hand=2500), make.lot(product.container, on_hand=100)
    run = started(packer, product)
    address = reverse("packing:finish", args=[run.operation.reference])

    page = packer.post(address, filled_in(product, bulk, tins) | typed)

    assert page.status_code == 200
    assert sentence in text(page)
    assert page.context["form"].tells_more
    assert run.is_under_way


def test_run_is_stopped_by_its_page_and_finished_no_more(packer: Client) -> None:
    run = started(packer, build.product())
    stop, finish = (
        reverse(f"packing:{name}", args=[run.operation.reference]) for name in ("stop", "finish")
    )

    said = packer.post(stop, {"reason": "wrong tins"}, follow=True)

    assert f"{run} is stopped; nothing was taken." in text(said)
    assert "nothing put out" in text(said)
    assert "Stopped: wrong tins" in text(said)
    assert packer.get(finish).status_code == 302
    assert "is not under way" in text(packer.post(stop, {"reason": "again"}))


def test_what_is_left_of_the_bulk_begins_the_next_run_at_one_tap(packer: Client) -> None:
    product = build.product()
    small = build.product(bulk=product.bulk, fill_g=Decimal(15), name="Hand salve 15 g")
    lot = build.packed(product, bulk=make.lot(product.bulk, on_hand=2500))

    page = packer.get(reverse("packing:run", args=[lot.origin.reference]))
    packer.post(
        reverse("packing:start", args=[small.item.code]),
        {"token": page.context["token"], "units": "6"},
    )

    assert "Start 6 × Hand salve 15 g" in text(page)
    assert PackingRun.objects.get(product=small).planned_units == 6


def test_home_lists_what_can_be_packed_and_folds_the_leftovers(packer: Client) -> None:
    product = build.product()
    plenty = make.lot(product.bulk, on_hand=900)
    scraps = [make.lot(product.bulk, on_hand=grams) for grams in (30, 20)]
    run = started(packer, product)

    page = packer.get(reverse("packing:home"))

    assert list(page.context["list"].page) == [plenty]
    (left,) = page.context["too_little"]
    assert (left.lots, left.grams) == (scraps, 50)
    assert "1 bulk lot ready to pack" in text(page)
    assert "15 tins" in text(page)
    assert list(page.context["under_way"]) == [run]


def test_samples_are_kept_back_and_given_up_by_the_pages(packer: Client) -> None:
    lot = build.packed()
    keep, give = (reverse(f"packing:{name}", args=[lot.code]) for name in ("retain", "give-up"))

    kept = packer.post(keep, {"token": "k", "units": "3", "place": "cupboard 2"}, follow=True)
    odd = packer.post(keep, {"token": "l", "units": "2.5", "place": ""})
    many = packer.post(give, {"token": "m", "units": "4", "discarded": "yes", "reason": "old"})
    gone = packer.post(
        give, {"token": "n", "units": "1", "discarded": "yes", "reason": "opened"}, follow=True
    )

    assert f"Lot {lot}: 3 retained as samples; 37 are left for sale." in text(kept)
    assert odd.context["form"].errors == {
        "units": ["Give at most 0 decimal places."],
        "place": ["This field is required."],
    }
    assert many.context["form"].errors == {"units": [f"Only 3 of lot {lot} are retained."]}
    assert f"Lot {lot}: 1 no longer retained; 37 are left for sale." in text(gone)
    assert ledger.on_hand(lot) == 39


def test_failing_fill_stands_on_the_release_page(owner: Client) -> None:
    lot = build.packed()
    build.weighed(build.run_of(lot), build.errors(60, "-0.4 -0.3 -0.2 -0.6 -0.1 -0.5") + " 59 " * 6)

    run_page = text(owner.get(reverse("packing:run", args=[lot.origin.reference])))
    address = reverse("packing:release", args=[lot.code])
    asked = text(owner.get(address))
    empty = owner.post(address, {"reason": " "})
    long = owner.post(address, {"reason": "x" * 301})

    assert "Release the lot, with a reason" in run_page
    assert "short, which is more than chance explains." in asked
    assert empty.context["form"].errors == {"reason": ["This field is required."]}
    assert "at most 300 characters" in text(long)
    assert Lot.objects.get(pk=lot.pk).status == Status.QUARANTINE


def test_record_on_paper_tells_account_fill_and_every_weight(owner: Client) -> None:
    lot = build.packed()
    build.weighed(build.run_of(lot), "60.4 60.2 60.3 60.5 60.2 60.4 60.1 60.3 60.2 60.1 60.6 60.3")

    answer = owner.get(reverse("packing:paper", args=[lot.origin.reference]))

    pages = [page.extract_text() for page in PdfReader(BytesIO(answer.content)).pages]
    words = " ".join(" ".join(pages).replace("\u202f", " ").split())
    assert answer["Content-Type"] == "application/pdf"
    for told in (
        f"Packing record {lot.origin.reference}",
        str(lot),
        "Filled: 40 units as their labels say, 60.0 g",
        "NIST Handbook 133, category A (US)",
        "Directive 76/211/EEC (EU and UK)",
        "passes",
        "upper limit",
        "out of control",
        "contents alone, scale tared",
    ):
        assert told in words, told
    assert all(lot.origin.reference in page for page in pages)


def test_run_page_asks_as_often_for_two_weights_as_for_sixty(owner: Client) -> None:
    lot = build.packed(units=3300, bulk=None, confirmed=True)
    run, scale = build.run_of(lot), build.scale()
    address = reverse("packing:run", args=[lot.origin.reference])
    build.weighed(run, "60.1 60.2", scale=scale)
    owner.get(address)
    with CaptureQueriesContext(connection) as two:
        owner.get(address)
    build.weighed(run, "60.1 60.2 " * 29, scale=scale)
    with CaptureQueriesContext(connection) as sixty:
        owner.get(address)

    assert len(two) == len(sixty)


def test_inspector_reads_a_run_and_is_offered_no_act(client: Client) -> None:
    lot = build.packed(product := build.product())
    run = build.run(product)
    client.force_login(make.user(Role.INSPECTOR))

    pages = page_of(client, run) + page_of(client, build.run_of(lot))

    assert "Note the weights" not in pages
    assert "Finish the run" not in pages
    assert "Retain units" not in pages
