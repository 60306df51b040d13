"""The demonstration: an invented workshop whose history is acted out by the real services."""

import io
import json
import os
import re
import sqlite3
import subprocess
import sys
import tempfile
from collections import Counter
from contextlib import closing
from datetime import date, time
from decimal import Decimal
from itertools import islice
from pathlib import Path
from random import Random
from typing import Any

import jsonschema
import pytest
from django.core.management import CommandError, call_command
from django.db import connection, transaction
from django.db.models import Max, Q
from django.test import Client, TestCase
from django.urls import reverse
from django.utils import timezone

from tests import make
from tests.demo.oil_by_sql import oil_balance
from workshop.aftersales.complaints.common_causes import inputs_compared, what_they_share
from workshop.aftersales.models import Complaint, ComplaintState, Nature, Recall
from workshop.aftersales.recalls.scope import scope_of
from workshop.core.database.sealing import historical_models
from workshop.core.models import Role, User
from workshop.core.saving.new_tokens import new_token, tokens_drawn_by
from workshop.demo.story.clock import Clock, work_days
from workshop.demo.story.day_by_day import live_through, new_book
from workshop.demo.story.markets.abroad import TRAVELS
from workshop.demo.story.story_state import Book, Evenly, Turns
from workshop.demo.tables.materials import GERANIUM, ORANGE, bought
from workshop.demo.tables.people import CERTIFICATES, SUPPLIERS
from workshop.demo.tables.products import SOLD
from workshop.demo.tables.recipes import RECIPES, SOAP
from workshop.dispatch.models import Dispatch, Return
from workshop.formulas.advice import warnings
from workshop.formulas.models import Version
from workshop.goods_in.epcis.validation import faults_of
from workshop.goods_in.models import Certificate, ReceiptLine, Supplier
from workshop.kettle.models import Batch, BatchState, Weighing
from workshop.labels.approval.worklist import mismatched, unlabelled
from workshop.labels.content.inputs import inputs_of_formula
from workshop.labels.models import LabelVersion, Print, PrintKind
from workshop.labels.printing.reconciliation import balance_of
from workshop.ledger.lot_tree import Link, links_back
from workshop.ledger.models import (
    Item,
    ItemKind,
    Lot,
    Operation,
    OperationKind,
    Posting,
    Shed,
    ShedKind,
    Status,
)
from workshop.ledger.proof.checks import run_checks
from workshop.ledger.stock_queries import balances
from workshop.organic.balance.query import Period
from workshop.organic.balance.statement import statement, units
from workshop.packing.models import PackingRun
from workshop.rules.aftersales.commonality import commonality
from workshop.rules.codes.gs1 import check_gtin
from workshop.rules.ingredients.organic_share import organic_classification
from workshop.trace.exports import epcis
from workshop.trace.lot.events import events_of
from workshop.trace.lot.query import trace

UNTIL = date(2026, 11, 25)
SCHEMA = os.environ.get("TAREBOOK_EPCIS_SCHEMA", "")


def lived(*, months: int = 1, seed: int = 1) -> Book:
    book = new_book(seed=seed, until=UNTIL, months=months)
    for _ in live_through(book):
        pass
    return book


def told(**options: Any) -> str:
    said = io.StringIO()
    call_command("demo", months=1, until=UNTIL, stdout=said, **options)
    return said.getvalue()


def passwords(said: str) -> dict[str, str]:
    names = "odile|tamsin|bram|pia|inspector"
    return dict(re.findall(rf"^  ({names}) +(\S+)  ", said, re.MULTILINE))


TRAIL = """
SELECT o.reference, l.code, p.quantity, CAST(p.at AS text), u.username, p.token
FROM ledger_posting p JOIN ledger_operation o ON o.id = p.operation_id
JOIN ledger_lot l ON l.id = p.lot_id JOIN core_user u ON u.id = p.by_id ORDER BY p.id
"""
ELSEWHERE = """
import django
django.setup()
from datetime import date
from workshop.demo.story.day_by_day import live_through, new_book
for _ in live_through(new_book(seed=1, until=date.fromisoformat("{until}"), months=1)):
    pass
"""


def trail() -> list[tuple[Any, ...]]:
    """Everything that moved, without the keys that the database gave."""
    with connection.cursor() as cursor:
        cursor.execute(TRAIL)
        return list(cursor.fetchall())


# ---- What it is made of --------------------------------------------------------------------------


def test_work_days_are_weekdays_and_the_last_day_whatever_it_is() -> None:
    friday, sunday = date(2026, 1, 2), date(2026, 1, 4)

    assert list(work_days(date(2025, 12, 30), friday)) == [date(2025, 12, 30), friday]
    assert list(work_days(friday, sunday)) == [friday, sunday]


def test_clock_only_goes_forward_and_stops_before_closing() -> None:
    clock = Clock(UNTIL, Random(1))

    first = clock.after(1, 5)
    clock.reach(9)
    second = clock.after(0, 1)
    last = clock.after(2000, 2000)

    assert first < second < last
    assert [timezone.localtime(at).hour for at in (first, second, last)] == [7, 9, 16]


def test_evenly_spreads_without_losing_one() -> None:
    daily = Evenly(total=10, days=4)

    assert [daily.today() for _ in range(4)] == [2, 3, 2, 3]


def test_turns_are_taken_by_weight() -> None:
    turns = Turns({"salve": 2, "soap": 1})
    taken = []
    for _ in range(6):
        taken.append(turns.order()[0])
        turns.took(taken[-1])

    assert (taken.count("salve"), taken.count("soap")) == (4, 2)


def test_tokens_can_be_drawn_again_and_are_secret_afterwards() -> None:
    drawn = []
    for _ in range(2):
        with tokens_drawn_by(Random(7).randrange):
            drawn.append(new_token())

    assert drawn[0] == drawn[1]
    assert new_token() not in drawn
    assert len(new_token()) == 32


@pytest.mark.parametrize("recipe", RECIPES, ids=lambda recipe: recipe.code)
def test_recipe_adds_up_to_a_hundred_percent(recipe: Any) -> None:
    assert sum(Decimal(part.share) for part in recipe.lines) == 100


def test_soap_leaves_fat_over_even_with_the_lowest_saponification_values() -> None:
    # mg KOH/g, low ends: olive CXS 33, coconut CXS 210, shea CXS 325 (all three from memory),
    # castor BP; NaOH is KOH × 39.997 / 56.106.
    low = {"OIL-OLI": 184, "OIL-COC": 248, "BUT-SHE": 160, "OIL-CAS": 176}
    shares = {part.code: Decimal(part.share) for part in SOAP.lines}
    koh = sum(shares[code] * value / 1000 for code, value in low.items())
    most_lye = koh * Decimal("39.997") / Decimal("56.106")

    assert Decimal("0.90") * most_lye < shares["ALK-NAO"] < most_lye


def test_names_and_numbers_are_those_kept_for_examples() -> None:
    assert {check_gtin(sold.gtin)[:3] for sold in SOLD} == {"952"}
    assert all(held.number.startswith("EXAMPLE-") for held in CERTIFICATES)
    assert all(re.fullmatch("555-01[0-9]{2}", row["telephone"]) for row in SUPPLIERS)


def test_everything_in_a_recipe_is_bought_or_made() -> None:
    known = {one.code for one in bought()} | {recipe.code for recipe in RECIPES}
    wanted = {code for one in RECIPES for part in one.lines for code in (part.code, *part.instead)}

    assert wanted - known == set()


# ---- The command ---------------------------------------------------------------------------------


def told_and_forgotten(*, seed: int, days: int | None = None) -> list[tuple[Any, ...]]:
    """What moved in the month, or in its first days, from an empty book."""
    with transaction.atomic():
        for _ in islice(live_through(new_book(seed=seed, until=UNTIL, months=1)), days):
            pass
        moved = trail()
        transaction.set_rollback(True)
    return moved


def told_elsewhere() -> list[tuple[Any, ...]]:
    """The month in a copy of the empty book, told by a program of its own, at another hour.

    There sets and keys stand in another order.
    """
    empty = sqlite3.connect(connection.settings_dict["NAME"])  # as it was before this test began
    with (
        tempfile.TemporaryDirectory() as folder,
        closing(empty),
        closing(sqlite3.connect(Path(folder) / "tarebook.sqlite3")) as copy,
    ):
        empty.backup(copy)
        copy.execute("PRAGMA journal_mode = WAL")
        own = {"TAREBOOK_DATA": folder, "PYTHONHASHSEED": "20261"}
        subprocess.run(
            [sys.executable, "-c", ELSEWHERE.format(until=UNTIL)],
            env={**os.environ, **own, "DJANGO_SETTINGS_MODULE": "workshop.settings"},
            check=True,
        )
        return copy.execute(TRAIL).fetchall()


class OneMonth(TestCase):
    """The story of a month, told once for all that is asked of it."""

    said: str
    trails: list[list[tuple[Any, ...]]]

    @classmethod
    def setUpTestData(cls) -> None:
        is_file = connection.vendor == "sqlite"
        again = told_elsewhere() if is_file else told_and_forgotten(seed=1)
        other = told_and_forgotten(seed=2, days=8)
        cls.said = told()
        cls.trails = [trail(), again, other]

    def test_same_seed_and_day_tell_the_same_story(self) -> None:
        told_here, again, other = self.trails
        assert told_here == again
        assert other
        assert told_here[: len(other)] != other

    def test_small_demo_is_sound_and_its_passwords_open_the_door(self) -> None:
        words = passwords(self.said)
        assert list(words) == ["odile", "tamsin", "bram", "pia", "inspector"]
        assert [str(finding.problems) for finding in run_checks() if not finding.is_sound] == []
        for name, word in words.items():
            answer = Client().post(reverse("front:sign-in"), {"username": name, "password": word})
            assert (name, answer.status_code) == (name, 302)
        assert Batch.objects.filter(state=BatchState.UNDER_WAY).count() == 1
        versions = Version.objects.in_full()
        assert {str(one): warnings(one) for one in versions if warnings(one)} == {}

    def test_passwords_differ_each_time_and_can_be_given_anew(self) -> None:
        first = passwords(self.said)
        second = passwords(told(new_passwords=True))

        assert list(second) == list(first)
        assert set(second.values()) & set(first.values()) == set()
        odile = User.objects.get(username="odile")
        assert odile.check_password(second["odile"])
        assert not odile.check_password(first["odile"])

    def test_salve_with_the_hearth_blend_is_no_organic_product(self) -> None:
        """Two oils of the blend are agricultural, not organic, and on no list of exceptions."""
        salve = Version.objects.get(formula__item__code="BULK-SAL", status="approved")
        found = organic_classification(inputs_of_formula(salve).composition)
        assert salve.claims_organic
        assert found.percent >= 95
        assert found.category not in ("organic", "100 % organic")
        why = " ".join(found.why_not)
        for oil in (ORANGE, GERANIUM):
            assert oil in why

    def test_history_of_master_data_is_told_by_the_clock_of_the_story(self) -> None:
        latest = {
            model.__name__: model._base_manager.aggregate(at=Max("history_date"))["at"]
            for model in historical_models()
            if "history_date" in {field.name for field in model._meta.fields}
        }
        late = {name for name, at in latest.items() if at and timezone.localdate(at) > UNTIL}
        assert late == set()


@pytest.mark.django_db
def test_demo_refuses_a_book_with_people() -> None:
    make.user(Role.OWNER, username="anna")

    with pytest.raises(CommandError, match="This book is in use already"):
        told()

    assert (User.objects.count(), Operation.objects.count()) == (1, 0)


@pytest.mark.django_db
def test_passwords_of_a_real_workshop_are_left_alone() -> None:
    anna = make.user(Role.OWNER, username="odile")

    with pytest.raises(CommandError, match="not filled by the demo"):
        told(new_passwords=True)

    assert not User.objects.get(pk=anna.pk).has_usable_password()


# ---- The whole history ---------------------------------------------------------------------------


@pytest.mark.django_db
def test_whole_demo_has_its_volumes_and_all_that_goes_wrong() -> None:
    if connection.vendor != "sqlite":
        pytest.skip("the whole history is told once, on SQLite")
    book = lived(months=18)

    assert [str(finding.problems) for finding in run_checks() if not finding.is_sound] == []
    volumes_are_about_right()
    nobody_worked_at_night()
    what_went_wrong_can_be_found(book)
    there_is_something_to_do_today()
    half_a_year_of_oil_adds_up_by_plain_sql()
    no_soap_or_infusion_is_short_of_a_gram()


def half_a_year_of_oil_adds_up_by_plain_sql() -> None:
    """Opening and receipts, less what is left, are what each formula took, to the milligram."""
    first, last = date(2026, 1, 1), date(2026, 6, 30)
    by_sql = oil_balance("OIL-OLI", first, last)
    oil = Item.objects.get(code="OIL-OLI")
    ours = statement(oil, Period(first, last))
    used = next(figure for figure in ours.figures if figure.key == "used")

    assert by_sql.received >= 50_000
    assert by_sql.opening + by_sql.received - by_sql.closing == (
        sum(by_sql.used.values()) - sum(by_sql.others.values())
    )
    assert units(ours.balance.opening) == by_sql.opening
    assert units(ours.balance.received) == by_sql.received
    assert ours.closing == by_sql.closing
    assert {name: total for name, total, _ in used.groups} == dict(by_sql.used)
    assert len(by_sql.used) >= 4


def no_soap_or_infusion_is_short_of_a_gram() -> None:
    """What dried, was strained out or cut off the end is said so, and nothing is counted away."""
    made = Lot.objects.filter(origin__kind=OperationKind.BATCH).select_related("item")
    loses = Q(origin__batch__version__cure_days__gt=0) | Q(
        origin__batch__version__lines__is_strained_out=True
    )
    lots = {lot.pk: lot for lot in made.filter(loses).distinct()}
    held = balances(list(lots))

    assert len(lots) >= 20
    assert {pk for pk, one in held.items() if one.unaccounted} == set()
    assert {pk for pk, one in held.items() if one.counted} == set()
    for kind in (ShedKind.DRIED, ShedKind.TRIMMED):
        assert Shed.objects.filter(lot__in=lots, kind=kind).grams() > 0


def volumes_are_about_right() -> None:
    bought_items = Item.objects.filter(kind__in=[ItemKind.MATERIAL, ItemKind.PACKAGING])
    assert bought_items.count() == 60
    assert 270 <= ReceiptLine.objects.count() <= 330
    assert 380 <= Batch.objects.count() <= 420
    assert 540 <= PackingRun.objects.count() <= 660
    assert 1400 <= Dispatch.objects.count() <= 1600


def nobody_worked_at_night() -> None:
    moments = [timezone.localtime(at) for at in Posting.objects.values_list("at", flat=True)]
    assert all(time(7) <= at.time() < time(17) for at in moments)
    assert all(at.weekday() < 5 for at in moments)
    assert max(moments).date() == UNTIL


def what_went_wrong_can_be_found(book: Book) -> None:
    assert set(book.notes) == {
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
        "marc not weighed",
        "on the rack",
        "strained",
        "labels approved",
        "sold abroad",
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
        "count round",
        "count under way",
        "orders",
    }
    assert Lot.objects.filter(status=Status.REJECTED).count() == 1
    assert Batch.objects.filter(state=BatchState.ABANDONED).count() == 1
    assert Weighing.objects.filter(note__startswith="Rebalanced").count() >= 5
    assert [lot.item.code for lot in Lot.objects.below_zero().select_related("item")] == ["EO-EUC"]
    assert Certificate.objects.filter(valid_to__lt=UNTIL, number="EXAMPLE-EG-1191-B").exists()
    every_label_is_accounted_for_and_one_lot_waits_for_its_own()
    one_balm_is_labelled_under_three_laws_and_differs_where_they_do()
    complaints_share_one_oil(book)
    complaints_drawn_by_chance_point_at_nothing()
    recall_is_closed_with_every_unit_accounted_for()
    second_drill_is_quicker_and_finds_all()
    whole_trace_is_sound_as_events()


def every_label_is_accounted_for_and_one_lot_waits_for_its_own() -> None:
    labelled = Lot.objects.filter(prints__kind=PrintKind.LABEL).distinct()
    assert len(labelled) >= 30
    assert [lot for lot in labelled if not balance_of(lot).is_sound] == []
    waiting = {standing.label.lot.item.code for standing in mismatched(unlabelled(on=UNTIL))}
    assert waiting == {"MIN-60"}


def one_balm_is_labelled_under_three_laws_and_differs_where_they_do() -> None:
    """Approved and printed for each; every line that two of them tell apart has its rule."""
    versions = {
        one.market: one
        for one in LabelVersion.objects.approved().filter(product__item__code=TRAVELS)
    }
    assert {market: one.languages for market, one in versions.items()} == {
        "US": ["en"], "EU": ["de", "fr"], "UK": ["en"],
    }  # fmt: skip
    printed = Print.objects.filter(version__in=versions.values()).values_list("market", flat=True)
    assert set(printed) == {"US", "EU", "UK"}
    columns = [one.name for one in LabelVersion._meta.concrete_fields]
    of_its_own = {"id", "market", "number", "made_at", "approved_at", "reason"}
    told_apart = {
        name for name in columns if len({str(getattr(v, name)) for v in versions.values()}) > 1
    }
    # The rule behind each column that differs.
    assert told_apart - of_its_own == {
        "entries",  # 21 CFR 701.3(c) against article 19(1)(g): the names of ingredients
        "responsible",  # articles 4 and 19(1)(a)
        "net_contents",  # 21 CFR 701.13 against article 19(1)(b)
        "languages", "identity", "directions", "cautions",  # article 19(5)
        "organic_statement", "certifier_line",  # in the same languages: common practice, no source
    }  # fmt: skip
    # Between the two that speak English only what the law tells apart, no word of the workshop's.
    english = {
        name
        for name in told_apart - of_its_own
        if str(getattr(versions["US"], name)) != str(getattr(versions["UK"], name))
    }
    assert english == {"entries", "responsible", "net_contents"}


def complaints_share_one_oil(book: Book) -> None:
    """Five of red skin; held against all batches, the lot of oil behind them stands out first."""
    returns = Return.objects.filter(reason__startswith="Complaint")
    assert len({one.dispatch.customer_id for one in returns.select_related("dispatch")}) == 2
    serious = Complaint.objects.serious().get()
    assert serious.report_due_on > UNTIL
    sharing = what_they_share(
        Complaint.objects.filter(nature=Nature.SKIN),
        first=date(2025, 11, 25),
        last=UNTIL,
        act=OperationKind.BATCH,
    )
    first, second = sharing.shared[:2]
    assert f"lot {first.lot} of {first.lot.item}" in book.notes["serious complaint"]
    assert (first.suspect.stands_out, first.suspect.complained_with) == (True, 5)
    assert first.suspect.chance < second.suspect.chance


def complaints_drawn_by_chance_point_at_nothing() -> None:
    """Of 200 draws of up to 8 complained batches or runs, at most 5 in 100 raise a flag."""
    draw = Random(7)
    for act in (OperationKind.BATCH, OperationKind.PACKING):
        lots_of = inputs_compared(date(2025, 11, 25), UNTIL, act)
        drawn = [draw.sample(sorted(lots_of), 1 + turn % 8) for turn in range(200)]
        found = [commonality(lots_of, complained) for complained in drawn]
        assert sum(any(one.stands_out for one in suspects) for suspects in found) <= 10


def recall_is_closed_with_every_unit_accounted_for() -> None:
    recall = Recall.objects.get(is_drill=False)
    reach = scope_of(recall)
    assert recall.is_closed
    assert (recall.gaps, reach.percent, reach.missing) == ("", Decimal(100), Decimal(0))
    assert 3 <= len(reach.buyers) == reach.told == reach.answered
    assert {line.lot.status for line in reach.in_house} <= {Status.ON_HOLD}
    assert recall.complaint is not None
    assert recall.complaint.state == ComplaintState.CLOSED


def second_drill_is_quicker_and_finds_all() -> None:
    first, second = Recall.objects.filter(is_drill=True).order_by("pk")
    assert first.took is not None
    assert second.took is not None
    assert second.took < first.took
    assert [int(scope_of(drill).missing) for drill in (first, second)] == [2, 0]


def whole_trace_is_sound_as_events() -> None:
    """The lot that the most lots are made of: every event of its trace, both ways."""
    oil = Lot.objects.get(pk=Counter(link.source_id for link in _all_links()).most_common(1)[0][0])
    told = events_of(trace(oil))
    at = timezone.now()
    text = epcis.document(told, base="https://book.example", at=at)
    assert faults_of(json.loads(text, parse_float=Decimal, parse_int=Decimal)) == []
    assert len(told) > 100
    if SCHEMA and Path(SCHEMA).exists():
        judge = jsonschema.Draft7Validator(json.loads(Path(SCHEMA).read_text("utf-8")))
        assert [error.message for error in judge.iter_errors(json.loads(text))] == []


def _all_links() -> list[Link]:
    packed = Lot.objects.filter(item__kind=ItemKind.PRODUCT).order_by("-pk")[:200]
    return links_back([lot.pk for lot in packed])


def there_is_something_to_do_today() -> None:
    due = Supplier.objects.review_due_by(UNTIL)
    assert [str(supplier) for supplier in due] == ["Low Fen Distillery"]
    waiting = Lot.objects.in_stock().filter(status=Status.QUARANTINE)
    assert 8 <= waiting.count() <= 25
    soon = Lot.objects.in_stock().filter(best_before__range=(UNTIL, date(2027, 1, 24)))
    assert soon.count() >= 3
    assert Certificate.objects.filter(valid_to__range=(UNTIL, date(2027, 1, 24))).count() == 2
    assert Batch.objects.filter(state=BatchState.UNDER_WAY).count() == 1
    assert Operation.objects.filter(kind=OperationKind.RECEIPT, opened_at__date=UNTIL).exists()
