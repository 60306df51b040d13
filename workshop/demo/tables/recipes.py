"""What the workshop makes: formulas of our own, made up, with their steps and cautions.

The cautions are common practice, no source; a real workshop's own assessment has the last word.
"""

from dataclasses import dataclass
from decimal import Decimal
from functools import partial

from workshop.formulas.draft.validation import StepIn

HOT = "Hot oil and wax burn: heat in a water bath and never leave a melt alone."
BATTER = "Raw soap burns as lye does: goggles and gloves stay on."
SCENT = "Undiluted essential oils irritate: gloves, fresh air, no flame nearby."
DUST = "Fine dust: wear a mask and pour slowly."

_dry = partial(StepIn, keep_water_out=True)


@dataclass(frozen=True)
class RecipeLine:
    """One line: the material or bulk, its percent, and what may stand in for it."""

    code: str
    share: str
    phase: str = "A"
    tolerance: str = "2"
    for_good: bool = False
    instead: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Recipe:
    """A bulk and its formula; `batches` is how many there are in eighteen months, about."""

    code: str
    name: str
    formula: str
    parts: tuple[RecipeLine, ...]
    steps: tuple[StepIn, ...]
    sizes_g: tuple[int, ...]
    batches: int
    loss: str = "2"
    months: int = 12
    rework: str = "0"
    claims_organic: bool = False
    is_rinse_off: bool = False
    cure_days: int | None = None
    note: str = ""


INFUSION = Recipe(
    code="BULK-INF",
    name="Calendula infusion",
    formula="Calendula infusion, warm",
    parts=(
        RecipeLine("OIL-SUN", "88", instead=("OIL-ALM",)),
        RecipeLine("HRB-CAL", "11.5"),
        RecipeLine("ANT-ROE", "0.5", phase="B", tolerance="5"),
    ),
    steps=(
        _dry(
            text="Warm the flowers in the oil, lid ajar, stirring every half hour.",
            phase="A",
            from_c=Decimal(50),
            to_c=Decimal(60),
            minutes=120,
            caution=HOT,
        ),
        _dry(text="Strain through cloth, press, and let it settle.", phase="A"),
        _dry(text="Stir in the rosemary extract.", phase="B", to_c=Decimal(40)),
    ),
    sizes_g=(3200, 3600, 4000),
    batches=37,
    loss="13",
    claims_organic=True,
    note="The pressed flowers leave with the loss.",
)

SALVE = Recipe(
    code="BULK-SAL",
    name="Calendula hand salve, bulk",
    formula="Calendula hand salve",
    parts=(
        RecipeLine("BULK-INF", "46"),
        RecipeLine("OIL-OLI", "16", instead=("OIL-SUN",)),
        RecipeLine("BUT-SHE", "12"),
        RecipeLine("BUT-COC", "6.5"),
        RecipeLine("WAX-BEE", "17.5", for_good=True),
        RecipeLine("ANT-TOC", "0.5", phase="B", tolerance="5"),
        RecipeLine("EO-HEA", "1.5", phase="C", tolerance="3"),
    ),
    steps=(
        _dry(
            text="Melt butters and wax into the infusion and the olive oil.",
            phase="A",
            from_c=Decimal(68),
            to_c=Decimal(76),
            minutes=15,
            caution=HOT,
        ),
        _dry(text="Spoon test: set a spoonful cold and press it.", phase="A", minutes=5),
        _dry(text="Let it cool, stir in vitamin E and scent.", phase="C", to_c=Decimal(58),
             caution=SCENT),
    ),
    sizes_g=(2200, 2350, 2400, 2450, 4200),
    batches=112,
    claims_organic=True,
)  # fmt: skip

CEDAR = Recipe(
    code="BULK-CED",
    name="Cedar beard balm, bulk",
    formula="Cedar beard balm",
    parts=(
        RecipeLine("OIL-JOJ", "34"),
        RecipeLine("OIL-ARG", "14"),
        RecipeLine("BUT-SHE", "22"),
        RecipeLine("OIL-CAS", "6.4"),
        RecipeLine("WAX-BEE", "21", for_good=True),
        RecipeLine("ANT-TOC", "0.6", phase="B", tolerance="5"),
        RecipeLine("EO-CEA", "1.2", phase="C", tolerance="3"),
        RecipeLine("EO-CEV", "0.5", phase="C", tolerance="5", instead=("EO-PAT",)),
        RecipeLine("EO-BER", "0.3", phase="C", tolerance="5"),
    ),
    steps=(
        _dry(
            text="Melt shea and wax into the oils.",
            phase="A",
            from_c=Decimal(68),
            to_c=Decimal(76),
            minutes=12,
            caution=HOT,
        ),
        _dry(text="Spoon test: it must spread and hold.", phase="A"),
        _dry(text="Cool, then stir in the scent.", phase="C", to_c=Decimal(55), caution=SCENT),
    ),
    sizes_g=(1800, 2100, 2300),
    batches=66,
    claims_organic=True,
    rework="4",
)

CLEANSER = Recipe(
    code="BULK-ROS",
    name="Rosehip cleansing balm, bulk",
    formula="Rosehip cleansing balm",
    parts=(
        RecipeLine("OIL-SUN", "46", instead=("OIL-ALM",)),
        RecipeLine("OIL-COC", "18"),
        RecipeLine("OIL-CAS", "3.7"),
        RecipeLine("WAX-CAN", "9", for_good=True, instead=("WAX-RIC",)),
        RecipeLine("OIL-ROS", "10", phase="B"),
        RecipeLine("EMU-PG4", "12", phase="B"),
        RecipeLine("ANT-TOC", "0.5", phase="C", tolerance="5"),
        RecipeLine("EO-ORA", "0.6", phase="C", tolerance="5"),
        RecipeLine("ANT-ROE", "0.2", phase="C", tolerance="5"),
    ),
    steps=(
        _dry(
            text="Melt the candelilla wax into the oils.",
            phase="A",
            from_c=Decimal(72),
            to_c=Decimal(80),
            minutes=12,
            caution=HOT,
        ),
        _dry(text="Cool, stir in rosehip oil and emulsifier.", phase="B", to_c=Decimal(62)),
        _dry(text="Stir in the rest and pour thick.", phase="C", to_c=Decimal(55), caution=SCENT),
    ),
    sizes_g=(2000, 2300, 2450),
    batches=56,
    months=9,
    is_rinse_off=True,
)

# Sodium hydroxide: with middle saponification values (olive 190, coconut 256.5, shea 175, castor
# 181.5 mg KOH/g) the fats would take 9.63 %; the 9.1 % here leave about 5.5 % of them as fat.
SOAP = Recipe(
    code="BULK-SOA",
    name="Oat and lavender soap, bulk",
    formula="Oat and lavender bar soap",
    parts=(
        RecipeLine("WAT-DIS", "20", phase="A"),
        RecipeLine("ALK-NAO", "9.1", phase="A", tolerance="0.5"),
        RecipeLine("OIL-OLI", "36", phase="B", tolerance="1"),
        RecipeLine("BUT-SHE", "7", phase="B", tolerance="1"),
        RecipeLine("OIL-COC", "17", phase="B", tolerance="1"),
        RecipeLine("OIL-CAS", "6", phase="B", tolerance="1"),
        RecipeLine("OAT-COL", "2", phase="C"),
        RecipeLine("CLA-KAO", "1", phase="C", tolerance="5"),
        RecipeLine("EO-LAV", "1.9", phase="C", tolerance="3"),
    ),
    steps=(
        StepIn(text="Sprinkle the lye into the cold water, stirring, and let it cool.", phase="A",
               to_c=Decimal(45)),
        StepIn(text="Melt the fats and let them cool.", phase="B", from_c=Decimal(35),
               to_c=Decimal(48), caution=HOT),
        StepIn(text="Pour the lye into the fats and blend to a light trace.", phase="B",
               from_c=Decimal(35), to_c=Decimal(48), minutes=4, caution=BATTER),
        StepIn(text="Stir in oat, clay and lavender, fill the moulds, cover.", phase="C",
               caution=DUST),
        StepIn(text="Cut after two days; cure six weeks on the rack.", phase="D"),
    ),
    sizes_g=(4500, 5000, 6000),
    batches=44,
    loss="1.5",
    months=24,
    is_rinse_off=True,
    cure_days=42,
    note="Bars are weighed after the cure, as water dries off.",
)  # fmt: skip

BARRIER = Recipe(
    code="BULK-BAR",
    name="Barrier balm, bulk",
    formula="Unscented barrier balm",
    parts=(
        RecipeLine("OIL-OLI", "34"),
        RecipeLine("BUT-SHE", "24"),
        RecipeLine("OIL-COC", "20"),
        RecipeLine("OIL-CAS", "7.5"),
        RecipeLine("WAX-CAR", "3", for_good=True),
        RecipeLine("WAX-CAN", "11", for_good=True),
        RecipeLine("ANT-TOC", "0.5", phase="B", tolerance="5"),
    ),
    steps=(
        _dry(
            text="Melt carnauba first, then candelilla, into the oils.",
            phase="A",
            from_c=Decimal(82),
            to_c=Decimal(88),
            minutes=15,
            caution=HOT,
        ),
        _dry(text="Cool, stir in vitamin E, spoon test.", phase="B", to_c=Decimal(65)),
    ),
    sizes_g=(2100, 2300, 2400),
    batches=40,
    claims_organic=True,
    rework="5",
)

MINT = Recipe(
    code="BULK-MIN",
    name="Mint foot salve, bulk",
    formula="Mint foot salve",
    parts=(
        RecipeLine("OIL-OLI", "28.3"),
        RecipeLine("BUT-MAN", "18", instead=("BUT-CUP", "BUT-KOK")),
        RecipeLine("OIL-COC", "26"),
        RecipeLine("OIL-CAS", "1"),
        RecipeLine("WAX-BEE", "19", for_good=True, instead=("WAX-BEW",)),
        RecipeLine("ANT-TOC", "0.5", phase="B", tolerance="5"),
        RecipeLine("CRY-MEN", "2", phase="C"),
        RecipeLine("EO-PEP", "2.5", phase="C"),
        RecipeLine("EO-SPE", "0.7", phase="C", tolerance="5"),
        RecipeLine("EO-EUC", "1", phase="C", tolerance="3"),
        RecipeLine("EO-TEA", "1", phase="C", tolerance="3"),
    ),
    steps=(
        _dry(
            text="Melt butter and wax into the oils.",
            phase="A",
            from_c=Decimal(68),
            to_c=Decimal(76),
            minutes=12,
            caution=HOT,
        ),
        _dry(
            text="Cool, dissolve the menthol in the mint oils, stir in.",
            phase="C",
            to_c=Decimal(58),
            caution="Menthol and mint oils sting the eyes: goggles, gloves, fresh air. " + SCENT,
        ),
    ),
    sizes_g=(2000, 2300, 2400),
    batches=48,
)

RECIPES = (INFUSION, SALVE, CEDAR, CLEANSER, SOAP, BARRIER, MINT)
BY_CODE = {recipe.code: recipe for recipe in RECIPES}
