"""What changed between two versions, and what to think about before approving one."""

from decimal import Decimal
from typing import Any

import pytest

from tests import make
from tests.formulas import build
from workshop.formulas.advice import HOT, KEEP_WATER_OUT, LAST_WORD, cautions, warnings
from workshop.formulas.comparison.differences import LineDifference, compare
from workshop.formulas.draft.validation import StepIn
from workshop.formulas.models import Version
from workshop.ledger.models import Item, ItemKind
from workshop.materials.models import Profile
from workshop.rules.soap.lye import CAUTIONS

pytestmark = pytest.mark.django_db


def full(version: Version) -> Version:
    return Version.objects.in_full().get(pk=version.pk)


def compared(before: Version, after: Version) -> list[LineDifference]:
    return compare(full(before), full(after))


def material(name: str, **values: Any) -> Item:
    item = make.item(name=name)
    Profile.objects.create(item=item, **{"inci_name": name.upper(), **values})
    return item


def test_comparison_of_a_version_with_itself_is_empty() -> None:
    version = build.approved()

    assert compared(version, version) == []


def test_comparison_names_what_was_and_what_is() -> None:
    wax, oil = make.item(name="Beeswax"), make.item(name="Sunflower oil")
    first = build.approved(build.line(20, wax), build.line(80, oil), expected_loss=Decimal(2))
    second = build.draft(
        build.line("22.5", wax, phase="B"),
        build.line("77.5", oil),
        of=first.formula,
        expected_loss=Decimal("2.25"),
    )

    assert compared(first, second) == [
        LineDifference("The version", "expected loss, %", "2", "2.25"),
        LineDifference("Beeswax", "share, %", "20", "22.5"),
        LineDifference("Beeswax", "phase", "A", "B"),
        LineDifference("Sunflower oil", "share, %", "80", "77.5"),
    ]


def test_comparison_shows_an_ingredient_that_came_and_one_that_went() -> None:
    wax, oil = make.item(name="Beeswax"), make.item(name="Candelilla wax")
    first, second = build.approved(build.line(100, wax)), build.approved(build.line(100, oil))

    changes = compared(first, second)

    shares = [change for change in changes if change.what == "share, %"]
    assert shares == [
        LineDifference("Candelilla wax", "share, %", "–", "100"),
        LineDifference("Beeswax", "share, %", "100", "–"),
    ]


def test_comparison_does_not_mistake_a_new_step_for_many_changed_ones() -> None:
    wax = make.item()
    melt, pour, weigh = (StepIn(text=word) for word in ("Melt.", "Pour.", "Weigh."))
    first = build.approved(build.line(100, wax), steps=[melt, pour])
    second = build.approved(build.line(100, wax), steps=[weigh, melt, pour])

    changes = compared(first, second)

    assert {change.about for change in changes} == {"Step 1"}
    assert changes[0] == LineDifference("Step 1", "what to do", "–", "Weigh.")


def test_comparison_shows_a_changed_limit() -> None:
    wax = make.item()
    was = StepIn(text="Melt.", from_c=Decimal(70), to_c=Decimal(75))
    now = StepIn(text="Melt.", to_c=Decimal("72.5"), minutes=5)
    first = build.approved(build.line(100, wax), steps=[was])
    second = build.approved(build.line(100, wax), steps=[now])

    assert compared(first, second) == [
        LineDifference("Step 1", "temperature", "70 to 75\u202f°C", "at most 72.5\u202f°C"),
        LineDifference("Step 1", "minutes", "–", "5"),
    ]


def test_comparison_shows_substitutes_by_name() -> None:
    wax, other = make.item(name="Beeswax"), make.item(name="Rice wax")
    first = build.approved(build.line(100, wax))
    second = build.approved(build.line(100, wax, substitutes=[other]))

    assert compared(first, second) == [LineDifference("Beeswax", "substitutes", "–", "Rice wax")]


# ---- advice --------------------------------------------------------------------------------------


def test_advice_is_silent_when_all_is_well() -> None:
    oil, wax = material("Oil"), material("Wax")
    draft = build.draft(build.line(80, oil), build.line(20, wax, is_irreversible=True))

    assert warnings(full(draft)) == []


def test_advice_names_what_is_not_ready() -> None:
    base, old = make.item(ItemKind.BULK, name="Base"), material("Old oil")
    Item.objects.filter(pk=old.pk).update(is_active=False)
    bare = make.item(name="Bare wax")
    draft = build.draft(build.line(50, base), build.line(30, old), build.line(20, bare))

    assert warnings(full(draft)) == [
        "There is no approved formula for Base yet.",
        "Old oil is no longer in use.",
        "Bare wax has no INCI name yet, so no label can be written.",
    ]


def test_advice_doubts_an_organic_claim_without_an_organic_ingredient() -> None:
    draft = build.draft(build.line(100, material("Oil")), claims_organic=True)
    sound = build.draft(build.line(100, material("Oil", is_organic=True)), claims_organic=True)

    assert warnings(full(draft)) == [
        "The formula claims to be organic, but none of its ingredients is bought as organic."
    ]
    assert warnings(full(sound)) == []


def test_cautions_follow_the_steps_and_the_ingredients() -> None:
    lye = material("Lye", inci_name="Sodium Hydroxide")
    draft = build.draft(build.line(100, lye), steps=[StepIn(text="Stir.", to_c=Decimal(40))])

    assert cautions(full(draft)) == [HOT, *CAUTIONS, LAST_WORD]


def test_cautions_for_a_melt_and_an_essential_oil() -> None:
    mint = material("Mint oil", kind="fragrance")
    draft = build.draft(build.line(100, mint))

    told = cautions(full(draft))

    assert told[:2] == [HOT, KEEP_WATER_OUT]
    assert told[2].startswith("Undiluted essential oils irritate skin and eyes")
    assert told[3] == LAST_WORD
