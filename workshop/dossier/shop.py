"""What a shop is told of a product, from its approved label."""

import csv
import io
from datetime import date

from workshop.core.errors import ActionRefused
from workshop.core.models import Workshop
from workshop.dossier.models import Entry
from workshop.labels.approval.print_status import declaration_of, languages_of
from workshop.labels.content.market_terms import terms_of
from workshop.labels.models import LabelVersion
from workshop.packing.models import Product
from workshop.rules.markets.laws import law_of
from workshop.rules.markets.phrases import in_languages
from workshop.rules.product_file.online_offer import Offer

# A cell that begins so would be taken for a formula by a spreadsheet.
_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n")


def offer_of(product: Product, market: str, *, on: date) -> Offer:
    """The offer as true on a day. Raises ActionRefused where no label is approved."""
    version = LabelVersion.objects.approved().filter(product=product, market=market).first()
    if version is None:
        raise ActionRefused(f"No {market} label of {product} is approved yet.")
    terms, workshop = terms_of([product.pk]), Workshop.objects.first()
    sheet, law = terms.sheet(product, market), law_of(market)
    listed = declaration_of(version, terms.phrases_of(version.approved_at))
    party = sheet.responsible
    contact = workshop.contact if workshop else ""
    picture = Entry.objects.filter(
        product=product, key="picture", document__isnull=False
    ).select_related("document").first()  # fmt: skip
    return Offer(
        name=version.name,
        identity=version.identity,
        description=version.claims,
        maker=workshop.name if workshop else "",
        maker_address=", ".join(workshop.address.splitlines()) if workshop else "",
        maker_contact=next((w for w in contact.replace(",", " ").split() if "@" in w), contact),
        responsible=", ".join(party.lines) if party and law.needs_responsible_person else "",
        responsible_contact=party.contact if party and law.needs_responsible_person else "",
        gtin=version.gtin,
        sku=product.item.code,
        picture=picture.document.name if picture and picture.document else "",
        net_text=version.net_contents,
        net_g=version.net_g,
        net_ml=product.fill_ml,
        ingredients=listed.text.removeprefix("Ingredients: "),
        allergens=", ".join(one.name for one in listed.entries if one.group == "allergen"),
        directions=version.directions,
        warnings=version.cautions,
        origin=sheet.origin,
        needs_responsible=law.needs_responsible_person,
        true_on=on.isoformat(),
        languages=languages_of(version),
    )


def rows_to_read(offer: Offer) -> list[tuple[str, str]]:
    """What an offer says under headings in the languages of its label."""
    own = terms_of([]).phrases
    return [
        (in_languages(name.capitalize() if name.islower() else name, offer.languages, own)[0], said)
        for name, said in offer.rows()
        if said
    ]


def offer_csv(offer: Offer) -> bytes:
    """One row with its headings, for a spreadsheet: UTF-8 with its mark, RFC 4180."""
    rows = offer.rows()
    return table_csv([[name for name, _ in rows], [value for _, value in rows]])


def table_csv(rows: list[list[str]]) -> bytes:
    """Rows of text, none of which a spreadsheet takes for a formula."""
    text = io.StringIO(newline="")
    writer = csv.writer(text, quoting=csv.QUOTE_ALL)
    writer.writerows([[_harmless(cell) for cell in row] for row in rows])
    return b"\xef\xbb\xbf" + text.getvalue().encode()


def _harmless(cell: str) -> str:
    return f"'{cell}" if cell.startswith(_FORMULA) else cell
