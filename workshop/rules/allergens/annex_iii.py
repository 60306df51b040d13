"""The fragrance allergens of EU Annex III, as amended in 2023.

Source: Regulation (EC) 1223/2009, Annex III, with Regulation (EU) 2023/1545 and corrigendum
2025/90876: entry number, label name and CAS numbers, from a second-hand transcription checked
against another. Names of components and of single oils under a grouped entry are from memory.
The official text has the last word.
"""

from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

Standing = Literal["old", "revised", "new"]


@dataclass(frozen=True)
class Allergen:
    """One entry: its label name, CAS numbers, and what else counts under that name.

    `standing` says whether the 2023 rule left, revised or added it; `is_natural` marks oils and
    extracts; `most_percent` is a limit in the finished product that the entry also sets.
    """

    number: int
    name: str
    standing: Standing
    cas_numbers: str
    aliases: tuple[str, ...] = ()
    most_percent: Decimal | None = None
    is_natural: bool = False
    oral_only: bool = False

    @property
    def cas(self) -> tuple[str, ...]:
        return tuple(self.cas_numbers.split())


ALLERGENS: tuple[Allergen, ...] = (
    Allergen(45, "Benzyl Alcohol", "revised", "100-51-6"),
    Allergen(
        46, "6-Methyl Coumarin", "revised", "92-48-8", most_percent=Decimal("0.003"), oral_only=True
    ),
    Allergen(67, "Amyl Cinnamal", "old", "122-40-7"),
    Allergen(69, "Cinnamyl Alcohol", "old", "104-54-1"),
    Allergen(70, "Citral", "revised", "5392-40-5 141-27-5 106-26-3", aliases=("Geranial", "Neral")),
    Allergen(71, "Eugenol", "old", "97-53-0"),
    Allergen(72, "Hydroxycitronellal", "old", "107-75-5", most_percent=Decimal("1")),
    Allergen(
        73,
        "Isoeugenol",
        "revised",
        "97-54-1 5932-68-3 5912-86-7",
        aliases=("trans-Isoeugenol", "cis-Isoeugenol"),
        most_percent=Decimal("0.02"),
    ),
    Allergen(74, "Amylcinnamyl Alcohol", "old", "101-85-9"),
    Allergen(75, "Benzyl Salicylate", "old", "118-58-1"),
    Allergen(76, "Cinnamal", "old", "104-55-2"),
    Allergen(77, "Coumarin", "old", "91-64-5"),
    Allergen(78, "Geraniol", "old", "106-24-1"),
    Allergen(80, "Anise Alcohol", "old", "105-13-5"),
    Allergen(81, "Benzyl Cinnamate", "old", "103-41-3"),
    Allergen(82, "Farnesol", "old", "4602-84-0"),
    Allergen(84, "Linalool", "old", "78-70-6"),
    Allergen(85, "Benzyl Benzoate", "old", "120-51-4"),
    Allergen(86, "Citronellol", "revised", "106-22-9 26489-01-0 1117-61-9 7540-51-4"),
    Allergen(87, "Hexyl Cinnamal", "old", "101-86-0"),
    Allergen(
        88,
        "Limonene",
        "revised",
        "138-86-3 7705-14-8 5989-27-5 5989-54-8",
        aliases=("d-Limonene", "l-Limonene", "Dipentene"),
    ),
    Allergen(89, "Methyl 2-Octynoate", "old", "111-12-6", most_percent=Decimal("0.01")),
    Allergen(90, "Alpha-Isomethyl Ionone", "old", "127-51-5"),
    Allergen(
        91,
        "Evernia Prunastri Extract",
        "old",
        "90028-68-5",
        aliases=("Oakmoss Extract",),
        is_natural=True,
    ),
    Allergen(
        92,
        "Evernia Furfuracea Extract",
        "old",
        "90028-67-4",
        aliases=("Treemoss Extract",),
        is_natural=True,
    ),
    Allergen(109, "Pinus Mugo", "revised", "90082-72-7", is_natural=True),
    Allergen(114, "Pinus Pumila", "revised", "97676-05-6", is_natural=True),
    Allergen(
        122, "Cedrus Atlantica Oil/Extract", "revised", "92201-55-3 8023-85-6", is_natural=True
    ),
    Allergen(124, "Turpentine", "revised", "9005-90-7 8006-64-2 8052-14-0", is_natural=True),
    Allergen(131, "Alpha-Terpinene", "revised", "99-86-5", aliases=("alpha-Terpinene",)),
    Allergen(133, "Terpinolene", "revised", "586-62-9"),
    Allergen(
        154,
        "Myroxylon Pereirae Oil/Extract",
        "revised",
        "8007-00-9",
        aliases=("Peru Balsam Extract",),
        most_percent=Decimal("0.4"),
        is_natural=True,
    ),
    Allergen(
        157,
        "Rose Ketones",
        "revised",
        "43052-87-5 23726-94-5 24720-09-0 23696-85-7 57378-68-4 71048-82-3 23726-92-3 23726-91-2",
        aliases=(
            "Damascone",
            "Damascenone",
            "alpha-Damascone",
            "beta-Damascone",
            "delta-Damascone",
        ),
        most_percent=Decimal("0.02"),
    ),
    Allergen(175, "3-Propylidenephthalide", "revised", "17369-59-4", most_percent=Decimal("0.01")),
    Allergen(
        196,
        "Lippia citriodora absolute",
        "revised",
        "8024-12-2 85116-63-8",
        aliases=("Verbena Absolute",),
        most_percent=Decimal("0.2"),
        is_natural=True,
    ),
    Allergen(324, "Methyl Salicylate", "revised", "119-36-8"),
    Allergen(327, "Acetyl Cedrene", "new", "32388-55-9"),
    Allergen(328, "Amyl Salicylate", "new", "2050-08-0"),
    Allergen(329, "Anethole", "new", "104-46-1 4180-23-8", aliases=("trans-Anethole",)),
    Allergen(330, "Benzaldehyde", "new", "100-52-7"),
    Allergen(331, "Camphor", "new", "76-22-2 21368-68-3 464-49-3 464-48-2"),
    Allergen(332, "Beta-Caryophyllene", "new", "87-44-5", aliases=("beta-Caryophyllene",)),
    Allergen(
        333, "Carvone", "new", "99-49-0 6485-40-1 2244-16-8", aliases=("d-Carvone", "l-Carvone")
    ),
    Allergen(334, "Dimethyl Phenethyl Acetate", "new", "151-05-3"),
    Allergen(335, "Hexadecanolactone", "new", "109-29-5"),
    Allergen(336, "Hexamethylindanopyran", "new", "1222-05-5"),
    Allergen(337, "Linalyl Acetate", "new", "115-95-7"),
    Allergen(
        338,
        "Menthol",
        "new",
        "89-78-1 1490-04-6 2216-51-5 15356-60-2",
        aliases=("l-Menthol", "d-Menthol"),
    ),
    Allergen(339, "Trimethylcyclopentenyl Methylisopentenol", "new", "67801-20-1"),
    Allergen(340, "Salicylaldehyde", "new", "90-02-8"),
    Allergen(341, "Santalol", "new", "11031-45-1 115-71-9 77-42-9"),
    Allergen(342, "Sclareol", "new", "515-03-7"),
    Allergen(
        343,
        "Terpineol",
        "new",
        "8000-41-7 98-55-5 138-87-4 586-81-2",
        aliases=("alpha-Terpineol", "beta-Terpineol", "gamma-Terpineol"),
    ),
    Allergen(
        344,
        "Tetramethyl acetyloctahydronaphthalenes",
        "new",
        "54464-57-2 54464-59-4 68155-66-8 68155-67-9",
    ),
    Allergen(345, "Trimethylbenzenepropanol", "new", "103694-68-4"),
    Allergen(346, "Vanillin", "new", "121-33-5"),
    Allergen(
        347,
        "Cananga Odorata Oil/Extract",
        "new",
        "83863-30-3 8006-81-3 68606-83-7 93686-30-7",
        is_natural=True,
    ),
    Allergen(348, "Cinnamomum Cassia Leaf Oil", "new", "8007-80-5 84961-46-6", is_natural=True),
    Allergen(349, "Cinnamomum Zeylanicum Bark Oil", "new", "8015-91-6 84649-98-9", is_natural=True),
    Allergen(
        350,
        "Citrus Aurantium Flower Oil",
        "new",
        "72968-50-4 8028-48-6 8016-38-4",
        aliases=("Citrus Aurantium Amara Flower Oil", "Citrus Aurantium Dulcis Flower Oil"),
        is_natural=True,
    ),
    Allergen(
        351,
        "Citrus Aurantium Peel Oil",
        "new",
        "68916-04-1 72968-50-4 97766-30-8 8028-48-6 8008-57-9",
        aliases=(
            "Citrus Aurantium Amara Peel Oil",
            "Citrus Aurantium Dulcis Peel Oil",
            "Citrus Sinensis Peel Oil",
        ),
        is_natural=True,
    ),
    Allergen(
        352,
        "Citrus Aurantium Bergamia Peel Oil",
        "new",
        "8007-75-8 89957-91-5 68648-33-9 85049-52-1",
        aliases=("Citrus Aurantium Bergamia (Bergamot) Peel Oil",),
        is_natural=True,
    ),
    Allergen(
        353,
        "Citrus Limon Peel Oil",
        "new",
        "84929-31-7 8008-56-8",
        aliases=("Citrus Limon (Lemon) Peel Oil",),
        is_natural=True,
    ),
    Allergen(
        354,
        "Lemongrass Oil",
        "new",
        "8007-02-1 89998-16-3 91844-92-7",
        aliases=(
            "Cymbopogon Schoenanthus Oil",
            "Cymbopogon Flexuosus Oil",
            "Cymbopogon Citratus Leaf Oil",
        ),
        is_natural=True,
    ),
    Allergen(
        355,
        "Eucalyptus Globulus Oil",
        "new",
        "97926-40-4 8000-48-4",
        aliases=("Eucalyptus Globulus Leaf Oil",),
        is_natural=True,
    ),
    Allergen(
        356,
        "Eugenia Caryophyllus Oil",
        "new",
        "8000-34-8 8015-97-2 84961-50-2",
        aliases=(
            "Eugenia Caryophyllus Leaf Oil",
            "Eugenia Caryophyllus Flower Oil",
            "Eugenia Caryophyllus Stem Oil",
            "Eugenia Caryophyllus Bud Oil",
        ),
        is_natural=True,
    ),
    Allergen(
        357,
        "Jasmine Oil/Extract",
        "new",
        "84776-64-7 90045-94-6 8022-96-6 8024-43-9",
        aliases=("Jasminum Grandiflorum Flower Extract", "Jasminum Officinale Oil"),
        is_natural=True,
    ),
    Allergen(358, "Juniperus Virginiana Oil", "new", "8000-27-9 85085-41-2", is_natural=True),
    Allergen(
        359, "Laurus Nobilis Leaf Oil", "new", "8002-41-3 8007-48-5 84603-73-6", is_natural=True
    ),
    Allergen(
        360,
        "Lavandula Oil/Extract",
        "new",
        "91722-69-9 8022-15-9 93455-96-0 93455-97-1 92623-76-2 84776-65-8 8000-28-0 90063-37-9",
        aliases=(
            "Lavandula Angustifolia Oil",
            "Lavandula Angustifolia (Lavender) Oil",
            "Lavandula Hybrida Oil",
            "Lavandula Intermedia Oil",
        ),
        is_natural=True,
    ),
    Allergen(
        361,
        "Mentha Piperita Oil",
        "new",
        "8006-90-4 84082-70-2",
        aliases=("Mentha Piperita (Peppermint) Oil",),
        is_natural=True,
    ),
    Allergen(
        362,
        "Mentha Viridis Leaf Oil",
        "new",
        "8008-79-5 84696-51-5",
        aliases=("Mentha Viridis (Spearmint) Leaf Oil",),
        is_natural=True,
    ),
    Allergen(
        363,
        "Narcissus Extract",
        "new",
        "90064-26-9 68917-12-4 90064-27-0 90064-25-8",
        aliases=("Narcissus Poeticus Extract", "Narcissus Tazetta Extract"),
        is_natural=True,
    ),
    Allergen(
        364,
        "Pelargonium Graveolens Flower Oil",
        "new",
        "90082-51-2 8000-46-2",
        aliases=("Pelargonium Graveolens Oil", "Pelargonium Graveolens Leaf Oil"),
        is_natural=True,
    ),
    Allergen(
        365,
        "Pogostemon Cablin Oil",
        "new",
        "8014-09-3 84238-39-1",
        aliases=("Pogostemon Cablin Leaf Oil",),
        is_natural=True,
    ),
    Allergen(
        366,
        "Rose Flower Oil/Extract",
        "new",
        "8007-01-0 90106-38-0 93334-48-6 84696-47-9 84604-12-6 84604-13-7 92347-25-6",
        aliases=("Rosa Damascena Flower Oil", "Rosa Centifolia Flower Oil"),
        is_natural=True,
    ),
    Allergen(367, "Santalum Album Oil", "new", "8006-87-9 84787-70-2", is_natural=True),
    Allergen(368, "Eugenyl Acetate", "new", "93-28-7"),
    Allergen(369, "Geranyl Acetate", "new", "105-87-3"),
    Allergen(370, "Isoeugenyl Acetate", "new", "93-29-8"),
    Allergen(
        371,
        "Pinene",
        "new",
        "80-56-8 7785-70-8 127-91-3 18172-67-3",
        aliases=("alpha-Pinene", "beta-Pinene"),
    ),
)
