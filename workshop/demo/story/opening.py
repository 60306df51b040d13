"""The first day: people, suppliers, materials, formulas, products, kettles, scales, customers."""

from collections.abc import Sequence
from datetime import datetime
from decimal import Decimal

from workshop.core.models import User
from workshop.core.saving.with_history import save_with_history
from workshop.demo.story import racks
from workshop.demo.story.clock import Clock
from workshop.demo.story.story_state import Book
from workshop.demo.tables import people
from workshop.demo.tables.materials import bought, enter_materials
from workshop.demo.tables.products import enter_products
from workshop.demo.tables.recipes import RECIPES, Recipe, RecipeLine
from workshop.formulas import services as formulas
from workshop.formulas.draft.validation import LineIn
from workshop.formulas.models import Version
from workshop.goods_in.services import save_certificate
from workshop.kettle.models import AccuracyClass, Kettle, KettleMaterial, Scale
from workshop.ledger.models import Item


def open_the_book(book: Book, clock: Clock) -> None:
    """Enter all that must be there before anything can happen."""
    book.people = people.enter_people(clock.after(0, 1))
    owner = book.owner
    people.enter_workshop(by=owner, at=clock.after(1, 3))
    book.kettles = _kettles(by=owner, at=clock.after(1, 2))
    book.bench, book.fine = _scales(by=owner, at=clock.after(1, 2))
    book.suppliers = people.enter_suppliers(by=owner, at=clock.after(2, 4))
    book.bought = {one.code: one for one in bought()}
    book.items = enter_materials(by=owner, at=clock.after(5, 9))
    for recipe in RECIPES:
        version = enter_recipe(book, recipe, clock.after(2, 4))
        book.versions[recipe.code] = version
    racks.enter_racks(book, clock)
    book.products = enter_products(book.items, by=owner, at=clock.after(3, 6))
    book.customers = people.enter_customers(by=book.packer, at=clock.after(3, 6))


def _kettles(*, by: User, at: datetime) -> list[Kettle]:
    sizes = (("Small kettle, 2.5 kg", 2500), ("Large kettle, 9 kg", 9000))
    return [
        save_with_history(
            Kettle(name=name, capacity_g=Decimal(grams), material=KettleMaterial.STEEL),
            by=by,
            at=at,
        )
        for name, grams in sizes
    ]


def _scales(*, by: User, at: datetime) -> tuple[Scale, Scale]:
    bench = Scale(
        name="Bench scale",
        division_g=Decimal("0.5"),
        interval_g=Decimal("0.5"),
        capacity_g=Decimal(6000),
        accuracy_class=AccuracyClass.MEDIUM,
    )
    fine = Scale(
        name="Fine scale",
        division_g=Decimal("0.01"),
        interval_g=Decimal("0.1"),
        capacity_g=Decimal(600),
        accuracy_class=AccuracyClass.HIGH,
    )
    return save_with_history(bench, by=by, at=at), save_with_history(fine, by=by, at=at)


def enter_recipe(book: Book, recipe: Recipe, at: datetime) -> Version:
    """Enter the bulk and its formula, and approve the first version."""
    owner = book.owner
    bulk = formulas.save_bulk(code=recipe.code, name=recipe.name, by=owner, at=at)
    book.items[recipe.code] = bulk
    formula = formulas.save_formula(name=recipe.formula, item=bulk, by=owner, at=at)
    draft = formulas.new_version(formula, by=owner, at=at)
    write_draft(book, draft, recipe, recipe.lines, at)
    return formulas.approve(draft, by=owner, at=at)


def write_draft(
    book: Book, draft: Version, recipe: Recipe, parts: Sequence[RecipeLine], at: datetime
) -> None:
    formulas.save_draft(
        draft,
        lines=[_line(book.items, part) for part in parts],
        steps=recipe.steps,
        expected_loss=Decimal(recipe.loss),
        shelf_life_months=recipe.months,
        cure_days=recipe.cure_days,
        **recipe.cure,
        rework_limit=Decimal(recipe.rework),
        claims_organic=recipe.claims_organic,
        is_rinse_off=recipe.is_rinse_off,
        note=recipe.note,
        by=book.owner,
        at=at,
    )


def _line(items: dict[str, Item], part: RecipeLine) -> LineIn:
    return LineIn(
        item=items[part.code],
        share=Decimal(part.share),
        phase=part.phase,
        tolerance=Decimal(part.tolerance),
        is_irreversible=part.is_irreversible,
        is_strained_out=bool(part.stays),
        stays=part.stays,
        held_back=Decimal(part.held_back),
        substitutes=[items[code] for code in part.instead],
    )


def enter_certificates(book: Book, clock: Clock) -> None:
    """Enter each certificate on the first working day on which it is valid."""
    for held in people.CERTIFICATES:
        first, last = held.span(book.until)
        known = f"certificate {held.number}"
        if known in book.done or not first <= book.day <= last:
            continue
        book.done.add(known)
        save_certificate(
            {
                "supplier": book.suppliers[held.supplier],
                "certifier": people.CERTIFIER,
                "number": held.number,
                "scope": "Organic raw materials for cosmetics, as listed.",
                "valid_from": first,
                "valid_to": last,
                "items": [
                    book.items[one.code]
                    for one in book.bought.values()
                    if one.supplier == held.supplier and one.is_organic and held.covers(one.code)
                ],
            },
            by=book.owner,
            at=clock.after(2, 4),
        )
