"""The sheets of what stands beside master data: the steps of formulas, and what units sell for."""

from collections.abc import Sequence

from workshop.core.saving.new_tokens import new_token
from workshop.costs.models import SalesPrice
from workshop.costs.services import enter_price
from workshop.formulas import services as formulas
from workshop.formulas.models import Formula
from workshop.ledger.models import ItemKind
from workshop.transfer.spreadsheets.columns import Column, day, lines, number, text, whole
from workshop.transfer.spreadsheets.kinds import CHANGED, NEW, SAME, Desk, Row, SheetKind, named

STEP_CELSIUS = number(1, least=-40, most=300)  # as on the page of a draft


def write_steps(rows: Sequence[Row], desk: Desk) -> str:
    """All steps of one formula, in the order of the sheet; an approved one gets a new draft."""
    formula: Formula | None = named(Formula, rows[0]["formula"])
    latest = formula.versions.order_by("-number").first() if formula else None
    if formula is None or latest is None:
        said = rows[0]["formula"]
        desk.refuse_missing(f"There is no formula “{said}” yet.", said, "formula")
    assert formula is not None  # noqa: S101 -- for the type checker
    assert latest is not None  # noqa: S101 -- likewise
    steps = [_step(row) for row in rows]
    before = formulas.steps_of(latest)
    if before == steps:
        return SAME
    draft = (
        latest
        if latest.status == "draft"
        else formulas.new_version(formula, like=latest, **desk.act)
    )
    formulas.rewrite_steps(draft, steps, **desk.act)
    return CHANGED if before else NEW


def _step(row: Row) -> formulas.StepIn:
    return formulas.StepIn(
        text=row["step"],
        phase=row.get("phase") or "",
        from_c=row.get("from_c"),
        to_c=row.get("to_c"),
        minutes=row.get("minutes"),
        caution=row.get("caution") or "",
    )


def write_price(row: Row, desk: Desk) -> str:
    """A price is added, never changed: from its day on it holds instead of the one before."""
    item = desk.need(row["product"], "product", ItemKind.PRODUCT)
    channel = " ".join(row["channel"].split())
    known = SalesPrice.objects.filter(item=item, channel=channel, from_on=row["from_on"]).last()
    if known and known.price == row["price"]:
        return SAME
    price, from_on = row["price"], row["from_on"]
    enter_price(item, channel=channel, price=price, from_on=from_on, token=new_token(), **desk.act)
    return CHANGED if known else NEW


STEPS = SheetKind(
    "steps",
    "Steps of formulas",
    [
        Column("formula", "Formula", text(120), required=True, example="Plain balm"),
        Column("step", "Step", lines(500), required=True, also=["what is done", "text"],
               example="Melt together, stir"),
        Column("phase", "Phase", text(20), example="A"),
        Column("from_c", "From, °C", STEP_CELSIUS, also=["from c"], example="65"),
        Column("to_c", "To, °C", STEP_CELSIUS, also=["to c"], example="80"),
        Column("minutes", "Minutes", whole(0, 9999), also=["time"]),
        Column("caution", "Caution", text(300)),
    ],
    write_steps,
    together="formula",
)  # fmt: skip
PRICES = SheetKind(
    "prices",
    "Sales prices",
    [
        Column("product", "Product", text(120), required=True, example="Plain balm 60 g"),
        Column("channel", "Sold to", text(40), required=True, also=["customer", "channel"],
               example="Ostrell Larder", help="a customer, or all of a kind, such as “shops”"),
        Column("price", "Price of one unit", number(4, least=0, most=10_000_000), required=True,
               also=["price"], example="7.50", help="without tax"),
        Column("from_on", "From", day, required=True, also=["valid from", "from day"],
               example="2026-01-01"),
    ],
    write_price,
)  # fmt: skip
