"""Beginning, drafting, approving and retiring formulas."""

from decimal import Decimal
from typing import Any

import pytest

from tests import make
from tests.formulas import build
from workshop.core.errors import ActionRefused
from workshop.core.models import Role
from workshop.formulas import services
from workshop.formulas.comparison.differences import compare
from workshop.formulas.draft.validation import StepIn
from workshop.formulas.models import Formula, Line, Version, VersionStatus
from workshop.ledger.models import Item, ItemKind, Unit

pytestmark = pytest.mark.django_db


def refusal(act: Any, *args: Any, **values: Any) -> ActionRefused:
    with pytest.raises(ActionRefused) as caught:
        act(*args, **values)
    return caught.value


# ---- formulas ------------------------------------------------------------------------------------


def test_bulk_item_is_kept_by_weight() -> None:
    bulk = services.save_bulk(code="BULK-SALVE", name="Salve base", by=make.user())

    assert (bulk.kind, bulk.unit) == (ItemKind.BULK, Unit.GRAM)


def test_bulk_item_needs_a_code_of_its_own() -> None:
    make.item(ItemKind.BULK, code="TAKEN")

    error = refusal(services.save_bulk, code="TAKEN", name="Salve", by=make.user())

    assert (error.message, error.field) == ("Another item already has this code.", "code")


def test_formula_says_in_its_history_who_began_it() -> None:
    owner = make.user()

    formula = build.formula(by=owner)

    assert [row.history_user for row in formula.history.all()] == [owner]


def test_formula_makes_a_bulk_only() -> None:
    oil = make.item(name="Sunflower oil")

    error = refusal(services.save_formula, name="Oil", item=oil, by=make.user())

    assert error.message == "Sunflower oil is not a bulk; a formula makes a bulk item."
    assert (error.field, Formula.objects.count()) == ("item", 0)


def test_formula_needs_a_name_of_its_own() -> None:
    build.formula(name="Hand salve")

    error = refusal(build.formula, name="Hand salve")

    assert (error.message, error.field) == ("There is already a formula of this name.", "name")


def test_formula_with_versions_keeps_its_bulk() -> None:
    formula = build.approved().formula

    error = refusal(
        services.save_formula,
        formula=formula,
        name=formula.name,
        item=make.item(ItemKind.BULK),
        by=make.user(),
    )

    assert error.field == "item"


# ---- drafts --------------------------------------------------------------------------------------


def test_new_version_takes_the_next_number() -> None:
    first = build.approved()

    second = services.new_version(first.formula, by=make.user(), at=make.NOON)

    assert (second.number, second.status) == (2, VersionStatus.DRAFT)
    assert second.made_at == make.NOON


def test_new_version_like_another_copies_lines_steps_and_figures() -> None:
    substitute = make.item()
    first = build.approved(
        build.line(60, phase="A", substitutes=[substitute]),
        build.line(40, phase="B", tolerance=Decimal("0.5"), is_irreversible=True),
        expected_loss=Decimal("3.5"),
        claims_organic=True,
    )

    copy = services.new_version(first.formula, like=first, by=make.user(), at=make.NOON)

    def figures(version: Version) -> Any:
        fields = ("item", "order", "phase", "share", "tolerance", "is_irreversible")
        return list(version.lines.values_list(*fields, "substitutes"))

    assert figures(copy) == figures(first)
    assert copy.steps.get().text == "Melt the wax into the oil."
    assert (copy.expected_loss, copy.claims_organic) == (Decimal("3.5"), True)


def test_formula_has_one_draft_at_a_time() -> None:
    draft = build.draft()

    error = refusal(services.new_version, draft.formula, by=make.user(), at=make.NOON)

    assert error.message == "Version 1 is still a draft; finish or discard it first."


def test_draft_is_written_over_whole() -> None:
    draft = build.draft()
    wax, oil = make.item(), make.item()

    build.rewritten(draft, build.line("12.3456", wax), build.line(50, oil), steps=[])

    assert [(row.order, row.item, row.share) for row in draft.lines.all()] == [
        (1, wax, Decimal("12.3456")),
        (2, oil, Decimal(50)),
    ]
    assert not draft.steps.exists()


def test_draft_sorts_its_lines_by_the_order_given() -> None:
    late, early = make.item(), make.item()

    draft = build.draft(build.line(60, late, order=20), build.line(40, early, order=10))

    assert [row.item for row in draft.lines.all()] == [early, late]


@pytest.mark.parametrize(
    ("values", "sentence"),
    [
        ({"share": "0"}, "The share of Wax must be above 0 and at most 100 %."),
        ({"share": "100.0001"}, "The share of Wax must be above 0 and at most 100 %."),
        ({"share": "1.00001"}, "Wax: give at most four decimal places."),
        (
            {"share": "1", "tolerance": Decimal(51)},
            "The tolerance of Wax must be above 0 and at most 50 %.",
        ),
        ({"share": "1", "order": 0}, "The order of Wax must be between 1 and 9999."),
        ({"share": "1", "phase": " "}, "Wax needs a phase of at most 20 letters, such as A."),
    ],
)
def test_draft_refuses_a_line_that_cannot_be(values: dict[str, Any], sentence: str) -> None:
    draft = build.draft()
    before = list(draft.lines.values())

    error = refusal(build.rewritten, draft, build.line(of=make.item(name="Wax"), **values))

    assert error.message == sentence
    assert list(draft.lines.values()) == before


def test_draft_refuses_the_same_ingredient_twice() -> None:
    wax = make.item(name="Wax")

    error = refusal(build.draft, build.line(60, wax), build.line(40, wax))

    assert error.message == "Wax stands in the formula twice; put it in one line."


def test_draft_refuses_its_own_bulk_as_an_ingredient() -> None:
    formula = build.formula(make.item(ItemKind.BULK, name="Salve"))

    error = refusal(build.draft, build.line(100, formula.item), of=formula)

    assert error.message == "Salve cannot be an ingredient of itself."


@pytest.mark.parametrize(
    ("kind", "unit", "sentence"),
    [
        (ItemKind.PACKAGING, Unit.EACH, "Tin is packaging; it cannot go into a kettle."),
        (ItemKind.PRODUCT, Unit.EACH, "Tin is product; it cannot go into a kettle."),
        (
            ItemKind.MATERIAL,
            Unit.EACH,
            "Tin is counted in pieces; an ingredient is weighed in grams.",
        ),
    ],
)
def test_draft_refuses_what_cannot_be_weighed_in(kind: ItemKind, unit: Unit, sentence: str) -> None:
    tin = make.item(kind, unit=unit, name="Tin")

    assert refusal(build.draft, build.line(100, tin)).message == sentence
    assert refusal(build.draft, build.line(100, substitutes=[tin])).message == sentence


def test_draft_refuses_a_substitute_for_itself() -> None:
    wax = make.item(name="Wax")

    error = refusal(build.draft, build.line(100, wax, substitutes=[wax]))

    assert error.message == "Wax cannot be a substitute for itself."


@pytest.mark.parametrize(
    ("step", "sentence"),
    [
        (StepIn(text=" "), "Step 1 does not say what to do."),
        (
            StepIn(text="Melt", from_c=Decimal(75), to_c=Decimal(70)),
            "Step 1: the upper temperature is below the lower one.",
        ),
    ],
)
def test_draft_refuses_a_step_that_cannot_be(step: StepIn, sentence: str) -> None:
    assert refusal(build.draft, steps=[step]).message == sentence


def test_draft_refuses_a_loss_of_everything() -> None:
    error = refusal(build.draft, expected_loss=Decimal(100))

    assert error.message == "A loss lies between 0 and below 100 %."


def test_draft_can_be_discarded() -> None:
    draft = build.draft()

    services.discard_draft(draft, by=make.user())

    assert not Version.objects.exists()


def test_approved_version_is_neither_rewritten_nor_discarded() -> None:
    version = build.approved()
    sentence = "Only a draft may change; make a new version."

    assert refusal(build.rewritten, version, build.line(100)).message == sentence
    assert refusal(services.discard_draft, version, by=make.user()).message == sentence


# ---- approval ------------------------------------------------------------------------------------


def test_approval_says_who_and_when() -> None:
    owner = make.user()

    version = services.approve(build.draft(), by=owner, at=make.NOON)

    assert (version.status, version.approved_by, version.approved_at) == (
        VersionStatus.APPROVED,
        owner,
        make.NOON,
    )


def test_approval_retires_the_version_before() -> None:
    first = build.approved()

    second = build.approved(of=first.formula)

    first.refresh_from_db()
    assert first.status == VersionStatus.RETIRED
    assert list(Version.objects.approved()) == [second]


@pytest.mark.parametrize("role", [Role.MAKER, Role.PACKER, Role.INSPECTOR])
def test_approval_is_the_owners(role: Role) -> None:
    draft, version = build.draft(), build.approved()
    person = make.user(role)
    sentence = "Only an owner may approve or retire a formula."

    assert refusal(services.approve, draft, by=person, at=make.NOON).message == sentence
    assert refusal(services.retire, version, by=person, at=make.NOON).message == sentence


@pytest.mark.parametrize(
    ("shares", "sentence"),
    [
        (["60", "39.9"], "The shares add up to 99.9000 %; 0.1000 % is missing."),
        (["60", "40.0001"], "The shares add up to 100.0001 %; that is 0.0001 % too much."),
    ],
)
def test_approval_refuses_shares_that_are_not_100(shares: list[str], sentence: str) -> None:
    first = build.approved()
    draft = build.draft(*map(build.line, shares), of=first.formula)

    error = refusal(services.approve, draft, by=make.user(), at=make.NOON)

    first.refresh_from_db()
    draft.refresh_from_db()
    assert error.message == sentence
    assert (first.status, draft.status) == (VersionStatus.APPROVED, VersionStatus.DRAFT)


def test_approval_needs_an_ingredient() -> None:
    draft = services.new_version(build.formula(), by=make.user(), at=make.NOON)

    error = refusal(services.approve, draft, by=make.user(), at=make.NOON)

    assert error.message == "A formula needs at least one ingredient before it can be approved."


def test_thirds_to_four_decimals_add_up() -> None:
    version = build.approved(*map(build.line, ["33.3333", "33.3333", "33.3334"]))

    assert sum(row.share for row in version.lines.all()) == 100


def bulk(name: str) -> Item:
    return make.item(ItemKind.BULK, name=name)


def test_bulk_may_be_an_ingredient_of_another() -> None:
    infusion, salve = bulk("Infusion"), bulk("Salve")
    build.approved(of=build.formula(infusion))

    version = build.approved(build.line(100, infusion), of=build.formula(salve))

    assert version.status == VersionStatus.APPROVED


def test_approval_refuses_a_bulk_that_contains_itself_deep_down() -> None:
    infusion, base, salve = bulk("Infusion"), bulk("Base"), bulk("Salve")
    build.approved(build.line(100, infusion), of=build.formula(base))
    build.approved(build.line(100, base), of=build.formula(salve))

    error = refusal(build.approved, build.line(100, salve), of=build.formula(infusion))

    assert error.message == ("Infusion would contain itself: Infusion → Salve → Base → Infusion.")


def test_approval_refuses_a_bulk_that_contains_itself_through_a_substitute() -> None:
    base, salve = bulk("Base"), bulk("Salve")
    build.approved(build.line(100, substitutes=[base]), of=build.formula(salve))

    error = refusal(build.approved, build.line(100, salve), of=build.formula(base))

    assert error.message == "Base would contain itself: Base → Salve → Base."


def test_bulk_that_contained_another_in_a_retired_version_may_go_into_it() -> None:
    base, salve = bulk("Base"), bulk("Salve")
    old = build.approved(build.line(100, base), of=build.formula(salve))
    services.retire(old, by=make.user(), at=make.NOON)

    version = build.approved(build.line(100, salve), of=build.formula(base))

    assert version.status == VersionStatus.APPROVED


def test_retired_version_cannot_be_retired_again_or_approved() -> None:
    version = services.retire(build.approved(), by=make.user(), at=make.NOON)

    again = refusal(services.retire, version, by=make.user(), at=make.NOON)
    back = refusal(services.approve, version, by=make.user(), at=make.NOON)

    assert "Only an approved version can be retired" in again.message
    assert back.message == "Only a draft may change; make a new version."


def test_draft_in_use_elsewhere_keeps_its_lines_apart() -> None:
    one, other = build.draft(), build.draft()

    build.rewritten(one, build.line(100))

    assert (one.lines.count(), other.lines.count()) == (1, 2)
    assert Line.objects.count() == 3


FLOWERS: dict[str, Any] = {"is_strained_out": True, "stays": "Calendula Officinalis Flower Extract"}


@pytest.mark.parametrize(
    ("values", "sentence"),
    [
        ({"is_strained_out": True}, "say what stays of it"),
        ({"stays": "An Extract"}, "said only of what is strained"),
        ({**FLOWERS, "held_back": Decimal(1001)}, "from 0 to 1000 %"),
    ],
)
def test_straining_that_cannot_be_is_refused(values: dict[str, Any], sentence: str) -> None:
    with pytest.raises(ActionRefused, match=sentence):
        build.draft(build.line(80), build.line(20, **values))


def test_formula_of_which_nothing_stays_is_not_approved() -> None:
    with pytest.raises(ActionRefused, match="nothing would be left"):
        build.approved(build.line(100, **FLOWERS))


def test_next_draft_keeps_what_is_strained_out_and_the_terms_of_release() -> None:
    herb = build.line(20, **FLOWERS, held_back=Decimal(120))
    first = build.approved(build.line(80), herb, ph_most=Decimal("10.5"), cure_loss=Decimal(12))

    again = services.new_version(first.formula, by=make.user(), at=make.NOON, like=first)

    line = again.lines.get(is_strained_out=True)
    assert (line.stays, line.held_back) == (FLOWERS["stays"], 120)
    assert (again.release_terms, again.cure_loss) == (["pH at most 10.5"], 12)
    assert compare(first, again) == []
