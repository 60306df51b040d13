"""Pages found by words: what they are called, what they are for, and the rules they answer to."""

import re
from dataclasses import dataclass

from django.urls import resolve, reverse

from workshop.core.access import may
from workshop.core.models import User


@dataclass(frozen=True)
class FoundPage:
    """A page by its name, with the address that leads there."""

    name: str
    address: str


# Each page: its name, its address, what somebody looks for who needs it, and sections of 7 CFR.
PAGES: tuple[tuple[str, str, str, tuple[str, ...]], ...] = (
    ("Today", "front:today", "home dashboard due tasks start", ()),
    ("First steps", "front:start", "begin setup empty book", ()),
    ("Your account", "front:account", "my own password sign out", ()),
    ("Goods-in", "goods_in:home", "receipts deliveries received arrivals quarantine", ()),
    (
        "Receive a delivery", "goods_in:new-receipt",
        "new receipt book goods in arrival delivery note incoming", (),
    ),
    (
        "A supplier's file of a delivery", "goods_in:receive-events",
        "epcis import upload advance shipping", (),
    ),
    ("Suppliers and their approval", "goods_in:suppliers", "fraud vendors review", ("205.201",)),
    ("New supplier", "goods_in:new-supplier", "enter add vendor", ()),
    (
        "Organic certificates of suppliers", "goods_in:certificates",
        "certifier expiry renewal", ("205.404", "205.273"),
    ),
    (
        "Materials and packaging", "materials:home",
        "ingredients raw oils butters waxes inci density containers tins jars", (),
    ),
    ("New material", "materials:new-material", "enter add ingredient oil", ()),
    ("Usual materials to choose from", "materials:usual", "ingredients list library sap value", ()),
    ("Maximum use levels", "materials:use-limits", "ifra dermal skin limits fragrance", ()),
    (
        "Organic schemes and their lists", "materials:organic-schemes", "national list",
        ("205.301", "205.302", "205.605", "205.606"),
    ),
    ("Stock on hand", "ledger:home", "inventory lots items how much left", ()),
    ("Formulas", "formulas:home", "recipes versions drafts", ()),
    ("A formula on one page", "formulas:whole", "new recipe enter", ()),
    ("Bulk items", "formulas:bulks", "what comes out of the kettle", ()),
    ("Kettle", "kettle:home", "batches weigh-up weighing cook under way poured records", ()),
    ("Plan a batch", "kettle:plan", "new batch make cook scale up", ()),
    (
        "Kettles and their cleaning", "kettle:equipment",
        "scales equipment wash calibration balance", ("205.272",),
    ),
    ("On the racks", "curing:home", "soap cure curing drying bars weekly weighing ph", ()),
    ("Packing", "packing:home", "fill tins jars runs bulk to pack", ()),
    ("Packing runs", "packing:runs", "fill control net contents average", ()),
    ("Products", "packing:products", "gtin barcode container fill size sku", ()),
    ("New product", "packing:new-product", "describe enter add", ()),
    ("Finished lots waiting for release", "packing:awaiting", "quarantine decide approve", ()),
    ("Retained samples", "packing:samples", "retained retention samples", ()),
    ("Lots to label", "labels:unlabelled", "print labels waiting", ()),
    ("Label log", "labels:home", "labels printed reprint", ()),
    ("Labels checked against their lots", "labels:untrue", "mismatch check blocked", ()),
    ("Label sizes", "labels:sizes", "paper sheet stock template", ()),
    ("Responsible persons and firms", "labels:parties", "importer maker address", ()),
    ("Words of labels", "labels:words", "phrases translations languages", ()),
    ("Own names of ingredients", "labels:names", "inci dictionary", ()),
    ("Dispatch", "dispatch:home", "orders shipments deliveries sent parcels on the way", ()),
    ("Send lots out", "dispatch:new", "new dispatch ship order sell", ()),
    ("Customers", "dispatch:customers", "shops buyers addresses contacts", ()),
    ("Trace a lot", "trace:home", "traceability family tree back forward where used", ()),
    ("Complaints", "aftersales:complaints", "adverse events serious reaction returns", ()),
    ("Log a complaint", "aftersales:new-complaint", "new enter adverse event caller", ()),
    ("What complaints have in common", "aftersales:shared", "suspect cause common", ()),
    ("Complaints over time", "aftersales:trends", "trend rate statistics", ()),
    ("Recalls", "aftersales:recalls", "withdraw withdrawal notify", ()),
    ("Recall drills", "aftersales:drills", "mock recall practice exercise", ()),
    ("Begin a drill", "aftersales:new-drill", "mock recall practice exercise", ()),
    ("Product files", "dossier:home", "dossier pif notification safety report assessor", ()),
    ("Sales of a year", "dossier:small", "small business exemption turnover", ()),
    ("Costs", "costs:home", "money stock value period profit", ()),
    ("Cost of deliveries", "costs:deliveries", "invoice price paid", ()),
    ("What products cost", "costs:products", "price margin per unit", ()),
    ("Currency and rates", "costs:rates", "labour overhead hour", ()),
    ("The week", "planning:home", "plan planning make monday schedule", ()),
    ("Customers' orders", "planning:orders", "open order due backlog", ()),
    ("How long stock lasts", "planning:cover", "cover weeks demand forecast", ()),
    ("What will expire", "planning:expiry", "best before unused waste", ()),
    ("What to buy", "planning:buy", "purchase short reorder supplier", ()),
    ("Orders to suppliers", "planning:purchases", "purchase order bought", ()),
    ("Hours and racks", "planning:hours", "settings minutes working days", ()),
    ("Integrity of the book", "audit:home", "seal audit proof tamper", ("205.103",)),
    ("Change log", "audit:history", "who changed what history audit trail edits", ()),
    ("Mass balances", "organic:home", "organic audit reconcile", ("205.403",)),
    (
        "Sold as organic beside bought as organic", "organic:chain", "mass balance", ("205.403",),
    ),
    (
        "Inspector's pack", "organic:packs",
        "organic inspection certifier audit", ("205.103", "205.201", "205.403"),
    ),
    ("Set-up", "core:home", "settings options preferences configuration", ()),
    ("The workshop", "core:workshop", "settings name address market time zone language", ()),
    ("People and passwords", "core:people", "users staff accounts roles sign-in reset", ()),
    ("Backups, export and spreadsheets", "transfer:home", "restore download save import csv", ()),
    ("Export of the whole book", "transfer:export", "download data move", ()),
    ("Spreadsheets taken in", "transfer:sheets", "import excel csv upload opening stock", ()),
)  # fmt: skip
LEAST = 3  # letters of a word before it may stand for a longer one


def pages_by_words(asked: str, user: User) -> list[FoundPage]:
    """The pages that these words, or this section of 7 CFR, ask for, as far as this person may.

    Each word asked for must begin a word of the page's name or of what it is for. A paragraph is
    found under its section: "205.403(d)(4)" under 205.403.
    """
    section = re.search(r"\b205\.\d{1,3}\b", asked)
    wanted = _words_of(asked)
    found = [
        FoundPage(name, reverse(address))
        for name, address, words, sections in PAGES
        if (section and section.group() in sections) or _all_begin(wanted, f"{name} {words}")
    ]
    return [page for page in found if may(user, resolve(page.address).func, "GET")]


def _words_of(text: str) -> list[str]:
    return re.findall(r"[^\W_]+", text.casefold())


def _all_begin(wanted: list[str], said: str) -> bool:
    """Whether each word asked for is one of those said, or begins one; a plural too."""
    known = _words_of(said)
    return bool(wanted) and all(
        any(
            word == one or (len(word) >= LEAST and one.startswith(word.removesuffix("s")))
            for one in known
        )
        for word in wanted
    )
