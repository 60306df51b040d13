"""The words that labels carry, in the languages of a market: a table that an owner extends.

Source: the words of the date in German and French are those usual beside Regulation (EC) 1223/2009,
article 19(1)(c), from memory; the other translations are our own.
"""

from collections.abc import Mapping
from datetime import date

# By language, and within it by the English words, without case and without a full stop.
Phrases = Mapping[tuple[str, str], str]

LANGUAGES = {"en": "English", "de": "German", "fr": "French"}
MONTHS = {
    "en": "Jan, Feb, Mar, Apr, May, Jun, Jul, Aug, Sep, Oct, Nov, Dec",
    "de": "Jan., Feb., März, April, Mai, Juni, Juli, Aug., Sept., Okt., Nov., Dez.",
    "fr": "janv., févr., mars, avril, mai, juin, juil., août, sept., oct., nov., déc.",
}
# English, German, French; {} stands for what is filled in.
TABLE = (
    ("Best used before the end of: {}", "Mindestens haltbar bis: {}",
     "À utiliser de préférence avant fin : {}"),
    ("Best by {}", "Am besten vor {}", "À consommer de préférence avant le {}"),
    ("Keeps {} months from {}", "{} Monate haltbar ab {}", "Se conserve {} mois à partir du {}"),
    ("Use within {} months of opening", "Nach dem Öffnen {} Monate haltbar",
     "À utiliser dans les {} mois après ouverture"),
    ("Lot {}", "Charge {}", "Lot {}"),
    ("Country of origin: {}", "Ursprungsland: {}", "Pays d’origine : {}"),
    ("Responsible person: {}", "Verantwortliche Person: {}", "Personne responsable : {}"),
    ("Manufactured by {}", "Hersteller: {}", "Fabricant : {}"),
    ("Manufactured for {}", "Hergestellt für {}", "Fabriqué pour {}"),
    ("Distributed by {}", "Vertrieb: {}", "Distribué par {}"),
    ("* organic ingredient", "* aus ökologischem Landbau",
     "* ingrédient issu de l’agriculture biologique"),
    ("100 percent organic", "100 Prozent aus ökologischem Landbau",
     "100 pour cent issu de l’agriculture biologique"),
    ("{}% organic ingredients", "{} % Zutaten aus ökologischem Landbau",
     "{} % d’ingrédients issus de l’agriculture biologique"),
    ("Made with organic {}", "Hergestellt mit Zutaten aus ökologischem Landbau: {}",
     "Fabriqué avec des ingrédients issus de l’agriculture biologique : {}"),
    ("{} and {}", "{} und {}", "{} et {}"),
    ("Certified organic by {}", "Ökologisch zertifiziert durch {}", "Certifié biologique par {}"),
    ("Name", "Name", "Nom"),
    ("What it is", "Produktart", "Type de produit"),
    ("Net contents", "Inhalt", "Contenu net"),
    ("Ingredients", "Bestandteile", "Ingrédients"),
    ("Allergens", "Allergene", "Allergènes"),
    ("Directions", "Anwendung", "Conseils d’utilisation"),
    ("Warnings", "Warnhinweise", "Précautions d’emploi"),
    ("Maker", "Hersteller", "Fabricant"),
    ("Maker's electronic address", "E-Mail des Herstellers", "Courriel du fabricant"),
    ("Responsible person", "Verantwortliche Person", "Personne responsable"),
    ("Responsible person's electronic address", "E-Mail der verantwortlichen Person",
     "Courriel de la personne responsable"),
    ("Country of origin", "Ursprungsland", "Pays d’origine"),
    ("GTIN", "GTIN", "GTIN"),
    ("Number", "Nummer", "Référence"),
    ("Picture", "Bild", "Image"),
    ("True on", "Stand", "À jour au"),
    ("Beeswax", "Bienenwachs", "cire d’abeille"),
    ("Candelilla wax", "Candelillawachs", "cire de candelilla"),
    ("Carnauba wax", "Carnaubawachs", "cire de carnauba"),
    ("Sunflower", "Sonnenblumenöl", "huile de tournesol"),
    ("Sunflower oil", "Sonnenblumenöl", "huile de tournesol"),
    ("Olive oil", "Olivenöl", "huile d’olive"),
    ("Coconut oil", "Kokosöl", "huile de coco"),
    ("Castor oil", "Rizinusöl", "huile de ricin"),
    ("Jojoba oil", "Jojobaöl", "huile de jojoba"),
    ("Sweet almond oil", "Mandelöl", "huile d’amande douce"),
    ("Rapeseed oil", "Rapsöl", "huile de colza"),
    ("Hemp seed oil", "Hanfsamenöl", "huile de chanvre"),
    ("Rosehip oil", "Hagebuttenkernöl", "huile de rose musquée"),
    ("Argan oil", "Arganöl", "huile d’argan"),
    ("Avocado oil", "Avocadoöl", "huile d’avocat"),
    ("Shea butter", "Sheabutter", "beurre de karité"),
    ("Cocoa butter", "Kakaobutter", "beurre de cacao"),
    ("Mango butter", "Mangobutter", "beurre de mangue"),
    ("Balm", "Balsam", "Baume"),
    ("Hand salve", "Handsalbe", "Baume pour les mains"),
    ("Hand cream", "Handcreme", "Crème pour les mains"),
    ("Foot salve", "Fußsalbe", "Baume pour les pieds"),
    ("Foot balm", "Fußbalsam", "Baume pour les pieds"),
    ("Lip balm", "Lippenpflege", "Baume à lèvres"),
    ("Beard balm", "Bartbalsam", "Baume à barbe"),
    ("Body butter", "Körperbutter", "Beurre corporel"),
    ("Body lotion", "Körperlotion", "Lait corporel"),
    ("Cleansing balm", "Reinigungsbalsam", "Baume démaquillant"),
    ("Bar soap", "Seife", "Savon"),
    ("Soap", "Seife", "Savon"),
    ("Barrier balm", "Schutzbalsam", "Baume protecteur"),
    ("Skin balm", "Hautbalsam", "Baume pour la peau"),
    ("Skin care", "Hautpflege", "Soin de la peau"),
    ("For dry skin", "Für trockene Haut", "Pour les peaux sèches"),
    ("Unscented", "Ohne Duft", "Non parfumé"),
    ("For external use only", "Nur zur äußerlichen Anwendung", "Usage externe uniquement"),
    ("Keep away from eyes", "Nicht in die Augen bringen", "Éviter le contact avec les yeux"),
    ("Avoid contact with eyes", "Kontakt mit den Augen vermeiden",
     "Éviter le contact avec les yeux"),
    ("Keep away from the eyes", "Nicht in die Augen bringen", "Éviter le contact avec les yeux"),
    ("Rinse with water if it gets into the eyes", "Bei Augenkontakt mit Wasser ausspülen",
     "En cas de contact avec les yeux, rincer à l’eau"),
    ("Keep out of reach of children", "Darf nicht in die Hände von Kindern gelangen",
     "Tenir hors de portée des enfants"),
    ("Do not use on broken skin", "Nicht auf verletzter Haut anwenden",
     "Ne pas appliquer sur une peau lésée"),
    ("Stop using it if the skin reddens", "Bei Hautrötung nicht weiter verwenden",
     "Cesser l’utilisation en cas de rougeur"),
    ("Stop use if irritation occurs", "Bei Reizung nicht weiter verwenden",
     "Cesser l’utilisation en cas d’irritation"),
    ("Discontinue use if irritation occurs", "Bei Reizung nicht weiter verwenden",
     "Cesser l’utilisation en cas d’irritation"),
    ("Test on a small area first", "Zuerst auf einer kleinen Hautstelle testen",
     "Tester d’abord sur une petite surface"),
    ("Store cool and dry", "Kühl und trocken lagern", "Conserver au frais et au sec"),
    ("Store in a cool, dry place", "Kühl und trocken lagern",
     "Conserver dans un endroit frais et sec"),
    ("Keep it dry between washes", "Zwischen den Wäschen trocken lagern",
     "Laisser sécher entre deux utilisations"),
    ("Not suitable for children under three", "Nicht für Kinder unter drei Jahren",
     "Ne convient pas aux enfants de moins de trois ans"),
    ("Apply to dry skin", "Auf trockene Haut auftragen", "Appliquer sur la peau sèche"),
    ("Massage into clean skin", "In die gereinigte Haut einmassieren",
     "Masser sur une peau propre"),
    ("Warm a little between the hands and work it in",
     "Ein wenig zwischen den Händen erwärmen und einmassieren",
     "Réchauffer une noisette entre les mains et faire pénétrer"),
    ("Smooth a thin layer onto dry skin", "Dünn auf trockene Haut auftragen",
     "Appliquer en couche mince sur la peau sèche"),
    ("Massage onto damp skin, then rinse off", "Auf feuchter Haut einmassieren, dann abspülen",
     "Masser sur la peau humide, puis rincer"),
    ("Lather with water and rinse off", "Mit Wasser aufschäumen und abspülen",
     "Faire mousser avec de l’eau et rincer"),
)  # fmt: skip


def _key(text: str) -> str:
    return " ".join(text.split()).rstrip(".").casefold()


def _own_table() -> dict[tuple[str, str], str]:
    found: dict[tuple[str, str], str] = {}
    for english, german, french in TABLE:
        found["de", _key(english)], found["fr", _key(english)] = german, french
    return found


BUILT_IN: Phrases = _own_table()


def phrase(english: str, language: str, own: Phrases | None = None) -> str | None:
    """Return words of the table in a language; `own` are the owner's, which come first.

    Units, error: none. Source: the table. Raises: nothing.

    >>> phrase("Keep away from eyes.", "de"), phrase("Keep away from eyes.", "is")
    ('Nicht in die Augen bringen', None)
    """
    if language == "en":
        return english
    key = (language, _key(english))
    return (own or {}).get(key) or BUILT_IN.get(key)


def own_phrases(rows: Mapping[tuple[str, str], str]) -> dict[tuple[str, str], str]:
    """Return an owner's rows, by language and English words, as `phrase` looks for them.

    >>> own_phrases({("de", "Foot wax.")  : "Fußwachs"})
    {('de', 'foot wax'): 'Fußwachs'}
    """
    return {(language, _key(english)): text for (language, english), text in rows.items()}


def _line_in(line: str, language: str, own: Phrases | None, missing: list[str]) -> str:
    """A line as a whole, else sentence by sentence; what is not known stays and is told."""
    whole = phrase(line, language, own)
    if whole is not None:
        return _as_ended(whole, line)
    sentences = [part for part in line.replace(". ", ".\n").splitlines() if part.strip()]
    said = []
    for sentence in sentences:
        known = phrase(sentence, language, own)
        if known is None:
            missing.append(sentence.strip())
        said.append(_as_ended(known or sentence, sentence))
    return " ".join(said)


def _as_ended(words: str, like: str) -> str:
    return f"{words}." if like.rstrip().endswith(".") and not words.endswith(".") else words


def in_languages(
    text: str, languages: tuple[str, ...], own: Phrases | None = None
) -> tuple[str, list[str]]:
    """Return a text in the languages of a label, and what the table has no words for.

    A text of several lines stands language after language; one line has them side by side.

    Units, error: none. Source: the table. Raises: nothing.

    >>> in_languages("Hand salve", ("de", "fr"))
    ('Handsalbe / Baume pour les mains', [])
    >>> in_languages("For external use only. Do not eat.", ("de",))
    ('Nur zur äußerlichen Anwendung. Do not eat.', ['Do not eat.'])
    """
    missing: list[str] = []
    lines = [line for line in text.splitlines() if line.strip()]
    told = [[_line_in(line, language, own, missing) for line in lines] for language in languages]
    if len(lines) == 1 and len(lines[0]) < 60:
        return " / ".join(dict.fromkeys(one[0] for one in told)), list(dict.fromkeys(missing))
    parts = dict.fromkeys("\n".join(one) for one in told)
    return "\n".join(parts), list(dict.fromkeys(missing))


def filled(english: str, values: tuple[str, ...], language: str, own: Phrases | None = None) -> str:
    """Return a phrase of the table with its gaps filled; in English where it is not known.

    >>> filled("Lot {}", ("K7",), "de")
    'Charge K7'
    """
    parts = (phrase(english, language, own) or english).split("{}")
    gaps = [*values[: len(parts) - 1], *[""] * (len(parts) - 1 - len(values)), ""]
    return "".join(part + gap for part, gap in zip(parts, gaps, strict=True))


def day_in(day: date, language: str) -> str:
    """Return a day as labels in a language write it; without a table of months in figures.

    >>> day_in(date(2027, 3, 5), "de"), day_in(date(2027, 3, 5), "fr")
    ('5. März 2027', '5 mars 2027')
    >>> day_in(date(2027, 3, 5), "nl")
    '05.03.2027'
    """
    months = MONTHS.get(language)
    if months is None:
        return f"{day.day:02}.{day.month:02}.{day.year}"
    number = f"{day.day}." if language == "de" else str(day.day)
    return f"{number} {months.split(', ')[day.month - 1]} {day.year}"
