"""One balm under three laws: approved and printed once sheet, claims and words are in order."""

from datetime import timedelta
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from tests import make
from tests.labels import build
from workshop.core.errors import ActionRefused
from workshop.core.models import Role, User
from workshop.labels import services
from workshop.labels.approval.print_status import discrepancies, label_status
from workshop.labels.content.label import design_of, label_for
from workshop.labels.content.market_sheet_state import approval_stops, problems_of
from workshop.labels.models import LabelVersion, MarketSheet, Party, Phrase
from workshop.labels.services import versions
from workshop.labels.services.claims import answer_words, prove_claim
from workshop.labels.services.designs import save_design
from workshop.labels.services.market_sheets import approve_sheet, save_row, save_sheet
from workshop.ledger.models import Lot

pytestmark = pytest.mark.django_db

LANGUAGES = {"US": "en", "EU": "de", "UK": "fr"}


@pytest.fixture
def owner() -> User:
    return make.user(Role.OWNER)


def salve(**values: Any) -> Lot:
    build.workshop()
    return build.balm(
        is_small_package=True, identity="Hand salve", cautions="Keep away from eyes.",
        directions="Warm a little between the hands and work it in.", **values,
    )  # fmt: skip


def sold_everywhere(lot: Lot, owner: User, **values: Any) -> None:
    markets = dict.fromkeys(("sold_in_us", "sold_in_eu", "sold_in_uk"), True)
    product = lot.item.product
    save_design(product, markets | values, by=owner, at=make.NOON)
    product.refresh_from_db()


def approved(lot: Lot, market: str, owner: User) -> LabelVersion:
    draft = versions.draft_from_lot(lot, market, by=owner, at=make.NOON)
    return versions.approve(draft, by=owner, at=make.NOON)


def test_one_balm_is_approved_and_printed_under_three_laws_and_differs_where_they_do(
    owner: User,
) -> None:
    lot = salve()
    sold_everywhere(lot, owner)
    for market, language in LANGUAGES.items():
        build.sheet(lot.item.product, market, languages=[language])
        approved(lot, market, owner)
        services.log_print(lot, 3, by=owner, at=make.NOON, market=market)

    said = {market: label_status(lot, market).label for market in LANGUAGES}
    until = make.day(months=12)
    # Names: 21 CFR 701.3(c) against the glossary; persons: articles 4 and 19(1)(a).
    assert said["US"].declaration.names == (
        "Helianthus Annuus (Sunflower) Seed Oil", "Beeswax", "Calendula Officinalis Flower Extract",
    )  # fmt: skip
    assert said["EU"].declaration.names == said["UK"].declaration.names == (
        "Helianthus Annuus Seed Oil", "Cera Alba", "Calendula Officinalis Flower Extract",
    )  # fmt: skip
    assert [one.cautions for one in said.values()] == [
        "Keep away from eyes.",
        "Nicht in die Augen bringen.",
        "Éviter le contact avec les yeux.",
    ]
    assert [one.responsible_lines[:1] for one in said.values()] == [
        (),
        ("Verantwortliche Person: Fell & Ferry EU, 4 Sample Wharf, Tidemouth",),
        ("Personne responsable : Fell & Ferry UK, 4 Sample Wharf, Tidemouth",),
    ]
    assert [one.net_contents for one in said.values()] == [
        "Net wt. 2.11 oz (60 g)", "60 g (2.11 oz)", "60 g (2.11 oz)",
    ]  # fmt: skip
    assert said["EU"].date_line.startswith(f"Mindestens haltbar bis: {until.day}.")
    # What no law tells apart is the same.
    assert (
        len({(one.name, one.certifier_line, one.gtin, one.maker_lines) for one in said.values()})
        == 1
    )


def test_missing_responsible_person_stops_paper_and_approval(owner: User) -> None:
    lot = salve()
    sold_everywhere(lot, owner)
    named = build.party("EU")
    sheet = build.sheet(
        lot.item.product, "EU", responsible=None, approved_by=None, approved_at=None
    )

    assert any("No responsible person" in one for one in label_for(lot, "EU").stops)
    with pytest.raises(ActionRefused, match="No responsible person"):
        approve_sheet(sheet, by=owner, at=make.NOON)
    with pytest.raises(ActionRefused, match="articles 4 and 19"):
        approved(lot, "EU", owner)
    with pytest.raises(ActionRefused, match="No responsible person"):
        services.log_print(lot, 1, by=owner, at=make.NOON, market="EU")

    save_sheet(sheet, {"responsible": named}, by=owner, at=make.NOON)
    assert approve_sheet(sheet, by=owner, at=make.NOON).approved_by == owner


def test_sheet_that_changes_is_approved_anew(owner: User) -> None:
    lot = salve()
    sheet = build.sheet(lot.item.product)

    save_sheet(sheet, {"function": "Foot salve"}, by=owner, at=make.NOON)

    with pytest.raises(ActionRefused, match="sheet for US is not approved yet"):
        approved(lot, "US", owner)


def test_claim_needs_evidence_and_a_drug_word_an_answer(owner: User) -> None:
    lot = salve()
    sold_everywhere(lot, owner, claims="Heals cracked hands")
    product = lot.item.product
    build.sheet(product)

    with pytest.raises(ActionRefused) as refused:
        approved(lot, "US", owner)
    assert "There is no evidence for the claim “Heals cracked hands”" in refused.value.message
    assert "321(g)(1)(B)" in refused.value.message

    prove_claim(
        product, claim="Heals cracked hands", evidence="Asked ten people", dated=make.DAY,
        by=owner, at=make.NOON, token="a",
    )  # fmt: skip
    with pytest.raises(ActionRefused, match="“heals” in"):
        approved(lot, "US", owner)

    for word in ("heals", "cracked hands"):
        answer_words(
            product, sentence="Heals cracked hands", word=word, answer="Our counsel agrees.",
            by=owner, at=make.NOON, token=word,
        )  # fmt: skip
    assert approved(lot, "US", owner).state == "approved"


def test_claims_of_the_organic_share_are_the_book_s_to_bear_out(owner: User) -> None:
    lot = salve()
    sold_everywhere(lot, owner, claims="with 0 % organic oils")
    build.sheet(lot.item.product)

    assert "bears out" not in " ".join(approval_stops(
        versions.draft_from_lot(lot, "US", by=owner, at=make.NOON)
    ))  # fmt: skip


def test_words_without_a_translation_are_asked_for_and_the_owner_s_own_are_used(
    owner: User, client: Client
) -> None:
    lot = salve()
    sold_everywhere(lot, owner)
    product = lot.item.product
    product.cautions = "Melts in the sun."
    product.save()
    build.sheet(product, "EU", languages=["de"])
    with pytest.raises(ActionRefused, match=r"nothing for “Melts in the sun\.”"):
        approved(lot, "EU", owner)

    client.force_login(owner)
    words = {"language": "de", "english": "Melts in the sun", "text": "Schmilzt in der Sonne"}
    client.post(reverse("labels:words"), words)

    assert label_for(Lot.objects.get(pk=lot.pk), "EU").cautions == "Schmilzt in der Sonne."


def test_approved_label_keeps_the_words_an_owner_had_then_whatever_becomes_of_the_table(
    owner: User, client: Client
) -> None:
    # Our own promise: an approved label is printed as it was approved, to its last word.
    lot = salve()
    sold_everywhere(lot, owner)
    build.sheet(lot.item.product, "EU", languages=["de"])
    client.force_login(owner)

    def keeps(english: str, text: str, minutes: int) -> None:
        at = make.NOON + timedelta(minutes=minutes)
        row = Phrase.objects.filter(language="de", english=english).first() or Phrase()
        save_row(row, {"language": "de", "english": english, "text": text}, by=owner, at=at)

    keeps("Lot {}", "Los {}", -2)
    keeps("Lot {}", "Partie {}", -1)
    version = approved(lot, "EU", owner)
    words = label_status(lot, "EU").label.text
    keeps("Lot {}", "Nummer {}", 1)
    keeps("Best used before the end of: {}", "Haltbar bis Ende {}", 1)
    keeps("Keep away from eyes", "Von den Augen fernhalten", 1)

    fresh = Lot.objects.get(pk=lot.pk)
    assert f"Partie {lot}" in words
    assert label_status(fresh, "EU").label.text == words
    assert f"Nummer {lot}" in label_for(fresh, "EU").lot_line
    assert "Haltbar bis Ende" in label_for(fresh, "EU").date_line
    # Nor does a row that is taken out again, or a version that is retired, lose a word of it.
    Phrase.objects.all().delete()
    assert label_status(Lot.objects.get(pk=lot.pk), "EU").label.text == words
    page = client.get(reverse("labels:version", args=[version.pk])).content.decode()
    assert "data:image/png" in page


@pytest.mark.parametrize(
    ("wax_is_organic", "said", "shown"),
    [
        (True, "100 Prozent aus ökologischem Landbau / "
         "100 pour cent issu de l’agriculture biologique", "100 percent organic"),
        (False, "Hergestellt mit Zutaten aus ökologischem Landbau: Sonnenblumenöl / "
         "Fabriqué avec des ingrédients issus de l’agriculture biologique : huile de tournesol",
         "Made with organic Sunflower oil"),
    ],
)  # fmt: skip
def test_organic_words_stand_in_the_languages_of_the_label_and_are_held_to_the_certifier(
    owner: User, *, wax_is_organic: bool, said: str, shown: str
) -> None:
    # Regulation (EC) 1223/2009, article 19(5) and 20(1): words that a buyer reads and is not
    # misled by; 7 CFR 205.303(b)(2), the certifier below the maker.
    workshop = build.workshop(certified_by="Evergrain Assurance")
    until = make.day(365)
    oil = build.oil("Helianthus Annuus Seed Oil", "Sunflower oil", organic_until=until)
    wax = build.oil("Cera Alba", "Beeswax", **{"organic_until": until} if wax_is_organic else {})
    lot = build.finished(
        [(oil, 800), (wax, 200)], is_small_package=True, identity="Hand salve", claims_organic=True
    )
    sold_everywhere(lot, owner)
    for market, languages in {"EU": ["de", "fr"], "US": ["en"]}.items():
        build.sheet(lot.item.product, market, languages=languages)
        approved(lot, market, owner)

    at_once = Lot.objects.get(pk=lot.pk)
    abroad, home = label_status(at_once, "EU"), label_status(at_once, "US")
    assert (abroad.label.organic_statement, home.label.organic_statement) == (said, shown)
    assert abroad.label.certifier_line == "Ökologisch zertifiziert durch Evergrain Assurance"
    assert home.label.certifier_line == "Certified organic by Evergrain Assurance"
    assert (abroad.untrue, home.untrue) == ((), ())
    # A label that was approved with the certifier in English stays true; one of another does not.
    version = LabelVersion.objects.get(market="EU")
    version.certifier_line = "Certified organic by Evergrain Assurance"
    assert discrepancies(abroad.computed, version) == ()
    workshop.certified_by = "Someone Else"
    workshop.save()
    told = " ".join(one.sentence for one in label_status(at_once, "EU").untrue)
    assert "“Ökologisch zertifiziert durch Someone Else”" in told


def test_organic_ingredient_without_a_name_in_the_language_is_pointed_out(owner: User) -> None:
    build.workshop()
    oil = build.oil("Crambe Abyssinica Seed Oil", "Crambe oil", organic_until=make.day(365))
    wax = build.oil("Cera Alba", "Beeswax")
    parts = [(oil, 800), (wax, 200)]
    lot = build.finished(parts, identity="Hand salve", claims_organic=True)
    sold_everywhere(lot, owner)
    build.sheet(lot.item.product, "EU", languages=["de"])

    told = " ".join(label_for(lot, "EU").warnings)

    assert "no German name for “Crambe oil”" in told
    assert "Crambe" not in " ".join(label_for(lot, "US").warnings)


def test_organic_words_on_an_approved_label_and_in_the_shop_are_those_of_its_day(
    owner: User, client: Client
) -> None:
    build.workshop(contact="hello@example.com")
    oil = build.oil("Helianthus Annuus Seed Oil", organic_until=make.day(365))
    lot = build.finished([(oil, 1000)], is_small_package=True, identity="Hand salve")
    sold_everywhere(lot, owner)
    build.sheet(lot.item.product, "EU", languages=["de"])
    version = approved(lot, "EU", owner)
    row = {"language": "de", "english": "* organic ingredient", "text": "* bio"}
    save_row(Phrase(), row, by=owner, at=make.NOON + timedelta(minutes=1))
    client.force_login(owner)

    shop = reverse("dossier:shop-file", args=[lot.item.code, "EU", "csv"])
    pages = [shop, reverse("labels:version", args=[version.pk])]
    for page in (client.get(address).content.decode() for address in pages):
        assert "* aus ökologischem Landbau" in page
        assert "* bio" not in page


def test_date_and_origin_need_words_in_each_language_of_the_label(
    owner: User, client: Client
) -> None:
    # Regulation (EC) 1223/2009, article 19(5): the particulars of (1)(b), (c), (d) and (f) in the
    # language of the country.
    lot = salve()
    sold_everywhere(lot, owner)
    product = lot.item.product
    sheet = build.sheet(product, "EU", languages=["el"], function="Hand salve")

    told = " ".join(one.told for one in problems_of(sheet))
    for words in ("Best used before the end of: {}", "Country of origin: {}", "Hand salve"):
        assert f"nothing for “{words}”" in told

    client.force_login(owner)
    greek = {
        "Best used before the end of: {}": "Ανάλωση κατά προτίμηση πριν από το τέλος: {}",
        "Country of origin: {}": "Χώρα προέλευσης: {}", "Hand salve": "Κρέμα χεριών",
        "Keep away from eyes.": "Μακριά από τα μάτια.",
        "Warm a little between the hands and work it in.": "Ζεστάνετε και απλώστε.",
    }  # fmt: skip
    for english, text in greek.items():
        sent = {"language": "el", "english": english, "text": text}
        assert client.post(reverse("labels:words"), sent).status_code == 302
    assert problems_of(MarketSheet.objects.get(pk=sheet.pk)) == ()
    until = make.day(months=12)
    assert f"τέλος: {until:%d.%m.%Y}" in label_for(Lot.objects.get(pk=lot.pk), "EU").date_line
    odd = {"language": "el", "english": "Lot {}", "text": "Παρτίδα {} {a}"}
    assert "with nothing between" in client.post(reverse("labels:words"), odd).content.decode()


def test_pages_of_markets_are_shown_and_keep_what_is_entered(owner: User, client: Client) -> None:
    lot = salve(fill_g=30)
    client.force_login(owner)
    code = lot.item.code
    firm = {"market": "EU", "name": "Fell & Ferry", "address": "4 Wharf", "country": "de"}
    client.post(reverse("labels:new-party"), firm)
    address = reverse("labels:sheet", args=[code, "EU"])
    entered = {
        "product_class": "cosmetic", "responsible": Party.objects.get().pk, "origin": "USA",
        "languages": "de, fr", "substantiated_by": "R. Assessor",
        "substantiated_on": make.DAY.isoformat(),
    }  # fmt: skip

    page = client.post(address, entered, follow=True).content.decode()

    assert "the sheet has all that the rules ask for" in page
    assert MarketSheet.objects.get().languages == ["de", "fr"]
    client.post(reverse("labels:approve-sheet", args=[code, "EU"]))
    assert MarketSheet.objects.get().approved_by == owner
    own = {"market": "EU", "inci_name": "Cera Alba", "name": "Cera Flava"}
    client.post(reverse("labels:names"), own)
    assert "Cera Flava" in label_for(Lot.objects.get(pk=lot.pk), "EU").declaration.names
    for name in ("claims", "sheet"):
        args = [code, "UK"] if name == "sheet" else [code]
        assert client.get(reverse(f"labels:{name}", args=args)).status_code == 200


def test_balm_is_no_true_soap(owner: User) -> None:
    # 21 CFR 701.20(a)(1): the bulk of its nonvolatile matter is an alkali salt of fatty acids.
    lot = salve()
    build.sheet(lot.item.product, product_class="soap")

    assert any("without lye" in one for one in label_for(lot).stops)
    with pytest.raises(ActionRefused, match=r"701\.20\(a\)\(1\)"):
        services.log_print(lot, 1, by=owner, at=make.NOON)


def test_only_an_owner_keeps_sheets(owner: User) -> None:
    lot = salve()
    packer, sheet = make.user(Role.PACKER), build.sheet(lot.item.product)

    with pytest.raises(ActionRefused, match="Only an owner"):
        save_sheet(sheet, {}, by=packer, at=make.NOON)
    with pytest.raises(ActionRefused, match="Only an owner"):
        save_row(Party(), {}, by=packer, at=make.NOON)
    assert design_of(lot.item.product).claims == ""
