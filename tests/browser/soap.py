"""A soap of eleven lines with the longest names and cautions a workshop would meet."""

from datetime import timedelta
from decimal import Decimal

from django.utils import timezone

from tests import make
from tests.kettle import build
from workshop.kettle.models import Batch
from workshop.materials.models import Constituency, Profile, SoapValue

# Eleven lines of a made-up soap with the longest names a label would carry.
SOAP = (
    ("Olive oil, refined, organic, cold-stored", "36"),
    ("Coconut oil, deodorised, fair-trade pool", "18"),
    ("Palm kernel flakes, mass balance", "10"),
    ("Shea butter, unrefined, from the Wend uplands", "5"),
    ("Castor oil, first pressing", "4"),
    ("Cocoa butter drops, deodorised", "3"),
    ("Sodium hydroxide, pearls, 99 %", "10"),
    ("Water, purified", "10.5"),
    ("Lavender essential oil, 40/42, high altitude", "2"),
    ("Rosemary leaf extract in sunflower oil", "1"),
    ("Tocopherol, mixed, of sunflower", "0.5"),
)
# Of the first six, mg KOH/g, from memory.
VALUES = ("190", "256.5", "242", "175", "181.5", "194")


def soap() -> Batch:
    """The batch, its lots at hand, nothing weighed yet."""
    items = [make.item(name=name) for name, _ in SOAP]
    lye, lavender = items[6], items[8]
    for fat, value in zip(items, VALUES, strict=False):
        Profile.objects.create(item=fat, inci_name=fat.name)
        SoapValue.objects.create(item=fat, value=Decimal(value))
    for other in (items[7], items[9], items[10]):
        Profile.objects.create(item=other, inci_name=other.name)
    SoapValue.objects.create(item=items[9], value=0)
    Profile.objects.create(
        item=lye,
        inci_name="Sodium Hydroxide",
        kind=Constituency.ALKALI,
        cas="1310-73-2",
        caution="Weigh into a dry plastic jug with a lid; spilled pearls draw water and burn "
        "wood, skin and aluminium.",
    )
    Profile.objects.create(
        item=lavender,
        inci_name="Lavandula Angustifolia Oil",
        kind=Constituency.FRAGRANCE,
        caution="May cause an allergic skin reaction; keep it off the skin undiluted.",
    )
    for item in items:
        make.lot(item, on_hand=9000, best_before=timezone.localdate() + timedelta(days=200))
    fan = "The steam of lye rises when it meets water: stand upwind, open the window, fan on."
    steps = [
        {"text": "Melt", "from_c": Decimal(65), "to_c": Decimal(80), "caution": fan},
        {"text": "Cool", "from_c": Decimal(40), "to_c": Decimal(45), "keep_water_out": True},
    ]
    shares = [(item, share) for item, (_, share) in zip(items, SOAP, strict=True)]
    began = timezone.now() - timedelta(hours=1)
    return build.batch(build.version(shares, steps=steps), target_g="8200", at=began)
