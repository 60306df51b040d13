"""What certificates of analysis and data sheets say of lots and materials."""

import re
from decimal import Decimal
from typing import Any

import pytest
from django.db import IntegrityError, transaction
from django.test import Client
from django.urls import reverse

from tests import make
from tests.goods_in import build
from workshop.core.files.uploads import CheckedFile
from workshop.core.models import Role
from workshop.ledger.models import Item, Lot
from workshop.materials.fragrance_allergens import shares_in_lots
from workshop.materials.models import AllergenContent, SoapValue
from workshop.materials.services import data_sheets

pytestmark = pytest.mark.django_db


def keep(of: Item | Lot, **shares: str) -> None:
    found = {name.replace("_", " "): Decimal(share) for name, share in shares.items()}
    data_sheets.save_contents(of, found, by=make.user(), at=make.NOON, source="analysis 7")


def kept(of: Item | Lot) -> dict[str, str]:
    return {row.name: f"{row.share.normalize():f}" for row in of.allergens.all()}


def text(response: Any) -> str:
    """The page's words with single spaces."""
    return " ".join(response.content.decode().split())


def bare(page: Any) -> str:
    """The same with the cells of tables bare of what only dresses them."""
    return re.sub("<td[^>]*>", "<td>", text(page))


def test_figures_replace_the_former_ones_and_history_keeps_them() -> None:
    lavender = build.lot()
    keep(lavender, Linalool="35", Limonene="1")
    keep(lavender, Linalool="30")

    assert kept(lavender) == {"Linalool": "30"}
    gone = AllergenContent.history.get(name="Limonene", history_type="-")
    assert (gone.share, gone.history_user.role, gone.history_date) == (
        Decimal(1),
        Role.OWNER,
        make.NOON,
    )


def test_figures_kept_again_as_they_are_leave_no_trace_in_the_history() -> None:
    lavender = build.lot()
    keep(lavender, Linalool="35")
    keep(lavender, Linalool="35")

    assert AllergenContent.history.count() == 1


def test_saponification_value_is_kept_changed_and_removed() -> None:
    fat = build.material()
    for value in (Decimal(190), Decimal("190.5"), None):
        data_sheets.save_soap_value(fat, value, by=make.user(), at=make.NOON)

    assert [row.history_type for row in SoapValue.history.all()] == ["-", "~", "+"]


def test_figure_is_of_an_item_or_a_lot_and_possible() -> None:
    lavender = build.lot()

    odd: list[dict[str, Any]] = [
        {"item": None, "lot": None, "share": Decimal(1)},
        {"item": lavender.item, "lot": lavender, "share": Decimal(1)},
        {"lot": lavender, "share": Decimal(101)},
    ]
    for values in odd:
        with pytest.raises(IntegrityError), transaction.atomic():
            AllergenContent.objects.create(name="Linalool", **values)


def test_allergen_stands_once_in_a_lot_and_once_in_an_item() -> None:
    lavender = build.lot()
    for of in (lavender, lavender.item):
        keep(of, Linalool="1")
        values = {"lot": of} if isinstance(of, Lot) else {"item": of}
        with pytest.raises(IntegrityError), transaction.atomic():
            AllergenContent.objects.create(name="Linalool", share=Decimal(2), **values)


def test_saponification_value_is_possible() -> None:
    with pytest.raises(IntegrityError, match="soap_value_is_possible"), transaction.atomic():
        SoapValue.objects.create(item=build.material(), value=Decimal(49))


@pytest.fixture
def packer(client: Client) -> Client:
    client.force_login(make.user(Role.PACKER))
    return client


def of_lot(lot: Lot) -> str:
    return reverse("materials:lot-allergens", args=[lot.code])


def of_item(item: Item) -> str:
    return reverse("materials:material-allergens", args=[item.code])


PASTED = "Linalool: 31,5 %\r\nd-Limonene\t2000 ppm\r\nEugenol not detected\r\n"


def test_certificate_is_pasted_and_shown_as_it_was_read(packer: Client) -> None:
    lot = build.lot()
    sent = {"allergens": PASTED, "source": "analysis 7"}

    for of, address in ((lot, of_lot(lot)), (lot.item, of_item(lot.item))):
        page = packer.post(address, sent, follow=True)

        assert kept(of) == {"Linalool": "31.5", "d-Limonene": "0.2", "Eugenol": "0"}
        assert page.context["form"]["allergens"].value() == (
            "Linalool 31.5 %\nd-Limonene 0.2 %\nEugenol 0 %"
        )
        assert "Kept: 3 allergens" in text(page)
        row = "<td>d-Limonene</td> <td>Limonene</td> <td> 0.2000 </td>"
        assert row in bare(page)
        assert "Where from: analysis 7." in text(page)


def test_odd_lines_are_told_keep_the_typing_and_write_nothing(packer: Client) -> None:
    lot = build.lot()
    keep(lot, Linalool="1")
    typed = "Limonen 2\nCoumarin"

    page = packer.post(of_lot(lot), {"allergens": typed, "source": "analysis 8"})

    assert page.context["form"].errors == {
        "allergens": [
            "Line 1: “Limonen” is not on the EU list of allergens. Did you mean Limonene? If it "
            "is something else, take the line out.",
            "Line 2: “Coumarin” must end with a figure, such as 0.12 % or 1200 mg/kg.",
        ]
    }
    assert page.context["form"]["allergens"].value() == typed
    assert kept(lot) == {"Linalool": "1"}


def test_what_is_on_no_list_is_asked_about_and_then_left_out(packer: Client) -> None:
    lot = build.lot()
    sent = {"allergens": "Linalool 31.5\n1,8-Cineole 4 %", "source": ""}

    asked = packer.post(of_lot(lot), sent)
    done = packer.post(of_lot(lot), sent | {"leaves_out": "on"}, follow=True)

    assert asked.context["form"].errors == {
        "allergens": [
            "Not on the EU list of allergens: 1,8-Cineole. Correct the name, or tick below that "
            "it is left out."
        ]
    }
    assert "Kept: 1 allergen (left out, not on the list: 1,8-Cineole)" in text(done)
    assert kept(lot) == {"Linalool": "31.5"}


@pytest.mark.parametrize("written", ["80-54-6", "Lilial", "BMHCA", "Lysmeral"])
def test_prohibited_substance_is_kept_and_stands_out(packer: Client, written: str) -> None:
    lot = build.lot()

    page = packer.post(of_lot(lot), {"allergens": f"{written} 0.2 %", "source": ""}, follow=True)

    assert "Butylphenyl Methylpropional is prohibited in cosmetics" in text(page)


@pytest.mark.parametrize(
    ("values", "entry"),
    [
        ({"inci_name": "Citrus Limon (Lemon) Peel Oil"}, "Citrus Limon Peel Oil"),
        # Source: CAS numbers of the list's entries 352 and 351; 8028-48-6 is that of two.
        (
            {"inci_name": "Bergamot Fruit Oil", "cas": "8007-75-8"},
            "Citrus Aurantium Bergamia Peel Oil",
        ),
        ({"inci_name": "Linalool", "cas": "8007-75-8"}, "Linalool"),
        ({"inci_name": "Orange Oil", "cas": "8028-48-6"}, None),
        ({"inci_name": "Olea Europaea Fruit Oil", "cas": "8001-25-0"}, None),
    ],
)
def test_oil_is_found_on_the_list_by_its_name_or_else_its_number(
    values: dict[str, str], entry: str | None
) -> None:
    lot = build.lot(build.material(**values))

    assert list(shares_in_lots([lot])[lot.pk]) == ([entry] if entry else [])


def test_emptied_form_takes_the_figures_out(packer: Client) -> None:
    lot = build.lot()
    keep(lot, Linalool="1")

    page = packer.post(of_lot(lot), {"allergens": " ", "source": ""}, follow=True)

    assert "Kept: No allergens" in text(page)
    assert "No figures are entered." in text(page)
    assert kept(lot) == {}


def test_inspector_reads_the_figures_and_sees_no_form() -> None:
    lot = build.lot()
    keep(lot, Linalool="31.5")
    client = Client()
    client.force_login(make.user(Role.INSPECTOR))

    page = client.get(of_lot(lot))

    assert "<td>Linalool</td>" in bare(page)
    assert "<textarea" not in text(page)


def test_lot_made_here_has_no_certificate_of_its_own(packer: Client) -> None:
    tins = build.lot(build.packaging())

    assert packer.get(of_lot(tins)).status_code == 404
    assert packer.get(of_item(tins.item)).status_code == 404


def test_pages_of_the_lot_and_the_material_lead_to_their_allergens(packer: Client) -> None:
    lot = build.lot()

    assert of_lot(lot) in text(packer.get(reverse("ledger:lot", args=[lot.code])))
    material = packer.get(reverse("materials:material", args=[lot.item.code]))
    assert of_item(lot.item) in text(material)


def test_certificate_of_analysis_handed_in_with_the_lot_is_at_hand(packer: Client) -> None:
    lot = build.lot(analysis=CheckedFile("analysis.pdf", b"%PDF-1.7", "application/pdf"))

    assert "analysis.pdf" in text(packer.get(of_lot(lot)))
