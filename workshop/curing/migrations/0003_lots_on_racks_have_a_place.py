"""Racks that there are become places, and what stands on them is there since it was put there."""

from secrets import randbelow
from typing import Any

from django.db import migrations
from django.utils import timezone

RACK = "rack"
LONGEST = 60
# As codes of places were made when this was written; what is made later does not change it.
DRAWN_FROM = "23456789ABCDEFGHJKMNPQRSTVWXYZ"
IN_THE_STANDARD = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ"


def place_code() -> str:
    """PL, three drawn characters and their check character by ISO/IEC 7064 MOD 37,36."""
    while True:
        code = "PL" + "".join(DRAWN_FROM[randbelow(len(DRAWN_FROM))] for _ in range(3))
        carry = 36
        for one in code:
            carry = ((carry + IN_THE_STANDARD.index(one)) % 36 or 36) * 2 % 37
        check = IN_THE_STANDARD[(37 - carry) % 36]
        if check in DRAWN_FROM:
            return code + check


def enter_places(apps: Any, _: Any) -> None:
    """A place for each rack, with the line of history that every place has."""
    place, line, link = (
        apps.get_model(*name)
        for name in (("ledger", "Place"), ("ledger", "HistoricalPlace"), ("curing", "RackPlace"))
    )
    for rack in apps.get_model("curing", "Rack").objects.filter(as_place=None).order_by("pk"):
        found = place.objects.filter(name=rack.name, kind=RACK).first()
        if found is None:
            name, number = rack.name, 1
            while place.objects.filter(name=name).exists():
                number += 1
                name = f"{rack.name[: LONGEST - 4]}, {number}"
            values = {"name": name, "kind": RACK, "is_active": rack.is_active}
            values["code"] = place_code()
            found = place.objects.create(**values)
            line.objects.create(
                id=found.pk, **values, history_date=timezone.now(), history_type="+"
            )
        link.objects.create(rack=rack, place=found)


def put_lots_there(apps: Any, _: Any) -> None:
    """What was put on a rack and nowhere since, by whom and when that was."""
    placing = apps.get_model("ledger", "Placing")
    standings = {
        row.lot_id: row for row in apps.get_model("curing", "Standing").objects.order_by("pk")
    }
    places = dict(apps.get_model("curing", "RackPlace").objects.values_list("rack", "place"))
    rows = placing.objects.filter(lot__in=list(standings)).order_by("pk")
    last = dict(rows.values_list("lot", "at"))
    for lot, row in standings.items():
        if lot not in last or last[lot] < row.at:
            placing.objects.create(
                lot_id=lot,
                place_id=places[row.rack_id],
                spot=row.place,
                at=row.at,
                by_id=row.by_id,
                token=f"standing {row.pk} is a place",
            )


class Migration(migrations.Migration):
    dependencies = [("curing", "0002_racks_are_places"), ("ledger", "0006_places_and_counts")]
    operations = [
        migrations.RunPython(enter_places, migrations.RunPython.noop),
        migrations.RunPython(put_lots_there, migrations.RunPython.noop),
    ]
