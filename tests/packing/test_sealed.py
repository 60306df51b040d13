"""The seal of a packing run covers its weights; what changes afterwards is an owner's, or found."""

import json
from decimal import Decimal
from io import StringIO
from typing import Any

import pytest
from django.core.management import CommandError, call_command
from django.db import IntegrityError, connection, transaction
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from tests import make
from tests.packing import build
from workshop.audit.all_checks import prove
from workshop.core.errors import ActionRefused
from workshop.core.models import Role
from workshop.ledger.models import Amendment, Lot, Operation, Seal
from workshop.ledger.proof.seals import check_seals
from workshop.packing import services
from workshop.packing.models import FillSample, PackingRun, Reading
from workshop.packing.services import fill_weights, retained_samples

pytestmark = pytest.mark.django_db


def sealed(run: PackingRun) -> dict[str, Any]:
    """What the last seal of a run says."""
    seal = Seal.objects.filter(operation=run.operation_id).order_by("number").last()
    assert seal is not None
    found: dict[str, Any] = json.loads(seal.record)
    return found


def rows(run: PackingRun, table: str = "packing_fillsample") -> list[dict[str, Any]]:
    return make.sealed_rows(run.operation, table)


def finished(weights: str = "60.2 60.4", **values: Any) -> PackingRun:
    """A run that was weighed, and finished."""
    run = build.run(build.product(), 40)
    build.weighed(run, "14 14.2", Reading.EMPTY)
    build.weighed(run, weights)
    bulk, tins = make.lot(run.product.bulk, on_hand=5000), make.lot(run.product.container)
    services.finish(
        run,
        units=40,
        bulk=[(bulk, Decimal(2400) + (values.get("spill_g") or 0))],
        containers=[(tins, 40)],
        made_on=make.DAY,
        by=make.user(),
        at=make.NOON,
        **values,
    )
    run.refresh_from_db()
    return run


def findings() -> list[str]:
    return [problem for finding in prove() for problem in finding.problems]


def past_the_guards(sql: str) -> None:
    """Change the database as somebody would who first takes its guards away."""
    table = "packing_fillsample"
    with connection.cursor() as cursor:
        for event in ("update", "delete"):
            name = f"{table}_no_{event}"
            if connection.vendor == "sqlite":
                cursor.execute(f"DROP TRIGGER {name}")
            else:
                cursor.execute(f"DROP FUNCTION {name}() CASCADE")
        cursor.execute(sql)


def test_seal_covers_every_weight_what_was_lost_and_what_was_kept() -> None:
    run = finished(spill_g=Decimal(5), spill_why="knocked over", retained=2, retained_at="box 1")

    kept = sealed(run)["log"]["packing_retained"]["rows"]

    assert [(one["place"], one["kind"], one["grams"]) for one in rows(run)] == [
        (1, "empty", 14000),
        (2, "empty", 14200),
        (3, "net", 60200),
        (4, "net", 60400),
    ]
    assert [one["kind"] for one in rows(run, "ledger_shed")] == ["spilled"]
    assert len(kept) == 1
    assert {2000, "box 1"} <= set(kept[0])
    assert findings() == []


def test_packer_adds_no_weight_to_a_closed_run() -> None:
    run = finished()

    with pytest.raises(ActionRefused, match="is closed and sealed: an owner may still enter"):
        build.weighed(run, "60.3", by=make.user(Role.PACKER))
    with pytest.raises(ActionRefused, match="an owner may still enter or correct weights"):
        fill_weights.correct(
            run.samples.get(place=3),
            None,
            by=make.user(Role.PACKER),
            at=make.NOON,
            token="c",
            reason="twice",
        )
    assert (run.samples.count(), Amendment.objects.count()) == (4, 0)


def test_owner_adds_weights_with_a_reason_and_the_run_is_sealed_anew() -> None:
    run, owner = finished(), make.user()

    with pytest.raises(ActionRefused, match="say why its record is opened again") as refused:
        build.weighed(run, "60.3", by=owner, reason=" ")
    assert (refused.value.field, run.samples.count()) == ("reason", 4)
    build.weighed(run, "60.3 60.5", by=owner, reason="the sheet was found")

    operation = Operation.objects.get(pk=run.operation_id)
    assert operation.is_closed
    assert [one.reason for one in operation.amendments.all()] == ["the sheet was found"]
    assert operation.seals.count() == 2
    assert [one["grams"] for one in rows(run)][-2:] == [60300, 60500]
    assert findings() == []


def test_owner_corrects_a_sealed_weight_and_both_figures_are_sealed() -> None:
    run = finished()
    sample = run.samples.get(place=4)

    fill_weights.correct(
        sample, Decimal("60.1"), by=make.user(), at=make.NOON, token="c", reason="misread"
    )

    first, second = (one for one in rows(run) if one["place"] == 4)
    assert (first["grams"], second["grams"]) == (60400, 60100)
    assert (second["corrects_id"], second["reason"]) == (sample.pk, "misread")
    assert findings() == []


def test_correction_sent_twice_is_written_once() -> None:
    run = build.run()
    (sample,) = build.weighed(run, "60.1")
    by = make.user()
    values: dict[str, Any] = {"at": make.NOON, "token": "c", "reason": "misread"}

    first = fill_weights.correct(sample, Decimal(60), by=by, **values)
    again = fill_weights.correct(first, Decimal(60), by=by, **values)

    assert (first, run.samples.count()) == (again, 2)
    with pytest.raises(ActionRefused, match="already sent with other figures"):
        fill_weights.correct(build.weighed(run, "60.1")[0], Decimal(60), by=by, **values)


def test_database_takes_no_weight_into_a_closed_run() -> None:
    run = finished()

    with (
        pytest.raises(IntegrityError, match="closed and sealed; no weight can be added"),
        transaction.atomic(),
    ):
        FillSample.objects.create(
            run=run, place=9, kind="net", grams=60, at=make.NOON, by=make.user(), token="raw"
        )


@pytest.mark.parametrize(
    "sql",
    [
        "UPDATE packing_fillsample SET grams = grams + 500 WHERE place = 3",
        "DELETE FROM packing_fillsample WHERE place = 4",
        "UPDATE packing_fillsample SET kind = 'empty' WHERE place = 3",
    ],
)
def test_weight_changed_behind_the_book_is_found_by_the_proof(sql: str) -> None:
    run = finished()
    assert findings() == []

    past_the_guards(sql)

    (seal,) = run.operation.seals.all()
    assert f"Seal {seal.number} of {run}: fill sample of {run}" in " ".join(findings())
    assert sum("is missing: Rows of packing_fillsample" in told for told in findings()) == 2
    with pytest.raises(CommandError, match="finding"):
        call_command("check_ledger", stdout=StringIO())


def test_proof_page_names_the_run_whose_weight_was_changed(signed_in: Any) -> None:
    run = finished()
    past_the_guards("UPDATE packing_fillsample SET grams = 1 WHERE place = 3")

    page = signed_in().post(reverse("audit:prove")).content.decode()

    assert f"of {run}: fill sample of {run} 3 is no longer as sealed: grams." in page


def test_weight_of_an_earlier_seal_is_looked_at_too() -> None:
    run = finished()
    build.weighed(run, "60.3", reason="one more")
    past_the_guards("UPDATE packing_fillsample SET grams = 61000 WHERE place = 3")

    assert len(check_seals().problems) == 2


def test_sample_kept_back_later_leaves_the_seal_whole() -> None:
    run = finished(retained=1, retained_at="box 1")
    lot = run.operation.lots.get()

    retained_samples.retain(
        lot, Decimal(2), place="box 2", by=make.user(), at=make.NOON, token="later"
    )

    assert findings() == []


def test_run_taken_back_and_run_stopped_are_sealed_with_their_weights() -> None:
    run, stopped = finished(), build.run()
    build.weighed(stopped, "60.4")
    services.void_run(run, by=make.user(), at=make.NOON, reason="wrong tins")
    services.stop(stopped, by=make.user(), at=make.NOON, reason="wrong tins")

    assert (sealed(run)["details"]["taken_back"], len(rows(run))) == ("wrong tins", 4)
    assert (sealed(stopped)["details"]["stopped"], len(rows(stopped))) == ("wrong tins", 1)
    assert findings() == []


def test_checking_asks_as_often_for_one_run_as_for_many(django_assert_num_queries: Any) -> None:
    finished()
    with CaptureQueriesContext(connection) as one:
        check_seals()
    for _ in range(3):
        finished()
    with django_assert_num_queries(len(one)):
        check_seals()


# ---- The page ------------------------------------------------------------------------------------


def page_of(client: Client, run: PackingRun) -> str:
    return client.get(reverse("packing:run", args=[run.operation.reference])).content.decode()


def test_page_of_a_closed_run_sends_a_packer_to_an_owner(signed_in: Any) -> None:
    run, packer = finished(), signed_in(Role.PACKER)
    address = reverse("packing:weigh", args=[run.operation.reference])
    typed = {"token": "t", "kind": "net", "weights": "60.3"}

    answer = packer.post(address, typed)

    assert "An owner may still enter more of them here, with a reason." in page_of(packer, run)
    assert "Note the weights" not in page_of(packer, run)
    assert "is closed and sealed: an owner may still enter" in answer.content.decode()
    assert 'value="60.3"' in answer.content.decode()
    assert run.samples.count() == 4


def test_page_of_a_closed_run_asks_an_owner_why(signed_in: Any) -> None:
    run, owner = finished(), signed_in(Role.OWNER)
    address = reverse("packing:weigh", args=[run.operation.reference])
    typed = {"token": "t", "kind": "net", "weights": "60.3"}

    asked = owner.post(address, typed)
    done = owner.post(address, typed | {"reason": "one more pack"}, follow=True)

    assert asked.context["weights"].errors == {"reason": ["This field is required."]}
    assert "1 weighed (contents alone): 60.3\u202fg." in done.content.decode()
    assert "Opened and sealed again" in done.content.decode()
    assert "one more pack" in done.content.decode()


def test_weights_on_paper_are_told_and_sealed_with_what_was_packed_already(signed_in: Any) -> None:
    product, packer = build.product(), signed_in(Role.PACKER)
    bulk, tins = make.lot(product.bulk, on_hand=5000), make.lot(product.container)
    typed = {
        "token": "t",
        "units": "40",
        "spoiled": "0",
        "made_on": make.iso(),
        f"lot_{bulk.pk}": "2400",
        f"lot_{tins.pk}": "40",
        "kind": "net",
    }
    address = reverse("packing:pack", args=[product.item.code])

    odd = packer.post(address, typed | {"weights": "60.2 six"})
    packer.post(address, typed | {"weights": "60.2 60,4"})
    packer.post(address, typed | {"weights": "60.2 60,4"})

    assert "“six” is not a number." in odd.content.decode()
    assert 'value="60.2 six"' in odd.content.decode()
    run = PackingRun.objects.get()
    assert [one["grams"] for one in rows(run)] == [60200, 60400]
    assert Lot.objects.filter(origin=run.operation).count() == 1


def test_finish_page_says_how_many_packs_are_still_to_weigh(signed_in: Any) -> None:
    run = build.run()
    build.weighed(run, "60.2 60.4")

    page = (
        signed_in(Role.PACKER)
        .get(reverse("packing:finish", args=[run.operation.reference]))
        .content.decode()
    )

    assert "10 more packs to weigh by the sampling plan." in page
