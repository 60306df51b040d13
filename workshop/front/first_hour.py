"""What an empty book lacks before its first label, in the order in which it is needed."""

from collections.abc import Callable
from dataclasses import dataclass, replace

from django.urls import reverse
from django.utils import timezone

from workshop.core.models import User, Workshop
from workshop.formulas.models import Version
from workshop.goods_in.models import Receipt, ReceiptLine, Supplier
from workshop.kettle.models import Batch, BatchState, Kettle, Scale
from workshop.labels.models import Print
from workshop.ledger.models import Item, ItemKind, Lot, LotQuerySet, Operation, Status
from workshop.packing.models import PackingRun, Product
from workshop.packing.runs.packable import products_of, to_pack


@dataclass(frozen=True)
class Step:
    """One thing to do: whether it is done, what it is for, and where."""

    key: str
    title: str
    words: str
    act: str
    address: str
    is_done: bool
    is_needed: bool = True


IsThere = Callable[[], bool]

# Key, title, what it is for, the words of the link, the page, and whether it is there.
STEPS: tuple[tuple[str, str, str, str, str, IsThere], ...] = (
    (
        "workshop",
        "The workshop",
        "Its name, its address as a label prints it, and the market whose rules hold.",
        "Name and address",
        "core:workshop",
        lambda: Workshop.objects.exists(),
    ),
    (
        "people",
        "People",
        "Whoever weighs, packs and looks on signs in by name. You can do this later.",
        "Add a person",
        "core:new-person",
        lambda: User.objects.filter(is_active=True).count() > 1,
    ),
    (
        "materials",
        "What you make it from",
        "A formula enters its own. Usual materials come with names, CAS numbers and melting ranges,"
        " and are yours to change.",
        "Choose usual materials",
        "materials:usual",
        lambda: Item.objects.of_kind(ItemKind.MATERIAL).exists(),
    ),
    (
        "formula",
        "The first formula",
        "In one page: name, percent or grams, steps. Then approve it.",
        "A formula on one page",
        "formulas:whole",
        lambda: Version.objects.approved().exists(),
    ),
    (
        "workplace",
        "What you work with",
        "What it is filled into, a kettle, a scale, and whoever the first delivery comes from.",
        "Container, kettle, scale, supplier",
        "front:workplace",
        lambda: not workplace_lacks(),
    ),
    (
        "product",
        "The first product",
        "How much of it goes into what, and the words of its label.",
        "New product",
        "packing:new-product",
        lambda: Product.objects.exists(),
    ),
    (
        "delivery",
        "The first delivery",
        "Each lot gets a code, and is released once it was looked at.",
        "Receive a delivery",
        "goods_in:new-receipt",
        lambda: ReceiptLine.objects.filter(lot__status=Status.RELEASED).exists(),
    ),
    (
        "batch",
        "The first batch",
        "Plan it, weigh, pour and release.",
        "Plan a batch",
        "kettle:plan",
        lambda: _released("origin__batch").exists(),
    ),
    (
        "packing",
        "The first packing",
        "Fill it, count it, release it.",
        "Pack tins",
        "packing:home",
        lambda: _released("origin__packing_run").exists(),
    ),
    (
        "label",
        "The first label",
        "Look at it, and print it from the lot.",
        "Labels of the products",
        "packing:products",
        lambda: Print.objects.exists(),
    ),
)
LATER = {"people", "materials"}
MARK = "first"


def steps() -> list[Step]:
    found = [
        Step(key, title, words, act, reverse(page), is_there(), is_needed=key not in LATER)
        for key, title, words, act, page, is_there in STEPS
    ]
    return [_gone_on_with(step) for step in found]


def _gone_on_with(step: Step) -> Step:
    """What is begun is not begun again: other words, and another address."""
    begun = GO_ON[step.key]() if step.key in GO_ON and not step.is_done else {}
    return replace(
        step,
        act=begun.get("act", step.act),
        words=begun.get("words", step.words),
        address=_marked(begun.get("address", step.address)),
    )


def _marked(address: str) -> str:
    """With the mark of a first step, so that what is saved there leads to the next."""
    return f"{address}{'&' if '?' in address else '?'}{MARK}=1"


def workplace_lacks() -> list[str]:
    """Which of the things that the page of the workplace asks for are not there yet."""
    there = {
        "packaging": Item.objects.of_kind(ItemKind.PACKAGING).exists(),
        "kettle": Kettle.objects.exists(),
        "scale": Scale.objects.exists(),
        "supplier": Supplier.objects.exists(),
    }
    return [name for name, is_there in there.items() if not is_there]


Begun = dict[str, str]


def _draft() -> Begun:
    draft = Version.objects.filter(status="draft").select_related("formula").order_by("-pk").first()
    if draft is None:
        return {}
    return _to("Continue it", "formulas:version", draft.pk, f"{draft} waits for approval.")


def _bulk() -> Begun:
    """The first product is of the first formula."""
    approved = Version.objects.approved().select_related("formula").order_by("-pk").first()
    if approved is None:
        return {}
    return {"address": f"{reverse('packing:new-product')}?bulk={approved.formula.item_id}"}


def _waiting_receipt() -> Begun:
    waits = Receipt.objects.filter(lines__lot__status=Status.QUARANTINE).order_by("-pk").first()
    if waits is None:
        return {}
    words = f"{waits} waits to be released."
    return _to("Review and release it", "goods_in:receipt", str(waits), words)


def _begun_batch() -> Begun:
    begun = Batch.objects.exclude(state=BatchState.ABANDONED).order_by("-pk").first()
    if begun is None:
        return {}
    page = "kettle:weigh" if begun.is_being_weighed else "kettle:batch"
    words = f"Continue {'weighing' if begun.is_being_weighed else 'with'} {begun}"
    return _to(words, page, str(begun), f"{begun} is begun.")


def _ready_to_pack() -> Begun:
    for run in PackingRun.objects.order_by("-pk")[:1]:
        return _to(f"Continue with {run}", "packing:run", str(run), f"{run} is begun.")
    for lot in to_pack(on=timezone.localdate())[:1]:
        product = products_of(lot)[0]
        words = f"Bulk {lot} is released."
        return _to(f"Pack {product}", "packing:pack", product.item.code, words)
    return {}


def _packed_lot() -> Begun:
    lot = _released("origin__packing_run").order_by("-pk").first()
    if lot is None:
        return {}
    return _to("Print its labels", "labels:print", lot.code, f"Lot {lot} is packed.")


def _released(made_in: str) -> LotQuerySet:
    return Lot.objects.filter(status=Status.RELEASED, **{f"{made_in}__isnull": False})


def _to(act: str, page: str, key: object, words: str) -> Begun:
    return {"act": act, "address": reverse(page, args=[key]), "words": words}


GO_ON: dict[str, Callable[[], Begun]] = {
    "formula": _draft,
    "product": _bulk,
    "delivery": _waiting_receipt,
    "batch": _begun_batch,
    "packing": _ready_to_pack,
    "label": _packed_lot,
}


def missing(found: list[Step]) -> list[Step]:
    return [step for step in found if step.is_needed and not step.is_done]


def sentence(found: list[Step]) -> str:
    """What is missing, in words.

    >>> sentence([])
    'The first label can be printed'
    """
    left = len(missing(found))
    if not left:
        return "The first label can be printed"
    things = "One thing is" if left == 1 else f"{left} things are"
    return f"{things} missing before the first label"


def is_untouched() -> bool:
    """Whether nobody has entered anything yet, beside the one person who may."""
    return not (
        User.objects.count() > 1
        or Workshop.objects.exists()
        or Item.objects.exists()
        or Operation.objects.exists()
    )


def is_over() -> bool:
    """Whether the book is past its start: a label was printed."""
    return Print.objects.exists()
