"""A formula with lye: what is said of it, what cannot be approved, and the lye that fats need."""

from decimal import Decimal
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from pytest_django.asserts import assertContains, assertNotContains

from tests import make
from tests.formulas import build
from tests.kettle import soaps
from workshop.core.errors import ActionRefused
from workshop.core.models import Role
from workshop.formulas import services
from workshop.formulas.models import Version, VersionStatus
from workshop.materials.models import BlendPart, SoapValue
from workshop.materials.saponification import LITTLE_LYE
from workshop.rules.soap.lye import CAUTIONS

pytestmark = pytest.mark.django_db
NARROW = "\u202f"


def drafted(shares: soaps.Shares, **values: Any) -> Version:
    values.setdefault("cure_days", 42)
    return build.draft(*(build.line(share, item) for item, share in shares), **values)


def refusal(version: Version) -> str:
    with pytest.raises(ActionRefused) as caught:
        services.approve(version, by=make.user(), at=make.NOON)
    version.refresh_from_db()
    assert version.status == VersionStatus.DRAFT
    return caught.value.message


def approve(version: Version) -> Version:
    return services.approve(version, by=make.user(), at=make.NOON)


def test_soap_with_lye_left_over_is_not_approved() -> None:
    # By hand, ISO 3657: 48 x 0.190 + 16 x 0.2565 = 13.224 of KOH, 9.427 of NaOH; 10 are 6.1 % more.
    sentence = refusal(drafted(soaps.lye_heavy()))

    assert sentence.startswith(f"The superfat comes to −6.1{NARROW}%; by the published values")
    assert "There is more lye than these fats can bind" in sentence


def test_soap_that_only_the_lowest_published_values_leave_lye_over_in_is_not_approved() -> None:
    # 76 of olive oil bind 10.29 of NaOH at 190, 9.97 at the 184 of CXS 33.
    shares = [(soaps.olive(), "76"), (soaps.water(), "13.9"), (soaps.lye(), "10.1")]

    assert "at the lowest of their published values" in refusal(drafted(shares))


def test_narrow_data_sheet_does_not_talk_the_published_value_away() -> None:
    oil = soaps.olive()
    SoapValue.objects.filter(item=oil).update(least=Decimal(189), most=Decimal(191))
    shares = [(oil, "76"), (soaps.water(), "13.9"), (soaps.lye(), "10.1")]

    assert "at the lowest of their published values" in refusal(drafted(shares))


def test_lowest_value_of_the_data_sheet_counts_below_the_published_one() -> None:
    oil = soaps.olive()
    SoapValue.objects.filter(item=oil).update(least=Decimal(170))

    assert "lye would be left over" in refusal(drafted(soaps.sound(oil)))


def test_soap_with_enough_fat_is_approved() -> None:
    assert approve(drafted(soaps.sound())).status == VersionStatus.APPROVED


def test_fat_without_a_value_is_to_be_entered_first() -> None:
    sentence = refusal(drafted(soaps.sound(soaps.olive(None))))

    assert "no saponification value is kept for Olea Europaea Fruit Oil" in sentence


def test_fat_is_known_by_its_name_although_nobody_gave_it_a_soap_name() -> None:
    nameless = soaps.item("Grape oil", "Vitis Vinifera Seed Oil")
    shares = [(soaps.olive(), "70"), (nameless, "6"), (soaps.water(), "15"), (soaps.lye(), "9")]

    assert "kept for Vitis Vinifera Seed Oil" in refusal(drafted(shares))

    SoapValue.objects.create(item=nameless, value=0)
    assert approve(drafted(shares)).status == VersionStatus.APPROVED


def test_material_that_nobody_described_keeps_the_superfat_from_being_told() -> None:
    shares = [*soaps.sound()[:1], (make.item(name="Something"), "14.2"), (soaps.lye(), "9.8")]

    assert "Something has no ingredient profile yet" in refusal(drafted(shares))


def test_alkali_that_is_no_hydroxide_is_not_reckoned() -> None:
    ash = soaps.item("Ash", "Sodium Carbonate", kind="alkali")

    sentence = refusal(drafted([(soaps.olive(), "90"), (ash, "10")]))

    assert "Sodium Carbonate is entered as an alkali" in sentence


def test_lye_is_lye_although_somebody_called_it_plain() -> None:
    lye = soaps.item("Pearls", "Sodium Hydroxide")

    assert "There is more lye" in refusal(drafted([(soaps.olive(), "80"), (lye, "20")]))


def test_lye_bought_as_a_solution_counts() -> None:
    solution = soaps.item("Lye, 50 %", "Sodium Hydroxide, Aqua")
    for name, kind in (("Sodium Hydroxide", "alkali"), ("Aqua", "water")):
        BlendPart.objects.create(
            profile=solution.profile, inci_name=name, kind=kind, share=Decimal(50)
        )

    # 70 of olive oil bind 9.48 of NaOH; half of 30 are 15.
    assert "There is more lye" in refusal(drafted([(soaps.olive(), "70"), (solution, "30")]))


def test_stand_in_that_binds_less_is_reckoned_with() -> None:
    jojoba = soaps.item("Jojoba", "Simmondsia Chinensis Seed Oil", 94)
    oil, water, lye = (
        build.line(share, item, substitutes=[jojoba] if share == "76" else [])
        for item, share in soaps.sound()
    )

    sentence = refusal(build.draft(oil, water, lye, cure_days=42))

    assert sentence.startswith("With what may stand in for an ingredient: The superfat comes to −")


def test_fats_of_a_bulk_made_here_count() -> None:
    infusion = build.formula()
    herb = soaps.item("Herb", "Calendula Officinalis Flower")
    approve(build.draft(build.line(95, soaps.olive()), build.line(5, herb), of=infusion))
    shares = [(infusion.item, "76"), (soaps.water(), "15"), (soaps.lye(), "9")]

    # 72.2 of olive oil bind 9.78 of NaOH; at 184 still 9.47.
    assert approve(drafted(shares)).status == VersionStatus.APPROVED


def test_soap_says_how_long_it_cures() -> None:
    assert "how many days it cures" in refusal(drafted(soaps.sound(), cure_days=None))
    assert approve(drafted(soaps.sound(), cure_days=0)).cure_days == 0


def test_drop_of_lye_that_sets_the_ph_makes_no_soap() -> None:
    # By CLP a solution of less than 0.5 % is of no hazard class.
    gel = [(soaps.item("Gum", "Carbomer"), "1"), (soaps.water(), "98.6"), (soaps.lye(), "0.4")]

    version = drafted(gel, cure_days=None)

    assert approve(version).status == VersionStatus.APPROVED


def test_cure_cannot_change_once_approved() -> None:
    version = approve(drafted(soaps.sound()))

    with pytest.raises(Exception, match="Only a draft may change"):
        Version.objects.filter(pk=version.pk).update(cure_days=1)


# ---- pages ---------------------------------------------------------------------------------------


@pytest.fixture
def owner(client: Client) -> Client:
    client.force_login(make.user(Role.OWNER))
    return client


def page(name: str, version: Version) -> str:
    return reverse(f"formulas:{name}", args=[version.pk])


def test_page_of_a_version_shows_its_superfat_and_the_cautions(owner: Client) -> None:
    version = drafted([*soaps.sound()[:2], (soaps.lye(), "9.8")])

    shown = owner.get(page("version", version))

    assertContains(shown, f"The superfat comes to 4.8{NARROW}%")
    assertContains(shown, f"it lies from 1.7{NARROW}% to 7.7{NARROW}%")
    assertContains(shown, f"the lye is 40.8{NARROW}%. Danger: causes severe burns")
    for caution in CAUTIONS:
        assertContains(shown, caution)
    assertContains(shown, "Approve version 1")


def test_page_says_why_there_is_no_button_to_approve(owner: Client) -> None:
    shown = owner.get(page("version", drafted(soaps.lye_heavy())))

    assertContains(shown, "It cannot be approved.")
    assertContains(shown, f"The superfat comes to −6.1{NARROW}%")
    assertNotContains(shown, "Approve version 1")


def test_page_of_a_balm_says_nothing_of_lye(owner: Client) -> None:
    shown = owner.get(page("version", build.draft()))

    assertNotContains(shown, "superfat")
    assertNotContains(shown, "Lye and fats")


def test_small_share_of_lye_is_told(owner: Client) -> None:
    gel = [(soaps.item("Gum", "Carbomer"), "1"), (soaps.water(), "98.6"), (soaps.lye(), "0.4")]

    assertContains(owner.get(page("version", drafted(gel))), LITTLE_LYE)


def typed(shares: soaps.Shares, **more: str) -> dict[str, Any]:
    data: dict[str, Any] = {"expected_loss": "2", "shelf_life_months": "12", "rework_limit": "0"}
    data |= {"lines-TOTAL_FORMS": str(len(shares)), "lines-INITIAL_FORMS": "0"}
    data |= {"steps-TOTAL_FORMS": "0", "steps-INITIAL_FORMS": "0"}
    for row, (item, share) in enumerate(shares):
        data |= {
            f"lines-{row}-item": str(item.pk),
            f"lines-{row}-share": share,
            f"lines-{row}-phase": "A",
            f"lines-{row}-tolerance": "2",
        }
    return data | more


def test_draft_shows_the_superfat_of_what_is_typed(owner: Client) -> None:
    version = build.draft()

    shown = owner.post(page("draft", version), typed(soaps.lye_heavy(), more="lines"))

    assertContains(shown, f"The superfat comes to −6.1{NARROW}%")
    assertContains(shown, page("design", version))


def test_formula_says_whose_dates_still_count_in_the_soap(client: Client) -> None:
    scent = soaps.item("Lavender oil", "Lavandula Angustifolia Oil", kind="fragrance")
    version = soaps.version(
        [(soaps.olive(), "75"), (soaps.water(), "14"), (soaps.lye(), "9"), (scent, "2")]
    )
    client.force_login(make.user(Role.INSPECTOR))

    answer = client.get(reverse("formulas:version", args=[version.pk]))

    assertContains(answer, "the dates of Lavender oil count")
