"""The file behind the salve names what is missing, and is complete once that is handed in."""

import io
import json
import re
import zipfile
from decimal import Decimal

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from PIL import Image

from tests import make
from tests.formulas import build as formulas
from tests.labels import build, paper
from tests.packing import build as packing
from workshop.core.errors import ActionRefused
from workshop.core.models import Role, User
from workshop.dossier.contents import file_of
from workshop.dossier.facts import Substance
from workshop.dossier.notifications import notification_of
from workshop.dossier.services import add_entry
from workshop.labels.models import LabelDesign
from workshop.labels.services import versions
from workshop.packing.models import Product
from workshop.rules.product_file.headings import HEADINGS, SAFETY_REPORT
from workshop.rules.product_file.notification import FIELDS

pytestmark = pytest.mark.django_db


@pytest.fixture
def owner() -> User:
    return make.user(Role.OWNER)


def salve() -> Product:
    """A salve of two materials, by an approved formula, one of them with a certificate."""
    build.workshop(contact="hello@example.com")
    oil = build.oil("Helianthus Annuus Seed Oil", organic_until=make.day(365))
    wax = build.oil("Cera Alba", cas="8012-89-3")
    melt = formulas.approved(formulas.line(80, oil.item), formulas.line(20, wax.item)).formula.item
    return packing.product(
        bulk=melt, label_name="Hand salve", identity="Balm", directions="Massage into clean skin.",
        cautions="Keep away from eyes.", is_small_package=True, gtin="9520000700607",
    )  # fmt: skip


def picture() -> SimpleUploadedFile:
    written = io.BytesIO()
    Image.new("RGB", (40, 30), "white").save(written, format="PNG")
    return SimpleUploadedFile("box.png", written.getvalue(), "image/png")


def handed_in(product: Product, owner: User, *keys: str) -> None:
    for key in keys:
        add_entry(product, key, text=f"About {key}.", by=owner, at=make.NOON, token=key)


def test_empty_file_names_each_missing_heading_and_a_filled_one_is_complete(owner: User) -> None:
    product = salve()

    found = file_of(product)

    # Known from the book: description, composition, use, what complaints say, no effect claimed.
    missing = [one.heading.key for one in found.missing]
    told = {"description", "composition", "use", "undesirable", "effects"}
    assert set(missing) == {one.key for one in HEADINGS} - told
    (composition,) = (one for one in found.sections if one.heading.key == "composition")
    assert composition.told == (
        "Helianthus Annuus Seed Oil: 80.00 %, CAS 8001-21-6, emollient",
        "Cera Alba: 20.00 %, CAS 8012-89-3, film forming, viscosity controlling",
    )
    handed_in(product, owner, *(key for key in missing if key not in (SAFETY_REPORT, "toxicology")))
    assert [one.heading.key for one in file_of(product).missing] == [SAFETY_REPORT, "toxicology"]
    handed_in(product, owner, "toxicology")
    assert file_of(product).is_complete


@pytest.mark.parametrize(
    ("percent", "told"), [("0", "not weighed"), ("0.05", "0.05 %"), ("45.7401", "45.7401 %")]
)
def test_what_an_oil_took_out_of_a_herb_has_a_name_and_no_share(percent: str, told: str) -> None:
    extract = Substance("A flower extract", "", "", Decimal(percent), is_organic=True)
    assert extract.share_text == told


def test_claim_without_evidence_is_missing_in_the_file(owner: User) -> None:
    product = salve()
    LabelDesign.objects.create(product=product, claims="Softens hands")

    (effects,) = (one for one in file_of(product).sections if one.heading.key == "effects")

    assert effects.missing == "There is no evidence for “Softens hands”."


def test_zip_holds_the_paper_its_tables_and_every_document(owner: User, client: Client) -> None:
    product = salve()
    client.force_login(owner)
    code = product.item.code
    address = reverse("dossier:entry", args=[code, "stability"])
    sent = {"token": "a", "text": "Kept at 40 °C", "document": picture()}
    assert client.post(address, sent).status_code == 302

    bundle = client.get(reverse("dossier:archive", args=[code])).content

    with zipfile.ZipFile(io.BytesIO(bundle)) as found:
        names = found.namelist()
        index = found.read("index.csv").decode("utf-8-sig")
        words = paper.text(found.read("product-file.pdf"))
    assert names[:3] == ["product-file.pdf", "index.csv", "composition.csv"]
    assert any(name.startswith("documents/stability/") for name in names)
    assert '"Annex I, part A, 2","Physical and chemical characteristics and stability"' in index
    assert "Kept at 40 °C" in words
    assert "Toxicological profile of the substances" in words


def test_text_for_the_shop_is_that_of_the_approved_label(owner: User, client: Client) -> None:
    product = salve()
    client.force_login(owner)
    args = [product.item.code, "US"]
    assert "No US label" in client.get(reverse("dossier:shop", args=args)).content.decode()
    build.sheet(product)
    draft = versions.draft_from_formula(product, "US", by=owner, at=make.NOON)
    versions.approve(draft, by=owner, at=make.NOON)

    schema, table, page = (
        client.get(reverse("dossier:shop-file", args=[*args, kind])).content.decode("utf-8-sig")
        for kind in ("json", "csv", "html")
    )

    said = {one["name"]: one["value"] for one in json.loads(schema)["additionalProperty"]}
    assert said["ingredients"] == (
        "Helianthus Annuus (Sunflower) Seed Oil*, Beeswax.\n* organic ingredient"
    )
    assert json.loads(schema)["gtin13"] == "9520000700607"
    assert '"Keep away from eyes."' in table
    assert "<dd>" in page


def test_text_for_a_shop_abroad_has_its_headings_in_the_language_of_the_label(
    owner: User, client: Client
) -> None:
    # Regulation (EU) 2023/988, article 19(d): warnings in a language that buyers understand.
    product = salve()
    client.force_login(owner)
    build.sheet(product, "EU", languages=["de"])
    draft = versions.draft_from_formula(product, "EU", by=owner, at=make.NOON)
    draft.opened_months, draft.date_style = 12, "jar"
    draft.save()
    versions.approve(draft, by=owner, at=make.NOON)

    address = reverse("dossier:shop-file", args=[product.item.code, "EU", "html"])
    page = client.get(address).content.decode()

    assert '<section lang="de">' in page
    heads = re.findall("<dt>(.*?)</dt>", page)
    assert heads == [
        "Name", "Produktart", "Inhalt", "Bestandteile", "Anwendung", "Warnhinweise", "Hersteller",
        "E-Mail des Herstellers", "Verantwortliche Person", "E-Mail der verantwortlichen Person",
        "Ursprungsland", "GTIN", "Nummer", "Stand",
    ]  # fmt: skip


def test_picture_of_the_pack_stands_in_the_text_for_the_shop(owner: User, client: Client) -> None:
    # schema.org, Product: image. Regulation (EU) 2023/988, article 19(c): a picture.
    product = salve()
    client.force_login(owner)
    build.sheet(product)
    draft = versions.draft_from_formula(product, "US", by=owner, at=make.NOON)
    versions.approve(draft, by=owner, at=make.NOON)
    address = reverse("dossier:shop-file", args=[product.item.code, "US", "json"])
    assert "image" not in json.loads(client.get(address).content)

    sent = {"token": "p", "text": "As sold", "document": picture()}
    client.post(reverse("dossier:entry", args=[product.item.code, "picture"]), sent)

    found = json.loads(client.get(address).content)
    assert found["image"] == "box.png"
    said = {one["name"]: one["value"] for one in found["additionalProperty"]}
    assert said["true on"] == make.iso()


def test_file_is_kept_ten_years_from_the_last_lot_that_the_book_knows(
    owner: User, client: Client
) -> None:
    # Regulation (EC) 1223/2009, article 11(1).
    product = salve()
    client.force_login(owner)
    page = reverse("dossier:file", args=[product.item.code])
    assert "ten years from the last lot" not in client.get(page).content.decode()
    packing.packed(product, 10)

    words = " ".join(client.get(page).content.decode().split())

    assert "ten years from the last lot" in words
    assert make.iso(months=120) in words


def test_listing_and_registration_say_when_they_are_due(owner: User, client: Client) -> None:
    # 21 U.S.C. 364c: the listing is updated yearly, the registration renewed every two years.
    product = salve()
    build.sheet(product, notified_on=make.DAY, notification_number="N-1")
    build.sheet(product, "EU", notified_on=make.DAY, notification_number="N-2")
    client.force_login(owner)

    pages = {
        market: client.get(
            reverse("dossier:notification", args=[product.item.code, market])
        ).content.decode()
        for market in ("US", "EU")
    }

    for months in (12, 24):
        assert f'<time datetime="{make.iso(months=months)}">' in pages["US"]
    assert "Update of the product listing: due by" in pages["US"]
    assert "due by" not in pages["EU"]


def test_notification_takes_what_the_book_knows_and_names_the_rest(
    owner: User, client: Client
) -> None:
    product = salve()
    build.sheet(product, "UK")

    lacking = [one.key for one in notification_of(product, "UK").missing]

    assert lacking == ["contact_person", "cmr", "label", "picture"]
    handed_in(product, owner, *(f"UK:{key}" for key in ("contact_person", "cmr", "label")))
    handed_in(product, owner, "UK:picture")
    found = notification_of(product, "UK")
    assert found.missing == ()
    assert found.fields[0].value == "Hand salve"
    client.force_login(owner)
    for market in FIELDS:
        for name in ("notification", "notification-csv"):
            assert client.get(reverse(f"dossier:{name}", args=[product.item.code, market])).content


def test_small_business_page_works_it_out(owner: User, client: Client) -> None:
    client.force_login(owner)
    year = make.DAY.year
    figures = (950_000, 1_275_000, 850_000)
    sales = {f"sales_{year - back}": usd for back, usd in enumerate(figures, 1)}

    page = client.post(reverse("dossier:small"), sales).content.decode()

    assert "On average 1,025,000 US dollars a year" in page
    assert "<strong>No.</strong>" in page


def test_only_an_owner_fills_the_file() -> None:
    product = salve()

    with pytest.raises(ActionRefused, match="Only an owner"):
        add_entry(product, "stability", text="x", by=make.user(Role.MAKER), at=make.NOON, token="a")
    with pytest.raises(ActionRefused, match="Write something"):
        add_entry(product, "stability", by=make.user(), at=make.NOON, token="a")
