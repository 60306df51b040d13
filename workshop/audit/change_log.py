"""Changes of master data: every kind's history in one list, newest first."""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db.models import (
    CharField,
    Field,
    ForeignKey,
    Model,
    OuterRef,
    Q,
    QuerySet,
    Subquery,
    Value,
)

from workshop.aftersales.models import Complaint, Recall
from workshop.core import formatting
from workshop.core.formatting import in_words
from workshop.core.models import User, Workshop
from workshop.curing.models import Rack
from workshop.dispatch.models import Customer
from workshop.dossier.models import YearOfSales
from workshop.formulas.models import Formula, Version
from workshop.goods_in.models import Certificate, Supplier
from workshop.kettle.models import Kettle, Scale
from workshop.labels.models import (
    Art,
    LabelDesign,
    LabelVersion,
    MarketSheet,
    OwnName,
    OwnSize,
    Party,
    Phrase,
)
from workshop.ledger.models import Item, Lot, Place
from workshop.materials.models import (
    ALWAYS,
    AllergenContent,
    BlendPart,
    ListEntry,
    OrganicScheme,
    OrganicStatus,
    Profile,
    SoapValue,
    UseLimit,
)
from workshop.packing.models import Product

NOTHING = "–"
ACTS = {"+": "entered", "~": "changed", "-": "removed"}
# What the framework keeps for itself and nobody here ever sets.
NOT_TOLD = {"id", "is_staff", "is_superuser", "date_joined", "email"}
Names = Mapping[tuple[type[Model], Any], str]


@dataclass(frozen=True)
class RecordKind:
    """One kind of master data: its word, its model, and how to name one of it.

    `label` names a record from its own columns and, for rows it points at, from `names`.
    """

    word: str
    model: type[Model]
    label: Callable[[Any, Names], str]

    @property
    def records(self) -> QuerySet[Any]:
        """The rows of its history."""
        records: QuerySet[Any] = self.model.history.model.objects.all()  # type: ignore[attr-defined]
        return records


def _by_name(record: Any, _names: Names) -> str:
    return str(record.name)


def _pointed_at(names: Names, model: type[Model], pk: Any) -> str:
    return names.get((model, pk), f"number {pk}")


def _of_item(record: Any, names: Names) -> str:
    return _pointed_at(names, Item, record.item_id)


def _allergen(record: Any, names: Names) -> str:
    model, pk = (Item, record.item_id) if record.item_id else (Lot, record.lot_id)
    return f"{record.name} in {_pointed_at(names, model, pk)}"


def _of_product(record: Any, names: Names) -> str:
    return _pointed_at(names, Product, record.product_id)


def _sheet(record: Any, names: Names) -> str:
    return f"{_of_product(record, names)}, {record.market}"


def _status(record: Any, names: Names) -> str:
    of = _pointed_at(names, Profile, record.profile_id)
    return f"{record.part_name} in {of}" if record.part_name else of


def _part(record: Any, _names: Names) -> str:
    if record.from_day == ALWAYS:
        return str(record.inci_name)
    return f"{record.inci_name}, from {formatting.day(record.from_day)}"


KINDS: dict[str, RecordKind] = {
    "person": RecordKind("person", User, lambda record, _: record.username),
    "workshop": RecordKind("the workshop", Workshop, _by_name),
    "item": RecordKind("item", Item, lambda record, _: f"{record.name} ({record.code})"),
    "profile": RecordKind("ingredient profile", Profile, _of_item),
    "part": RecordKind("part of a blend", BlendPart, _part),
    "supplier": RecordKind("supplier", Supplier, _by_name),
    "certificate": RecordKind(
        "certificate", Certificate, lambda record, _: f"{record.certifier} {record.number}"
    ),
    "formula": RecordKind("formula", Formula, _by_name),
    "version": RecordKind(
        "formula version",
        Version,
        lambda record, names: (
            f"{_pointed_at(names, Formula, record.formula_id)}, version {record.number}"
        ),
    ),
    "place": RecordKind("place", Place, _by_name),
    "kettle": RecordKind("kettle", Kettle, _by_name),
    "scale": RecordKind("scale", Scale, _by_name),
    "skin-limit": RecordKind("limit on the skin", UseLimit, _of_item),
    "product": RecordKind("product", Product, _of_item),
    "design": RecordKind(
        "label design",
        LabelDesign,
        lambda record, names: _pointed_at(names, Product, record.product_id),
    ),
    "allergen": RecordKind("allergen content", AllergenContent, _allergen),
    "soap-value": RecordKind("saponification value", SoapValue, _of_item),
    "label-size": RecordKind("label size", OwnSize, _by_name),
    "label": RecordKind(
        "label",
        LabelVersion,
        lambda record, names: (
            f"{_pointed_at(names, Product, record.product_id)}, {record.market} label"
            f" {record.number}"
        ),
    ),
    "art": RecordKind("art of labels", Art, _of_product),
    "market-sheet": RecordKind("market sheet", MarketSheet, _sheet),
    "party": RecordKind("responsible person or firm", Party, _by_name),
    "phrase": RecordKind("phrase of labels", Phrase, lambda record, _: str(record.english)),
    "own-name": RecordKind("own name of an ingredient", OwnName, lambda record, _: record.name),
    "scheme": RecordKind("organic scheme", OrganicScheme, _by_name),
    "listed": RecordKind("entry of an organic list", ListEntry, _by_name),
    "organic-status": RecordKind("organic status", OrganicStatus, _status),
    "rack": RecordKind("rack", Rack, _by_name),
    "sales": RecordKind("year of sales", YearOfSales, lambda record, _: str(record.year)),
    "customer": RecordKind("customer", Customer, _by_name),
    "complaint": RecordKind("complaint", Complaint, lambda record, _: record.reference),
    "recall": RecordKind("recall or drill", Recall, lambda record, _: record.reference),
}


@dataclass(frozen=True)
class FieldChange:
    """One field that is not what it was."""

    field: str
    was: str
    now: str


@dataclass(frozen=True)
class LoggedChange:
    """One line of the history: who did what to which thing, and which fields it changed."""

    at: datetime
    by: str
    kind: str
    about: str
    act: str
    reason: str
    changes: list[FieldChange]


def all_records(*, kind: str = "", person: int | None = None, within: Q | None = None) -> Any:
    """Where each record stands (kind, key, moment, key of the one before), newest first."""
    chosen = {key: one for key, one in KINDS.items() if kind in ("", key)}
    asked = (within or Q()) & (Q() if person is None else Q(history_user=person))
    first, *others = (_places(key, one, asked) for key, one in chosen.items())
    return first.union(*others, all=True).order_by("-history_date", "kind_key", "-history_id")


def _places(key: str, kind: RecordKind, asked: Q) -> QuerySet[Any, Any]:
    pk = kind.model._meta.pk.attname
    before = kind.records.filter(**{pk: OuterRef(pk)}, history_id__lt=OuterRef("history_id"))
    places: QuerySet[Any, Any] = (
        kind.records.filter(asked)
        .order_by()
        .annotate(
            kind_key=Value(key, output_field=CharField()),
            key_before=Subquery(before.order_by("-history_id").values("history_id")[:1]),
        )
        .values("kind_key", "history_id", "history_date", "key_before")
    )
    return places


def entries(places: Sequence[Mapping[str, Any]]) -> list[LoggedChange]:
    """The lines themselves, read in a few queries for each kind that occurs among them."""
    records = _records(places)
    names = _names(records.values())
    return [
        _entry(
            KINDS[place["kind_key"]],
            records[place["kind_key"], place["history_id"]],
            records.get((place["kind_key"], place["key_before"])),
            names,
        )
        for place in places
    ]


def _records(places: Sequence[Mapping[str, Any]]) -> dict[tuple[str, int], Any]:
    found: dict[tuple[str, int], Any] = {}
    for key in dict.fromkeys(place["kind_key"] for place in places):
        wanted = {
            place[which]
            for place in places
            for which in ("history_id", "key_before")
            if place["kind_key"] == key
        }
        records = KINDS[key].records.select_related("history_user")
        for many in _many_fields(records.model):
            rows = _rows_of(records.model, many)
            records = records.prefetch_related(f"{rows}__{many.m2m_reverse_field_name()}")
        found |= {(key, pk): row for pk, row in records.in_bulk(wanted - {None}).items()}
    return found


def _many_fields(model: Any) -> list[Any]:
    return list(getattr(model, "_history_m2m_fields", []))


def _rows_of(model: Any, many: Any) -> str:
    """By which name a record knows the rows of a many-to-many field as they were."""
    column = many.m2m_reverse_field_name()
    return next(
        str(rows.get_accessor_name())
        for rows in model._meta.related_objects
        if column in {field.name for field in rows.related_model._meta.fields}
    )


def _names(records: Iterable[Any]) -> dict[tuple[type[Model], Any], str]:
    """What the rows that these records point at are called, as they are called today."""
    wanted: dict[type[Model], set[Any]] = {}
    for record in records:
        for field in record.tracked_fields:
            if isinstance(field, ForeignKey):
                wanted.setdefault(_target(field), set()).add(getattr(record, field.attname))
    return {
        (model, pk): str(row)
        for model, pks in wanted.items()
        for pk, row in _default_rows(model).in_bulk(pks - {None}).items()
    }


def _target(field: Any) -> type[Model]:
    target: type[Model] = field.related_model
    return target


def _default_rows(model: type[Model]) -> QuerySet[Any]:
    rows = model._default_manager.all()
    return rows.select_related("item") if model in (Profile, Product) else rows


def _entry(kind: RecordKind, record: Any, before: Any, names: Names) -> LoggedChange:
    return LoggedChange(
        at=record.history_date,
        by=str(record.history_user or "the book itself"),
        kind=kind.word,
        about=kind.label(record, names),
        act=ACTS[record.history_type],
        reason=record.history_change_reason or "",
        changes=list(_changes(record, before, names)) if record.history_type != "-" else [],
    )


def _changes(record: Any, before: Any, names: Names) -> Iterator[FieldChange]:
    for field in record.tracked_fields:
        if field.name in NOT_TOLD:
            continue
        was = _said(field, before, names) if before else NOTHING
        now = _said(field, record, names)
        if was != now:
            yield FieldChange(str(field.verbose_name), was, now)
    for many in _many_fields(type(record)):
        was = _said_many(many, before) if before else NOTHING
        now = _said_many(many, record)
        if was != now:
            yield FieldChange(str(many.verbose_name), was, now)


def _said_many(field: Any, record: Any) -> str:
    other = field.m2m_reverse_field_name()
    rows = getattr(record, _rows_of(type(record), field)).all()
    return ", ".join(sorted(str(getattr(row, other)) for row in rows)) or NOTHING


def _said(field: Field[Any, Any], record: Any, names: Names) -> str:
    value = getattr(record, field.attname)
    if value is None or value == "":
        return NOTHING
    if isinstance(field, ForeignKey):
        return _pointed_at(names, _target(field), value)
    if field.choices:
        return str(dict(field.flatchoices).get(value, value))
    return in_words(value)
