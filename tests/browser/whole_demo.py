"""What the whole demonstration holds: its volumes, what went wrong, what waits today."""

import json
import os
from collections import Counter
from collections.abc import Mapping
from datetime import date, time, timedelta
from decimal import Decimal
from pathlib import Path
from random import Random

import jsonschema
from django.utils import timezone

from workshop.dispatch.models import Dispatch, Return
from workshop.front.reads import HORIZON
from workshop.goods_in.models import Certificate, ReceiptLine
from workshop.kettle.models import Batch, BatchState, Weighing
from workshop.labels.balance import balance_of
from workshop.labels.models import PrintKind
from workshop.labels.review import unlabelled, untrue_of
from workshop.ledger.checks import run_checks
from workshop.ledger.models import Act, Item, Kind, Lot, Operation, Posting, Status
from workshop.ledger.tree import Link, links_back
from workshop.packing.models import PackingRun
from workshop.rules.commonality import commonality
from workshop.trace import epcis
from workshop.trace.affected import reach_of
from workshop.trace.epcis_check import faults_of
from workshop.trace.happenings import happenings
from workshop.trace.models import Complaint, Nature, Recall, State
from workshop.trace.reads import trace
from workshop.trace.sharing import inputs_compared, what_they_share

SCHEMA = os.environ.get("TAREBOOK_EPCIS_SCHEMA", "")
A_YEAR = timedelta(days=365)


def whole_demo_has_its_volumes_and_all_that_goes_wrong(
    notes: Mapping[str, str], until: date
) -> None:
    """The book that was filled up to `until`, and what its story noted of itself."""
    assert [str(finding.problems) for finding in run_checks() if not finding.is_sound] == []
    volumes_are_about_right()
    nobody_worked_at_night(until)
    what_went_wrong_can_be_found(notes, until)
    there_is_something_to_do_today(until)


def volumes_are_about_right() -> None:
    bought_items = Item.objects.filter(kind__in=[Kind.MATERIAL, Kind.PACKAGING])
    assert bought_items.count() == 60
    assert 270 <= ReceiptLine.objects.count() <= 330
    assert 380 <= Batch.objects.count() <= 420
    assert 540 <= PackingRun.objects.count() <= 660
    assert 1400 <= Dispatch.objects.count() <= 1600


def nobody_worked_at_night(until: date) -> None:
    moments = [timezone.localtime(at) for at in Posting.objects.values_list("at", flat=True)]
    assert all(time(7) <= at.time() < time(17) for at in moments)
    # The last day is worked whatever it is.
    assert all(at.weekday() < 5 for at in moments if at.date() < until)
    assert max(moments).date() == until


def what_went_wrong_can_be_found(notes: Mapping[str, str], until: date) -> None:
    assert set(notes) == {
        "certificate gap",
        "lapsed certificate",
        "rejected receipt",
        "raw lot on hold",
        "two drums",
        "correction",
        "over-pour",
        "substitution",
        "remelt",
        "stopped batch",
        "amended record",
        "second version",
        "draft version",
        "low fill",
        "labels approved",
        "other butter",
        "untrue label",
        "return",
        "second return",
        "third return",
        "grainy salve",
        "cracked lid",
        "faint smell",
        "rubbed label",
        "complaint",
        "second complaint",
        "third complaint",
        "fourth complaint",
        "serious complaint",
        "other salve",
        "recall",
        "drill",
        "second drill",
        "below zero",
        "under way",
    }
    assert Lot.objects.filter(status=Status.REJECTED).count() == 1
    assert Batch.objects.filter(state=BatchState.ABANDONED).count() == 1
    assert Weighing.objects.filter(note__startswith="Rebalanced").count() >= 5
    assert [lot.item.code for lot in Lot.objects.below_zero().select_related("item")] == ["EO-EUC"]
    assert Certificate.objects.filter(valid_to__lt=until, number="EXAMPLE-EG-1191-B").exists()
    every_label_is_accounted_for_and_one_lot_waits_for_its_own(until)
    complaints_share_one_oil(notes, until)
    complaints_drawn_by_chance_point_at_nothing(until)
    recall_is_closed_with_every_unit_accounted_for()
    second_drill_is_quicker_and_finds_all()
    whole_trace_is_sound_as_events()


def every_label_is_accounted_for_and_one_lot_waits_for_its_own(until: date) -> None:
    labelled = Lot.objects.filter(prints__kind=PrintKind.LABEL).distinct()
    assert len(labelled) >= 30
    assert [lot for lot in labelled if not balance_of(lot).is_sound] == []
    waiting = {standing.label.lot.item.code for standing in untrue_of(unlabelled(on=until))}
    assert waiting == {"MIN-60"}


def complaints_share_one_oil(notes: Mapping[str, str], until: date) -> None:
    """Five of red skin; held against all batches, the lot of oil behind them stands out first."""
    returns = Return.objects.filter(reason__startswith="Complaint")
    assert len({one.dispatch.customer_id for one in returns.select_related("dispatch")}) == 2
    serious = Complaint.objects.serious().get()
    assert serious.report_due_on > until
    sharing = what_they_share(
        Complaint.objects.filter(nature=Nature.SKIN),
        first=until - A_YEAR,
        last=until,
        act=Act.BATCH,
    )
    first, second = sharing.shared[:2]
    assert f"lot {first.lot} of {first.lot.item}" in notes["serious complaint"]
    assert (first.suspect.stands_out, first.suspect.complained_with) == (True, 5)
    assert first.suspect.chance < second.suspect.chance


def complaints_drawn_by_chance_point_at_nothing(until: date) -> None:
    """Of 200 draws of up to 8 complained batches or runs, at most 5 in 100 raise a flag."""
    draw = Random(7)
    for act in (Act.BATCH, Act.PACKING):
        lots_of = inputs_compared(until - A_YEAR, until, act)
        drawn = [draw.sample(sorted(lots_of), 1 + turn % 8) for turn in range(200)]
        found = [commonality(lots_of, complained) for complained in drawn]
        assert sum(any(one.stands_out for one in suspects) for suspects in found) <= 10


def recall_is_closed_with_every_unit_accounted_for() -> None:
    recall = Recall.objects.get(is_drill=False)
    reach = reach_of(recall)
    assert recall.is_closed
    assert (recall.gaps, reach.percent, reach.missing) == ("", Decimal(100), Decimal(0))
    assert 3 <= len(reach.buyers) == reach.told == reach.answered
    assert {line.lot.status for line in reach.in_house} <= {Status.ON_HOLD}
    assert recall.complaint is not None
    assert recall.complaint.state == State.CLOSED


def second_drill_is_quicker_and_finds_all() -> None:
    first, second = Recall.objects.filter(is_drill=True).order_by("pk")
    assert first.took is not None
    assert second.took is not None
    assert second.took < first.took
    assert [int(reach_of(drill).missing) for drill in (first, second)] == [2, 0]


def whole_trace_is_sound_as_events() -> None:
    """The lot that the most lots are made of: every event of its trace, both ways."""
    oil = Lot.objects.get(pk=Counter(link.source_id for link in _all_links()).most_common(1)[0][0])
    told = happenings(trace(oil))
    at = timezone.now()
    text = epcis.document(told, base="https://book.example", at=at)
    assert faults_of(json.loads(text, parse_float=Decimal, parse_int=Decimal)) == []
    assert len(told) > 100
    if SCHEMA and Path(SCHEMA).exists():
        judge = jsonschema.Draft7Validator(json.loads(Path(SCHEMA).read_text("utf-8")))
        assert [error.message for error in judge.iter_errors(json.loads(text))] == []


def _all_links() -> list[Link]:
    packed = Lot.objects.filter(item__kind=Kind.PRODUCT).order_by("-pk")[:200]
    return links_back([lot.pk for lot in packed])


def there_is_something_to_do_today(until: date) -> None:
    waiting = Lot.objects.in_stock().filter(status=Status.QUARANTINE)
    assert 8 <= waiting.count() <= 25
    soon = Lot.objects.in_stock().filter(best_before__range=(until, until + HORIZON))
    assert soon.count() >= 3
    assert Certificate.objects.filter(valid_to__range=(until, until + HORIZON)).count() == 2
    assert Batch.objects.filter(state=BatchState.UNDER_WAY).count() == 1
    assert Operation.objects.filter(kind=Act.RECEIPT, opened_at__date=until).exists()
