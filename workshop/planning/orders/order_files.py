"""Orders out of a CSV file of any shop: which column says what is guessed, and can be chosen."""

import csv
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from workshop.core.errors import ActionRefused
from workshop.dispatch.models import Customer
from workshop.ledger.models import Item, ItemKind
from workshop.planning.services import OrderFacts
from workshop.rules.errors import RuleError
from workshop.rules.quantities.units import parse_count
from workshop.rules.transfer.written_days import read_day

LARGEST = 1_000_000  # characters
MOST_ROWS = 5_000
MOST_TOLD = 20
# What a column is likely to be called, in small letters; the first word that fits counts.
LIKELY = {
    "number": ("order number", "order no", "order id", "order", "number", "no."),
    "customer": ("customer", "company", "buyer", "ship to", "name"),
    "product": ("gtin", "ean", "sku", "product code", "item code", "product", "item", "code"),
    "units": ("quantity", "qty", "units", "amount", "pieces"),
    "due_on": ("due", "deliver", "wanted", "ship by", "date"),
}
REQUIRED = ("number", "product", "units")


@dataclass(frozen=True)
class Table:
    """The headings of a file and its rows."""

    heads: list[str]
    rows: list[list[str]]


@dataclass(frozen=True)
class Read:
    """The orders of a file, and what could not be read of it, in sentences with their row."""

    orders: list[OrderFacts]
    problems: list[str]


def decoded(content: bytes) -> str:
    """The text of a file. Raises ActionRefused for one too large, or that is no text."""
    if len(content) > LARGEST:
        raise ActionRefused("The file is larger than 1 MB. Divide it.", field="file")
    for encoding in ("utf-8-sig", "cp1252"):
        try:
            text = content.decode(encoding)
        except UnicodeDecodeError:
            continue
        if "\0" in text:
            break
        return text
    raise ActionRefused("This is not a text file. Save it as CSV.", field="file")


def table_of(text: str) -> Table:
    """The rows of a CSV text, set apart by commas, semicolons or tabs.

    Raises ActionRefused where there are no rows, or too many.
    """
    first = text.lstrip().split("\n", 1)[0]
    mark = max(",;\t", key=first.count)
    try:
        rows = [row for row in csv.reader(text.splitlines(), delimiter=mark) if any(row)]
    except csv.Error as error:
        raise ActionRefused("These rows cannot be read as CSV.", field="file") from error
    if len(rows) < 2 or len(rows[0]) < len(REQUIRED):
        raise ActionRefused(
            "There must be a row of headings, with an order number, a product and a quantity at "
            "least, and rows below it.",
            field="file",
        )
    if len(rows) > MOST_ROWS:
        raise ActionRefused(f"There are more than {MOST_ROWS} rows. Divide the file.", field="file")
    return Table([head.strip() for head in rows[0]], rows[1:])


def guessed(heads: Sequence[str]) -> dict[str, str]:
    """Which heading is likely to say what, each used once; by its place, as text."""
    found: dict[str, str] = {}
    for name, words in LIKELY.items():
        for word in words:
            fitting = (
                str(place)
                for place, head in enumerate(heads)
                if word in head.casefold() and str(place) not in found.values()
            )
            place = next(fitting, None)
            if place is not None:
                found[name] = place
                break
    return found


def orders_of(
    table: Table,
    columns: Mapping[str, int],
    *,
    customer: Customer | None,
    due_on: date | None,
    today: date,
) -> Read:
    """The orders of a table; `columns` says in which place what stands.

    Where no column names the customer or the day, `customer` and `due_on` hold for all. Rows of
    one number are one order.
    """
    reader = _Reader(table, columns, customer, due_on, today)
    return Read(reader.orders(), reader.told())


class _Reader:
    """Rows on their way to orders."""

    def __init__(
        self,
        table: Table,
        columns: Mapping[str, int],
        customer: Customer | None,
        due_on: date | None,
        today: date,
    ) -> None:
        self.columns, self.customer, self.due_on, self.today = columns, customer, due_on, today
        self.problems: list[str] = []
        self.products = _products()
        self.customers = {
            one.name.casefold(): one for one in Customer.objects.filter(is_active=True)
        }
        self.heads: dict[str, tuple[Customer, date]] = {}
        self.units: dict[str, dict[Item, int]] = defaultdict(dict)
        for number, row in enumerate(table.rows, start=2):
            try:
                self._take(row)
            except RuleError as error:
                self.problems.append(f"Row {number}: {error}")

    def orders(self) -> list[OrderFacts]:
        return [
            OrderFacts(number, who, min(self.today, due), due, self.units[number])
            for number, (who, due) in self.heads.items()
        ]

    def told(self) -> list[str]:
        if len(self.problems) <= MOST_TOLD:
            return self.problems
        more = len(self.problems) - MOST_TOLD
        return [*self.problems[:MOST_TOLD], f"And {more} more rows cannot be read."]

    def _cell(self, row: Sequence[str], name: str) -> str:
        place = self.columns.get(name)
        return row[place].strip() if place is not None and place < len(row) else ""

    def _take(self, row: Sequence[str]) -> None:
        number = self._cell(row, "number")
        if not number or len(number) > 60:
            raise RuleError("It has no order number of 1 to 60 characters.")
        item = self._product(self._cell(row, "product"))
        units = parse_count(self._cell(row, "units"))
        head = (self._customer(self._cell(row, "customer")), self._due(row))
        if self.heads.setdefault(number, head) != head:
            raise RuleError(f"Order {number} has another customer or day in an earlier row.")
        self.units[number][item] = self.units[number].get(item, 0) + units

    def _product(self, text: str) -> Item:
        item = self.products.get(text.casefold())
        if item is None:
            raise RuleError(f"“{text[:40]}” is not a product in the book, by code, GTIN or name.")
        return item

    def _customer(self, text: str) -> Customer:
        if "customer" not in self.columns and self.customer:
            return self.customer
        found = self.customers.get(text.casefold())
        if found is None:
            raise RuleError(f"There is no customer “{text[:40]}”. Enter them first, by this name.")
        return found

    def _due(self, row: Sequence[str]) -> date:
        text = self._cell(row, "due_on")
        if not text and self.due_on:
            return self.due_on
        return read_day(text)


def _products() -> dict[str, Item]:
    """Every product by its code, its GTIN and its names, in small letters."""
    found: dict[str, Item] = {}
    items = Item.objects.active().of_kind(ItemKind.PRODUCT).select_related("product")
    for item in items:
        product = getattr(item, "product", None)
        names = [item.name, item.code]
        if product:
            names = [product.label_name, product.gtin, *names]
        found |= {name.casefold(): item for name in names if name}
    return found
