"""The demonstration: an invented workshop whose history is acted out by the real services."""

import io
import os
import re
from datetime import date
from decimal import Decimal
from random import Random
from typing import Any

import pytest
from django.core.management import CommandError, call_command
from django.db import transaction
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from tests import make
from workshop.core.models import Role, User
from workshop.core.tokens import new_token, tokens_drawn_by
from workshop.formulas.advice import warnings
from workshop.formulas.models import Version
from workshop.front.demo.book import Book, Evenly, Turns
from workshop.front.demo.clock import Clock, work_days
from workshop.front.demo.materials import bought
from workshop.front.demo.people import CERTIFICATES, SUPPLIERS
from workshop.front.demo.products import SOLD
from workshop.front.demo.recipes import RECIPES, SOAP
from workshop.front.demo.story import live_through, new_book
from workshop.kettle.models import Batch, BatchState
from workshop.ledger.checks import run_checks
from workshop.ledger.models import Operation, Posting
from workshop.rules.gs1 import check_gtin

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


def trail() -> list[tuple[Any, ...]]:
    """Everything that moved, without the keys that the database gave."""
    return list(
        Posting.objects.order_by("pk").values_list(
            "operation__reference", "lot__code", "quantity", "at", "by__username", "token"
        )
    )


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
    assert sum(Decimal(part.share) for part in recipe.parts) == 100


def test_soap_leaves_fat_over_even_with_the_lowest_saponification_values() -> None:
    # mg KOH/g, low ends: olive CXS 33, coconut CXS 210, shea CXS 325 (all three from memory),
    # castor BP; NaOH is KOH × 39.997 / 56.106.
    low = {"OIL-OLI": 184, "OIL-COC": 248, "BUT-SHE": 160, "OIL-CAS": 176}
    shares = {part.code: Decimal(part.share) for part in SOAP.parts}
    koh = sum(shares[code] * value / 1000 for code, value in low.items())
    most_lye = koh * Decimal("39.997") / Decimal("56.106")

    assert Decimal("0.90") * most_lye < shares["ALK-NAO"] < most_lye


def test_names_and_numbers_are_those_kept_for_examples() -> None:
    assert {check_gtin(sold.gtin)[:3] for sold in SOLD} == {"952"}
    assert all(held.number.startswith("EXAMPLE-") for held in CERTIFICATES)
    assert all(re.fullmatch("555-01[0-9]{2}", telephone) for *_, telephone in SUPPLIERS)


def test_everything_in_a_recipe_is_bought_or_made() -> None:
    known = {one.code for one in bought()} | {recipe.code for recipe in RECIPES}
    wanted = {code for one in RECIPES for part in one.parts for code in (part.code, *part.instead)}

    assert wanted - known == set()


# ---- The command ---------------------------------------------------------------------------------


@pytest.mark.django_db
def test_small_demo_is_sound_and_its_passwords_open_the_door() -> None:
    said = told()

    words = passwords(said)
    assert list(words) == ["odile", "tamsin", "bram", "pia", "inspector"]
    assert [str(finding.problems) for finding in run_checks() if not finding.is_sound] == []
    for name, word in words.items():
        answer = Client().post(reverse("front:sign-in"), {"username": name, "password": word})
        assert (name, answer.status_code) == (name, 302)
    assert Batch.objects.filter(state=BatchState.UNDER_WAY).count() == 1
    versions = Version.objects.in_full()
    assert {str(one): warnings(one) for one in versions if warnings(one)} == {}


@pytest.mark.django_db
def test_passwords_differ_each_time_and_can_be_given_anew() -> None:
    first = passwords(told())
    second = passwords(told(new_passwords=True))

    assert list(second) == list(first)
    assert set(second.values()) & set(first.values()) == set()
    odile = User.objects.get(username="odile")
    assert odile.check_password(second["odile"])
    assert not odile.check_password(first["odile"])


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


@pytest.mark.django_db
def test_same_seed_and_day_tell_the_same_story() -> None:
    trails = []
    for seed in (1, 1, 2):
        with transaction.atomic():
            lived(seed=seed)
            trails.append(trail())
            transaction.set_rollback(True)

    assert trails[0] == trails[1]
    assert trails[0] != trails[2]
