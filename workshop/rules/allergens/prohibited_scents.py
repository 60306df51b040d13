"""Scents that Annex II of the EU regulation prohibits, by every name that a certificate uses.

Source: Regulation (EC) 1223/2009, Annex II: entries 423 to 450 and 1133 to 1380 from a second-hand
transcription of the consolidated text; 414 to 422, 1666 and all further names are from memory.
Left out are atranol and chloroatranol (1381, 1382) and safrole (360), which oils hold by nature in
traces that the regulation bears, and crude Peru balsam (1136), whose CAS number the extract shares,
which is allowed.
The official text has the last word.
"""

from dataclasses import dataclass


@dataclass(frozen=True)
class Prohibited:
    """One entry of Annex II: its number there, its name here, CAS numbers and other names."""

    number: int
    name: str
    cas_numbers: str
    others: tuple[str, ...] = ()

    @property
    def cas(self) -> tuple[str, ...]:
        return tuple(self.cas_numbers.split())


_ENTRIES = (
    Prohibited(
        1380,
        "Hydroxyisohexyl 3-Cyclohexene Carboxaldehyde",
        "31906-04-4 51414-25-6",
        (
            "HICC",
            "HMPCC",
            "Lyral",
            "Kovanol",
            "Mugonal",
            "Landolal",
            "Hydroxymethylpentylcyclohexenecarboxaldehyde",
            "Hydroxymethylpentyl 3-Cyclohexene Carboxaldehyde",
            "4-(4-Hydroxy-4-methylpentyl)-3-cyclohexene-1-carboxaldehyde",
            "4-(4-Hydroxy-4-methylpentyl)cyclohex-3-ene-1-carbaldehyde",
            "3-(4-Hydroxy-4-methylpentyl)cyclohex-3-ene-1-carbaldehyde",
            "3- and 4-(4-Hydroxy-4-methylpentyl)cyclohex-3-ene-1-carbaldehyde",
        ),
    ),
    Prohibited(
        1666,
        "Butylphenyl Methylpropional",
        "80-54-6",
        (
            "BMHCA",
            "p-BMHCA",
            "Lilial",
            "Lilyal",
            "Lilialdehyde",
            "Lysmeral",
            "Lilestral",
            "2-(4-tert-Butylbenzyl)propionaldehyde",
            "p-tert-Butyl-alpha-methylhydrocinnamaldehyde",
            "p-tert-Butyl-alpha-methylhydrocinnamic Aldehyde",
            "4-tert-Butyl-alpha-methylhydrocinnamaldehyde",
        ),
    ),
    Prohibited(
        414,
        "Musk Ambrette",
        "83-66-9",
        ("Ambrette Musk", "4-tert-Butyl-3-methoxy-2,6-dinitrotoluene"),
    ),
    Prohibited(421, "Moskene", "116-66-5", ("Musk Moskene",)),
    Prohibited(422, "Musk Tibetene", "145-39-1"),
    Prohibited(
        423, "Alanroot Oil", "97676-35-2", ("Alantroot Oil", "Elecampane Oil", "Inula Helenium Oil")
    ),
    Prohibited(424, "Benzyl Cyanide", "140-29-4"),
    Prohibited(425, "Cyclamen Alcohol", "4756-19-8"),
    Prohibited(426, "Diethyl Maleate", "141-05-9"),
    Prohibited(427, "3,4-Dihydrocoumarin", "119-84-6", ("Dihydrocoumarin",)),
    Prohibited(428, "2,4-Dihydroxy-3-methylbenzaldehyde", "6248-20-0"),
    Prohibited(429, "3,7-Dimethyl-2-octen-1-ol", "40607-48-5", ("6,7-Dihydrogeraniol",)),
    Prohibited(430, "4,6-Dimethyl-8-tert-butylcoumarin", "17874-34-9"),
    Prohibited(431, "Dimethyl Citraconate", "617-54-9"),
    Prohibited(432, "Pseudomethylionone", "26651-96-7"),
    Prohibited(433, "Pseudoionone", "141-10-6"),
    Prohibited(434, "Diphenylamine", "122-39-4"),
    Prohibited(435, "Ethyl Acrylate", "140-88-5"),
    Prohibited(
        436,
        "Fig Leaf Absolute",
        "68916-52-9",
        ("Ficus Carica Leaf Absolute", "Ficus Carica Leaf Extract"),
    ),
    Prohibited(437, "trans-2-Heptenal", "18829-55-5"),
    Prohibited(438, "trans-2-Hexenal Diethyl Acetal", "67746-30-9"),
    Prohibited(439, "trans-2-Hexenal Dimethyl Acetal", "18318-83-7"),
    Prohibited(440, "Hydroabietyl Alcohol", "13393-93-6"),
    Prohibited(441, "6-Isopropyl-2-decahydronaphthalenol", "34131-99-2"),
    Prohibited(442, "7-Methoxycoumarin", "531-59-9", ("Herniarin",)),
    Prohibited(443, "4-(4-Methoxyphenyl)-3-butene-2-one", "943-88-4", ("Anisylidene Acetone",)),
    Prohibited(
        444,
        "1-(4-Methoxyphenyl)-1-penten-3-one",
        "104-27-8",
        ("alpha-Methylanisylideneacetone", "alpha-Methylanisylidene Acetone"),
    ),
    Prohibited(445, "Methyl trans-2-Butenoate", "623-43-8"),
    Prohibited(446, "7-Methylcoumarin", "2445-83-2"),
    Prohibited(447, "5-Methyl-2,3-hexanedione", "13706-86-0", ("Acetyl Isovaleryl",)),
    Prohibited(448, "2-Pentylidenecyclohexanone", "25677-40-1"),
    Prohibited(449, "Pseudo-Isomethyl Ionone", "1117-41-5"),
    # Its CAS number is that of the absolute as well, which is allowed: entry 196 of Annex III.
    Prohibited(450, "Verbena Oil", "", ("Lippia Citriodora Oil", "Lippia Citriodora Leaf Oil")),
    Prohibited(
        1133,
        "Costus Root Oil",
        "8023-88-9",
        ("Saussurea Lappa Root Oil", "Saussurea Lappa Root Extract"),
    ),
    Prohibited(1134, "7-Ethoxy-4-methylcoumarin", "87-05-8"),
    Prohibited(1135, "Hexahydrocoumarin", "700-82-3"),
)

# Name -> entry.
PROHIBITED = {entry.name: entry for entry in _ENTRIES}
