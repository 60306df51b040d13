"""The kinds of sheets that can be imported: their columns, and what a row becomes."""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, fields, replace
from datetime import datetime
from decimal import Decimal
from typing import Any, NoReturn, TypeVar

from django.db.models import Model

from workshop.core.errors import ActionRefused
from workshop.core.models import User
from workshop.dispatch.models import Customer
from workshop.dispatch.services.dispatches import save_customer
from workshop.formulas import services as formulas
from workshop.formulas.models import Formula, Version
from workshop.goods_in.models import Certificate, Supplier
from workshop.goods_in.services.suppliers import save_certificate, save_supplier
from workshop.ledger.models import Item, ItemKind
from workshop.materials.models import AllergenContent, Constituency
from workshop.materials.services.data_sheets import save_contents
from workshop.materials.services.materials import Material, material_of, save_material
from workshop.packing.fills import read_fill
from workshop.packing.models import Product
from workshop.packing.services.products import ProductFacts, save_product
from workshop.rules.errors import RuleError
from workshop.rules.labels.product_name import without_contents
from workshop.rules.quantities.units import parse_mass
from workshop.rules.transfer.item_codes import code_for
from workshop.transfer.spreadsheets.columns import (
    Column,
    day,
    lines,
    number,
    one_of,
    several,
    text,
    whole,
    yes_no,
)

NEW, CHANGED, SAME = "new", "changed", "the same"
# The columns by which other rows name what a row enters.
NAMING = ("name", "code", "formula")
# The limits are those of the forms.
PERCENT = number(4, least=0, most=100, unit="%")
LOSS = number(4, least=0, most=Decimal("99.9999"), unit="%")
CELSIUS = number(1, least=-80, most=300)
Row = Mapping[str, Any]
Value = TypeVar("Value")


@dataclass
class Desk:
    """What one taking-in is done with: who does it when, and what is known by name so far."""

    by: User
    at: datetime
    items: dict[str, Item] = field(default_factory=dict)
    codes: set[str] = field(default_factory=set)
    partners: dict[tuple[type[Model], str], Any] = field(default_factory=dict)
    entered: list[Item] = field(default_factory=list)
    at_fault: set[str] = field(default_factory=set)
    count: Callable[[], None] = lambda: None  # told of each row that is done

    def __post_init__(self) -> None:
        for item in Item.objects.select_related("profile"):
            self.know(item)

    def know(self, item: Item) -> None:
        for word in _words_for(item):
            self.items.setdefault(word, item)
        self.items[item.code.lower()] = item
        self.codes.add(item.code)
        self.entered.append(item)

    def forget(self, since: int) -> None:
        """What was entered since then is not there after all: it was undone."""
        for item in self.entered[since:]:
            for word in _words_for(item):
                if self.items.get(word) is item:
                    del self.items[word]
            self.codes.discard(item.code)
        del self.entered[since:]

    def blame(self, rows: Sequence[Row]) -> None:
        """What these rows were to enter is not there, so whatever names it waits for them."""
        names = (row.get(key) for row in rows for key in NAMING)
        self.at_fault.update(str(name).lower() for name in names if name)

    def find(self, said: str, *kinds: ItemKind) -> Item | None:
        """An item by its code or its name, among some kinds."""
        wanted = kinds or tuple(ItemKind)
        found = self.items.get(said.lower())
        if found is not None and found.kind in wanted:
            return found
        named = (self.items.get(f"{kind} {said.lower()}") for kind in wanted)
        return next((item for item in named if item is not None), None)

    def need(self, said: str, column: str, *kinds: ItemKind) -> Item:
        found = self.find(said, *kinds)
        if found is None:
            what = " or ".join(str(kind.label) for kind in kinds) or "item"
            self.refuse_missing(f"There is no {what} “{said}” yet.", said, column)
        assert found is not None  # noqa: S101 -- for the type checker
        return found

    def refuse_missing(self, sentence: str, said: str, column: str) -> NoReturn:
        """Refuse a name that stands for nothing; `Waits` where its own row is at fault."""
        kind = Waits if said.lower() in self.at_fault else ActionRefused
        raise kind(sentence, field=column)

    def partner(self, model: type[Model], name: str) -> Any:
        """A supplier or customer by name; asked for once, since thousands of rows name a few."""
        key = (model, name.lower())
        if self.partners.get(key) is None:
            self.partners[key] = named(model, name)
        return self.partners[key]

    def code(self, row: Row) -> str:
        return str(row.get("code") or "").upper() or code_for(row["name"], self.codes)

    def counted(self, things: Iterable[Value]) -> Iterator[Value]:
        """The same one by one; each is counted when the next is asked for."""
        for thing in things:
            yield thing
            self.count()

    @property
    def act(self) -> dict[str, Any]:
        return {"by": self.by, "at": self.at}


class Waits(ActionRefused):
    """A row that is sound itself, but names what another row at fault was to enter."""


class RefusedRow(ActionRefused):
    """What is at fault in one of several rows that belong together, counted from 0."""

    def __init__(self, place: int, why: ActionRefused) -> None:
        super().__init__(why.message, field=why.field)
        self.place, self.why = place, why


def of_each(rows: Sequence[Row], read: Callable[[Row], Value]) -> list[Value]:
    """What each row says; a refusal tells which row it is about."""
    found = []
    for place, row in enumerate(rows):
        try:
            found.append(read(row))
        except ActionRefused as error:
            raise RefusedRow(place, error) from error
    return found


def _words_for(item: Item) -> tuple[str, str]:
    return item.code.lower(), f"{item.kind} {item.name.lower()}"


def named(model: type[Model], name: str) -> Any:
    return model._default_manager.filter(name__iexact=name).first()


def _kept(row: Row, model: Any, found: Any) -> tuple[dict[str, Any], str]:
    """What the row says differently from what is kept, and what that makes it."""
    said = {key: value for key, value in row.items() if value not in ("", None)}
    if found is None:
        return said, NEW
    differing = {key: value for key, value in said.items() if getattr(found, key) != value}
    return differing, CHANGED if differing else SAME


def write_supplier(row: Row, desk: Desk) -> str:
    found = named(Supplier, row["name"])
    values, what = _kept(row, Supplier, found)
    if what != SAME:
        save_supplier(values, supplier=found, **desk.act)
    return what


def write_customer(row: Row, desk: Desk) -> str:
    found = named(Customer, row["name"])
    values, what = _kept(row, Customer, found)
    if what != SAME:
        customer = found or Customer()
        for name, value in values.items():
            setattr(customer, name, value)
        save_customer(customer, **desk.act)
    return what


def write_material(row: Row, desk: Desk) -> str:
    found = desk.find(row.get("code") or row["name"], ItemKind.MATERIAL)
    return _write_bought(row, desk, found, ItemKind.MATERIAL)


def write_packaging(row: Row, desk: Desk) -> str:
    found = desk.find(row.get("code") or row["name"], ItemKind.PACKAGING)
    return _write_bought(row, desk, found, ItemKind.PACKAGING)


MATERIAL_FIELDS = {one.name for one in fields(Material)} - {"parts"}


def _write_bought(row: Row, desk: Desk, found: Item | None, kind: ItemKind) -> str:
    said = {
        key: value
        for key, value in row.items()
        if key in MATERIAL_FIELDS and value not in ("", None)
    }
    before = material_of(found) if found else None
    start = before or Material(code=desk.code(row), name=row["name"], kind=kind)
    material = replace(start, **said)
    what = NEW if before is None else SAME if material == before else CHANGED
    if what != SAME:
        found = save_material(material, item=found, **desk.act)
        found = Item.objects.select_related("profile").get(pk=found.pk)
        desk.know(found)
    if found and row.get("allergens") and _keep_allergens(found, row["allergens"], desk):
        what = CHANGED if what == SAME else what
    return what


def _keep_allergens(item: Item, said: Sequence[str], desk: Desk) -> bool:
    """“Linalool 25; Limonene 0.5”: percent of each. Whether anything is different."""
    shares = {}
    for one in said:
        name, _, share = one.rpartition(" ")
        try:
            shares[name.strip()] = PERCENT(share, None)
        except ValueError as error:
            raise ActionRefused(
                f"“{one}” is not a name and its percent.", field="allergens"
            ) from error
    kept = dict(AllergenContent.objects.filter(item=item).values_list("name", "share"))
    if kept == shares:
        return False
    save_contents(item, shares, source="from a spreadsheet", **desk.act)
    return True


def write_certificate(row: Row, desk: Desk) -> str:
    supplier = supplier_named(row["supplier"], desk)
    items = [desk.need(one, "items", ItemKind.MATERIAL) for one in row.get("items") or ()]
    found = Certificate.objects.filter(
        certifier=row["certifier"], number=row["number"], valid_from=row["valid_from"]
    ).first()
    values = {key: row[key] for key in ("certifier", "number", "valid_from", "valid_to")}
    values |= {"supplier": supplier, "scope": row.get("scope") or ""}
    if found is not None:
        covered = set(found.items.values_list("pk", flat=True))
        is_same = all(getattr(found, key) == value for key, value in values.items())
        if is_same and covered == {item.pk for item in items}:
            return SAME
    save_certificate({**values, "items": items}, certificate=found, **desk.act)
    return CHANGED if found else NEW


def supplier_named(name: str, desk: Desk) -> Supplier:
    found: Supplier | None = desk.partner(Supplier, name)
    if found is None:
        desk.refuse_missing(f"There is no supplier “{name}” yet.", name, "supplier")
    assert found is not None  # noqa: S101 -- for the type checker
    return found


def write_formula(rows: Sequence[Row], desk: Desk) -> str:
    """All rows of one formula, which comes as a draft; the bulk that it makes comes with it."""
    name = rows[0]["formula"]
    lines = of_each(rows, lambda row: _line(row, desk))
    found: Formula | None = named(Formula, name)
    if found is not None:
        latest = found.versions.order_by("-number").first()
        if latest is not None and _lines_of(latest) == [
            (line.item.pk, line.share, line.phase) for line in lines
        ]:
            return SAME
    formula = found or _new_formula(name, desk)
    version = formula.versions.filter(status="draft").first() or formulas.new_version(
        formula, **desk.act
    )
    formulas.save_draft(
        version,
        lines=lines,
        steps=formulas.steps_of(version),
        expected_loss=rows[0].get("expected_loss") or Decimal(2),
        shelf_life_months=rows[0].get("shelf_life_months") or 12,
        claims_organic=bool(rows[0].get("claims_organic")),
        **desk.act,
    )
    return CHANGED if found else NEW


def _line(row: Row, desk: Desk) -> formulas.LineIn:
    return formulas.LineIn(
        item=desk.need(row["material"], "material", ItemKind.MATERIAL, ItemKind.BULK),
        share=row["percent"],
        phase=row.get("phase") or "A",
    )


def _lines_of(version: Version) -> list[tuple[int, Decimal, str]]:
    rows = version.lines.order_by("order")
    return [(line.item_id, line.share, line.phase) for line in rows]


def _new_formula(name: str, desk: Desk) -> Formula:
    bulk = desk.find(name, ItemKind.BULK)
    if bulk is None:
        bulk = formulas.save_bulk(code=code_for(name, desk.codes), name=name, **desk.act)
        desk.know(bulk)
    return formulas.save_formula(name=name, item=bulk, **desk.act)


PRODUCT_WORDS = ("unit_name", "gtin", "label_name", "identity", "directions", "cautions")


def write_product(row: Row, desk: Desk) -> str:
    found = desk.find(row.get("code") or row["name"], ItemKind.PRODUCT)
    product = Product.objects.select_related("item").filter(item=found).first() if found else None
    words: dict[str, Any] = {key: _said(row, key, product) for key in PRODUCT_WORDS}
    bulk = desk.need(row["bulk"], "bulk", ItemKind.BULK)
    facts = ProductFacts(
        code=product.item.code if product else desk.code(row),
        name=row["name"],
        bulk=bulk,
        container=desk.need(row["container"], "container", ItemKind.PACKAGING),
        **_fill(row["fill"], product, bulk),
        shelf_life_months=row.get("shelf_life_months")
        or (product.shelf_life_months if product else None),
        **words,
    )
    if product and _is_as_kept(product, facts):
        return SAME
    kept = save_product(facts, product=product, **desk.act)
    desk.know(kept.item)
    return CHANGED if product else NEW


def _fill(said: str, product: Product | None, bulk: Item) -> dict[str, Any]:
    """A weight, or a volume by the density that is kept, or else by that of the formula."""
    try:
        return dict(read_fill(said, product.density_g_per_ml if product else None, bulk))
    except ActionRefused as error:
        raise ActionRefused(error.message, field="fill") from error


def _said(row: Row, key: str, product: Product | None) -> str:
    usual = "tin" if key == "unit_name" else ""
    return str(row.get(key) or (getattr(product, key) if product else usual))


def _is_as_kept(product: Product, facts: ProductFacts) -> bool:
    keys = ("bulk", "container", "fill_g", "fill_ml", "shelf_life_months", *PRODUCT_WORDS)
    wanted = {key: getattr(facts, key) for key in keys}
    wanted["label_name"] = facts.label_name or without_contents(facts.name)
    is_same = all(getattr(product, key) == value for key, value in wanted.items())
    return is_same and product.item.name == facts.name


def mass(said: str, column: str, density: Decimal | None = None) -> Decimal:
    try:
        return parse_mass(said, density_g_per_ml=density)
    except RuleError as error:
        raise ActionRefused(str(error), field=column) from error


@dataclass(frozen=True)
class SheetKind:
    """One kind of sheet. Where rows belong together, `together` is the column that says so."""

    key: str
    title: str
    columns: Sequence[Column]
    write: Callable[[Any, Desk], str] | None = None
    together: str = ""

    def column(self, key: str) -> Column:
        return next(column for column in self.columns if column.key == key)


NAME, CODE = (
    Column("name", "Name", text(120), required=True, example="Sunflower oil"),
    Column("code", "Code", text(20), also=["item code", "number", "SKU"], example="SUN-1"),
)
PARTNER = [
    replace(NAME, example="Ostrey Oils"),
    Column("contact", "Contact", text(120), also=["person"], example="Mara Ell"),
    Column("address", "Address", lines(400), example="3 Quay, Ostrell"),
    Column("email", "E-mail", text(200), also=["mail"], example="mara@ostrey.example"),
    Column("telephone", "Telephone", text(40), also=["phone", "tel"], example="555 0100"),
]
CONSTITUENCIES = {str(kind.value): kind for kind in Constituency}
MONTHS = Column(
    "shelf_life_months", "Shelf life, months", whole(1, 240), also=["shelf life"], example="18"
)

MASTER_KINDS = (
    SheetKind(
        "suppliers",
        "Suppliers",
        [*PARTNER, Column("note", "Note", lines(400))],
        write_supplier,
    ),
    SheetKind("customers", "Customers", PARTNER, write_customer),
    SheetKind(
        "materials",
        "Materials",
        [
            NAME,
            CODE,
            Column(
                "inci_name",
                "INCI name",
                text(160),
                required=True,
                also=["INCI"],
                example="Helianthus Annuus Seed Oil",
            ),
            Column("common_name", "Common name", text(120), example="Sunflower oil"),
            Column(
                "constituency",
                "What it is in a list",
                one_of(CONSTITUENCIES),
                also=["kind"],
                example="plain",
                help=", ".join(CONSTITUENCIES),
            ),
            Column("is_organic", "Organic", yes_no, also=["bought as organic"], example="yes"),
            Column("cas", "CAS", text(12), also=["CAS number"], example="8001-21-6"),
            Column(
                "density_g_per_ml",
                "Density, g/mL",
                number(4, least=Decimal("0.3"), most=5),
                example="0.918",
            ),
            MONTHS,
            Column("soap_name", "Saponified INCI name", text(160), example=""),
            Column(
                "soap_value",
                "Saponification value, mg KOH/g",
                number(1, least=0, most=400),
                example="190",
            ),
            Column("melting_from_c", "Melts from, °C", CELSIUS),
            Column("melting_to_c", "Molten at, °C", CELSIUS),
            Column("storage", "Storage", text(200), example="cool and dark"),
            Column("caution", "Caution", text(300)),
            Column(
                "allergens",
                "Allergens",
                several,
                help="“Linalool 25; Limonene 0.5”: the percent of each",
            ),
        ],
        write_material,
    ),
    SheetKind(
        "packaging",
        "Packaging",
        [replace(NAME, example="Tin 60 mL"), replace(CODE, example="TIN-60")],
        write_packaging,
    ),
    SheetKind(
        "certificates",
        "Certificates",
        [
            Column("supplier", "Supplier", text(120), required=True, example="Ostrey Oils"),
            Column("certifier", "Certifier", text(120), required=True, example="Organic Body 7"),
            Column("number", "Number", text(60), required=True, example="OB7-2231"),
            Column("valid_from", "Valid from", day, required=True, example="2026-01-01"),
            Column("valid_to", "Valid to", day, required=True, example="2027-01-01"),
            Column("items", "Materials", several, example="Sunflower oil"),
            Column("scope", "Scope", lines(400)),
        ],
        write_certificate,
    ),
    SheetKind(
        "formulas",
        "Formulas",
        [
            Column("formula", "Formula", text(120), required=True, example="Plain balm"),
            Column(
                "material",
                "Material",
                text(120),
                required=True,
                also=["ingredient"],
                example="Sunflower oil",
            ),
            Column(
                "percent",
                "Percent",
                PERCENT,
                required=True,
                also=["%", "share"],
                example="100",
            ),
            Column("phase", "Phase", text(20), example="A"),
            Column("expected_loss", "Expected loss, %", LOSS, example="2"),
            replace(MONTHS, read=whole(1, 120), example="12"),
            Column("claims_organic", "Claims organic", yes_no, example="no"),
        ],
        write_formula,
        together="formula",
    ),
    SheetKind(
        "products",
        "Products",
        [
            replace(NAME, example="Plain balm 60 g"),
            replace(CODE, example="BALM-60"),
            Column(
                "bulk",
                "Bulk or formula",
                text(120),
                required=True,
                also=["bulk", "formula"],
                example="Plain balm",
            ),
            Column("container", "Container", text(120), required=True, example="Tin 60 mL"),
            Column(
                "fill",
                "Fill",
                text(40),
                required=True,
                also=["fill weight", "net weight", "net contents"],
                example="60 g",
            ),
            Column("unit_name", "Unit", text(20), example="tin"),
            replace(MONTHS, read=whole(1, 120)),
            Column("gtin", "GTIN", text(14), also=["EAN", "UPC", "barcode"]),
            Column("label_name", "Name on the label", text(120), example="Plain balm"),
            Column("identity", "What it is", text(120), example="hand balm"),
            Column("directions", "Directions", lines(1000)),
            Column("cautions", "Cautions", lines(1000)),
        ],
        write_product,
    ),
)


def rows_together(
    kind: SheetKind, rows: Sequence[tuple[int, Row]]
) -> Iterator[list[tuple[int, Row]]]:
    """Rows that belong to one thing, in the order in which each thing is first named."""
    if not kind.together:
        yield from ([row] for row in rows)
        return
    groups: dict[str, list[tuple[int, Row]]] = {}
    for number_, row in rows:
        groups.setdefault(str(row[kind.together]).lower(), []).append((number_, row))
    yield from groups.values()
