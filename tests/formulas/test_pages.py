"""The pages of the formulas room."""

from decimal import Decimal
from io import BytesIO
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from pypdf import PdfReader
from pytest_django.asserts import assertContains, assertNotContains, assertRedirects

from tests import make
from tests.formulas import build
from workshop.core.models import Role, User
from workshop.formulas.models import Formula, Version, VersionStatus
from workshop.ledger.models import Item, ItemKind

pytestmark = pytest.mark.django_db


@pytest.fixture
def owner(client: Client) -> User:
    person = make.user(first_name="Odile")
    client.force_login(person)
    return person


def typed(lines: list[dict[str, Any]], steps: list[dict[str, Any]] | None = None) -> dict[str, Any]:
    """What the draft's page sends."""
    data: dict[str, Any] = {"expected_loss": "2", "shelf_life_months": "12", "rework_limit": "0"}
    for prefix, rows in (("lines", lines), ("steps", steps or [])):
        data[f"{prefix}-TOTAL_FORMS"] = str(len(rows))
        data[f"{prefix}-INITIAL_FORMS"] = "0"
        for number, row in enumerate(rows):
            data |= {f"{prefix}-{number}-{name}": value for name, value in row.items()}
    return data


def row(item: Item, share: str, **values: Any) -> dict[str, Any]:
    return {"item": item.pk, "share": share, "phase": "A", "tolerance": "2", **values}


# ---- bulk items and formulas ---------------------------------------------------------------------


def test_bulk_item_is_entered(client: Client, owner: User) -> None:
    response = client.post(
        reverse("formulas:new-bulk"),
        {"code": "bulk-salve", "name": "Salve base", "is_active": "on"},
        follow=True,
    )

    assertRedirects(response, reverse("formulas:bulks"))
    assertContains(response, "Bulk item BULK-SALVE, Salve base, is saved.")


def test_bulk_item_with_an_odd_code_keeps_what_was_typed(client: Client, owner: User) -> None:
    response = client.post(reverse("formulas:new-bulk"), {"code": "salve base", "name": "Salve"})

    assertContains(response, "Use capital letters, digits, dots and hyphens only.")
    assertContains(response, 'value="salve base"')
    assert not Item.objects.exists()


def test_formula_is_begun_and_renamed(client: Client, owner: User) -> None:
    bulk = make.item(ItemKind.BULK, name="Salve base")
    values = {"name": "Hand salve", "item": bulk.pk, "is_active": "on"}

    response = client.post(reverse("formulas:new"), values, follow=True)
    formula = Formula.objects.get()
    renamed = client.post(
        reverse("formulas:edit", args=[formula.pk]), {**values, "name": "Salve"}, follow=True
    )

    assertContains(response, "Hand salve makes Salve base.")
    assertContains(renamed, "Salve makes Salve base.")


def test_formula_of_a_name_that_is_taken_is_refused_beside_the_name(
    client: Client, owner: User
) -> None:
    formula = build.formula(name="Hand salve")

    response = client.post(reverse("formulas:new"), {"name": "Hand salve", "item": formula.item_id})

    assertContains(response, "There is already a formula of this name.")


def test_home_shows_the_approved_version_and_the_draft(client: Client, owner: User) -> None:
    version = build.approved(of=build.formula(name="Hand salve"))
    build.draft(of=version.formula)

    response = client.get(reverse("formulas:home"), {"q": "hand"})

    assertContains(response, "Hand salve")
    assertContains(response, "version 1")
    assertContains(response, reverse("formulas:version", args=[version.pk]))


def test_home_narrowed_to_nothing_says_so(client: Client, owner: User) -> None:
    build.formula()

    response = client.get(reverse("formulas:home"), {"q": "no such"})

    assertContains(response, "Nothing in this list matches.")


@pytest.mark.parametrize("rows", [1, 5])
@pytest.mark.parametrize("listing", ["home", "bulks"])
def test_list_takes_the_same_queries_for_any_number_of_rows(
    client: Client, owner: User, listing: str, rows: int, django_assert_num_queries: Any
) -> None:
    for _ in range(rows):
        build.draft(of=build.approved(by=owner).formula, by=owner)

    with django_assert_num_queries(EXPECTED[listing]):
        client.get(reverse(f"formulas:{listing}"))


# Session, user, count, rows; the counts of states, and the formulas of the bulk items.
EXPECTED = {"home": 5, "bulks": 5}


@pytest.mark.parametrize("rows", [1, 5])
def test_pages_of_a_version_take_the_same_queries_for_any_number_of_lines(
    client: Client, owner: User, rows: int, django_assert_num_queries: Any
) -> None:
    version = build.draft(
        *(build.line(1, substitutes=[make.item()]) for _ in range(rows)),
        steps=[build.melt()] * rows,
        by=owner,
    )

    with django_assert_num_queries(10):
        client.get(reverse("formulas:version", args=[version.pk]))
    with django_assert_num_queries(9):
        client.get(reverse("formulas:draft", args=[version.pk]))


def test_formula_lists_its_versions(client: Client, owner: User) -> None:
    first = build.approved(by=owner)
    build.draft(of=first.formula, by=owner)

    response = client.get(reverse("formulas:formula", args=[first.formula_id]))

    assertContains(response, "Version 1 is approved since")
    assertContains(response, "Continue draft 2")
    assertNotContains(response, "&lt;")


# ---- the draft -----------------------------------------------------------------------------------


def test_draft_begins_like_the_version_before(client: Client, owner: User) -> None:
    first = build.approved()

    client.post(reverse("formulas:begin", args=[first.formula_id]), {"like": first.pk})

    draft = Version.objects.get(status=VersionStatus.DRAFT)
    assert (draft.number, draft.lines.count()) == (2, 2)


@pytest.mark.parametrize("like", ["", "x", "99999999999999999999999", "²"])
def test_draft_like_nothing_known_begins_empty(client: Client, owner: User, like: str) -> None:
    formula = build.formula()

    client.post(reverse("formulas:begin", args=[formula.pk]), {"like": like})

    assert formula.versions.get().lines.count() == 0


def test_second_draft_is_refused_with_a_sentence(client: Client, owner: User) -> None:
    draft = build.draft()

    response = client.post(reverse("formulas:begin", args=[draft.formula_id]), follow=True)

    assertContains(response, "Version 1 is still a draft; finish or discard it first.")


def test_draft_is_saved_with_comma_and_point(client: Client, owner: User) -> None:
    draft = build.draft()
    wax, oil, butter = (make.item() for _ in range(3))
    lines = [
        row(oil, "87,6544", order="2"),
        row(wax, "12.3456", order="1", is_irreversible="on", substitutes=[butter.pk]),
        {"order": "", "phase": "A", "item": "", "share": "", "tolerance": "2"},
    ]
    steps = [{"text": "Melt.", "from_c": "70", "to_c": "75,5", "minutes": "10"}]

    response = client.post(
        reverse("formulas:draft", args=[draft.pk]), typed(lines, steps), follow=True
    )

    assertContains(response, "Draft 1 is saved. The shares add up to exactly 100 %.")
    first, second = draft.lines.all()
    assert (first.item, first.share, list(first.substitutes.all())) == (
        wax,
        Decimal("12.3456"),
        [butter],
    )
    assert (first.is_irreversible, second.item) == (True, oil)
    assert draft.steps.get().to_c == Decimal("75.5")


def test_draft_offers_blank_rows_that_choose_nothing(client: Client, owner: User) -> None:
    draft = build.draft()

    response = client.get(reverse("formulas:draft", args=[draft.pk]))

    assertContains(response, '<option value="" selected>choose</option>', count=3)


def test_draft_says_what_is_missing_from_100(client: Client, owner: User) -> None:
    draft = build.draft()

    response = client.post(
        reverse("formulas:draft", args=[draft.pk]),
        typed([row(make.item(), "60"), row(make.item(), "39.9")]),
        follow=True,
    )

    assertContains(response, "The shares add up to 99.9000 %; 0.1000 % is missing.")


@pytest.mark.parametrize(
    ("values", "sentence"),
    [
        ({"share": "a lot"}, "“a lot” is not a number."),
        ({"share": "0"}, "It must be above 0 %."),
        ({"share": "-3"}, "It must be above 0 %."),
        ({"share": "100,1"}, "It must be at most 100 %."),
        ({"share": "1.23456"}, "Give at most 4 decimal places."),
        ({"share": ""}, "This field is required."),
        ({"tolerance": "51"}, "It must be at most 50 %."),
        ({"item": ""}, "Choose the ingredient."),
        ({"item": "999999999999999999999"}, "Select a valid choice."),
        ({"substitutes": ["x"]}, "Select a valid choice."),
        ({"order": "first"}, "Enter a whole number."),
    ],
)
def test_draft_refuses_an_odd_line_beside_the_field_and_keeps_the_typing(
    client: Client, owner: User, values: dict[str, Any], sentence: str
) -> None:
    draft = build.draft()
    before = list(draft.lines.values())
    line = row(make.item(), "12.5", phase="Oils") | values

    response = client.post(reverse("formulas:draft", args=[draft.pk]), typed([line]))

    assertContains(response, sentence)
    assertContains(response, 'value="Oils"')
    assert list(draft.lines.values()) == before


def test_draft_refuses_an_ingredient_twice_beside_the_second(client: Client, owner: User) -> None:
    draft = build.draft()
    wax = make.item(name="Wax")

    response = client.post(
        reverse("formulas:draft", args=[draft.pk]), typed([row(wax, "60"), row(wax, "40")])
    )

    assertContains(response, "Wax stands in the formula twice; put it in one line.")


def test_draft_refuses_an_upper_temperature_below_the_lower(client: Client, owner: User) -> None:
    draft = build.draft()
    step = {"text": "Melt", "from_c": "75", "to_c": "70"}

    response = client.post(
        reverse("formulas:draft", args=[draft.pk]), typed([row(make.item(), "100")], [step])
    )

    assertContains(response, "It is below the lower temperature.")


def test_draft_leaves_out_a_line_ticked_to_be_removed(client: Client, owner: User) -> None:
    draft = build.draft()
    wax = make.item()

    client.post(
        reverse("formulas:draft", args=[draft.pk]),
        typed([row(wax, "100"), row(make.item(), "odd", DELETE="on")]),
    )

    assert [line.item for line in draft.lines.all()] == [wax]


def test_more_rows_keep_the_typing_and_write_nothing(client: Client, owner: User) -> None:
    draft = build.draft()
    before = list(draft.lines.values())
    data = {**typed([row(make.item(), "12,5")]), "more": "lines"}

    response = client.post(reverse("formulas:draft", args=[draft.pk]), data)

    assertContains(response, 'value="12,5"')
    assertContains(response, 'name="lines-3-share"')
    assert list(draft.lines.values()) == before


def test_rows_added_on_the_page_begin_like_new_ones_and_may_stay_blank(
    client: Client, owner: User
) -> None:
    draft = build.draft()
    oil, wax = make.item(), make.item()
    asked = {**typed([row(oil, "80"), row(wax, "20")]), "more": "lines"}
    page = client.post(reverse("formulas:draft", args=[draft.pk]), asked).context["page"]
    rows = page.lines.forms[2:]
    sent = {field.html_name: field.value() for one in rows for field in one if field.value()}
    assert [(one["phase"].value(), one["tolerance"].value()) for one in rows] == [("A", "2")] * 3

    data = {**typed([row(oil, "80"), row(wax, "20")]), **sent, "lines-TOTAL_FORMS": "5"}
    client.post(reverse("formulas:draft", args=[draft.pk]), data)

    assert [line.item for line in draft.lines.all()] == [oil, wax]


@pytest.mark.parametrize("total", ["", "x", "999999999999999999999999999"])
@pytest.mark.parametrize("more", ["", "lines", "odd"])
def test_draft_with_a_broken_form_is_refused_without_a_crash(
    client: Client, owner: User, total: str, more: str
) -> None:
    draft = build.draft()
    data = {**typed([row(make.item(), "100")]), "lines-TOTAL_FORMS": total, "more": more}

    response = client.post(reverse("formulas:draft", args=[draft.pk]), data)

    assert response.status_code == 200
    assert draft.lines.count() == 2


def test_draft_page_of_an_approved_version_sends_back_with_a_sentence(
    client: Client, owner: User
) -> None:
    version = build.approved()

    response = client.get(reverse("formulas:draft", args=[version.pk]), follow=True)

    assertContains(response, "Only a draft may change; make a new version.")


def test_draft_is_discarded(client: Client, owner: User) -> None:
    draft = build.draft()

    response = client.post(reverse("formulas:discard", args=[draft.pk]), follow=True)

    assertContains(response, "Draft 1 is discarded.")
    assert not Version.objects.exists()


# ---- a version -----------------------------------------------------------------------------------


def test_version_is_approved_and_says_who(client: Client, owner: User) -> None:
    draft = build.draft()

    response = client.post(reverse("formulas:approve", args=[draft.pk]), follow=True)

    assertContains(response, "Version 1 is approved on")
    assertContains(response, "Odile")


def test_version_that_is_not_whole_is_not_approved(client: Client, owner: User) -> None:
    draft = build.draft(build.line("99.9"))

    response = client.post(reverse("formulas:approve", args=[draft.pk]), follow=True)

    assertContains(response, "The shares add up to 99.9000 %; 0.1000 % is missing.")
    draft.refresh_from_db()
    assert draft.status == VersionStatus.DRAFT


def test_version_is_retired_once(client: Client, owner: User) -> None:
    version = build.approved()

    first = client.post(reverse("formulas:retire", args=[version.pk]), follow=True)
    second = client.post(reverse("formulas:retire", args=[version.pk]), follow=True)

    assertContains(first, "Version 1 is retired; no new batch can use it.")
    assertContains(second, "Only an approved version can be retired")


def test_version_warns_of_a_wax_that_goes_in_early(client: Client, owner: User) -> None:
    wax, oil = make.item(name="Beeswax"), make.item(name="Sunflower oil")
    draft = build.draft(build.line(20, wax, is_irreversible=True), build.line(80, oil))

    response = client.get(reverse("formulas:version", args=[draft.pk]))

    assertContains(
        response,
        "Beeswax is weighed before Sunflower oil of the same phase, which could be corrected: "
        "within its phase, what cannot be removed once added goes late.",
    )


@pytest.mark.parametrize("role", [Role.MAKER, Role.INSPECTOR])
def test_version_is_read_but_not_changed_by_others(client: Client, role: Role) -> None:
    version = build.draft()
    client.force_login(make.user(role))

    response = client.get(reverse("formulas:version", args=[version.pk]))

    assertNotContains(response, "Approve version")
    assert client.get(reverse("formulas:draft", args=[version.pk])).status_code == 403
    assert client.post(reverse("formulas:approve", args=[version.pk])).status_code == 403


def test_version_that_is_not_there_is_not_found(client: Client, owner: User) -> None:
    assert client.get(f"/formulas/version/{10**30}/").status_code == 404


def test_paper_says_who_approved_and_what_to_mind(client: Client, owner: User) -> None:
    version = build.approved(build.line(100, make.item(name="Shea butter")), by=owner)

    response = client.get(reverse("formulas:paper", args=[version.pk]))

    text = PdfReader(BytesIO(response.content)).pages[0].extract_text()
    assert "Shea butter" in text
    assert f"Approved {make.shown()}" in text
    assert "Odile" in text
    assert "Keep water out of hot oil and wax" in text
    assert "page 1 of 1" in text


# ---- comparison ----------------------------------------------------------------------------------


def test_comparison_shows_what_changed(client: Client, owner: User) -> None:
    wax = make.item(name="Beeswax")
    first = build.approved(build.line(20, wax), build.line(80))
    second = build.draft(build.line("22.5", wax), build.line("77.5"), of=first.formula)

    response = client.get(
        reverse("formulas:compare", args=[first.formula_id]),
        {"before": first.pk, "after": second.pk},
    )

    assertContains(response, "from version 1 to version 2")
    assertContains(response, "22.5")


@pytest.mark.parametrize("odd", ["x", "99999999999999999999999999", "-1"])
def test_comparison_with_an_unknown_version_says_so(client: Client, owner: User, odd: str) -> None:
    first = build.approved()

    response = client.get(
        reverse("formulas:compare", args=[first.formula_id]),
        {"before": str(first.pk), "after": odd},
    )

    assertContains(response, "Choose a version of this formula.")
