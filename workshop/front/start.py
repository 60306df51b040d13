"""What an empty book lacks before its first label, in the order in which it is needed."""

from collections.abc import Callable
from dataclasses import dataclass, replace

from django.urls import reverse

from workshop.core.models import User, Workshop
from workshop.formulas.models import Version
from workshop.goods_in.models import ReceiptLine, Supplier
from workshop.kettle.models import Batch, Kettle, Scale
from workshop.labels.models import LabelVersion, Print
from workshop.ledger.models import Item, ItemKind, Operation
from workshop.packing.models import PackingRun, Product


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
        "Names, CAS numbers and melting ranges come with usual materials, and are yours to change.",
        "Choose usual materials",
        "materials:usual",
        lambda: Item.objects.of_kind(ItemKind.MATERIAL).exists(),
    ),
    (
        "packaging",
        "What it is filled into",
        "The tin, jar or wrapper that is counted.",
        "New packaging",
        "materials:new-packaging",
        lambda: Item.objects.of_kind(ItemKind.PACKAGING).exists(),
    ),
    (
        "kettle",
        "A kettle",
        "How much it holds.",
        "New kettle",
        "kettle:new-kettle",
        lambda: Kettle.objects.exists(),
    ),
    (
        "scale",
        "A scale",
        "What it reads in, and up to what weight.",
        "New scale",
        "kettle:new-scale",
        lambda: Scale.objects.exists(),
    ),
    (
        "formula",
        "The first formula",
        "In one page: name, percent or grams, steps. Then approve it.",
        "A formula in one page",
        "formulas:whole",
        lambda: Version.objects.approved().exists(),
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
        "supplier",
        "A supplier",
        "Whoever the first delivery came from.",
        "New supplier",
        "goods_in:new-supplier",
        lambda: Supplier.objects.exists(),
    ),
    (
        "delivery",
        "The first delivery",
        "Each lot gets a code, and is released once it was looked at.",
        "Receive a delivery",
        "goods_in:new-receipt",
        lambda: ReceiptLine.objects.exists(),
    ),
    (
        "batch",
        "The first batch",
        "Plan it, weigh, pour and release.",
        "Plan a batch",
        "kettle:plan",
        lambda: Batch.objects.exists(),
    ),
    (
        "packing",
        "The first packing",
        "Fill it, count it, release it.",
        "Pack tins",
        "packing:home",
        lambda: PackingRun.objects.exists(),
    ),
    (
        "label",
        "The first label",
        "Approve it, and print it from the lot.",
        "Labels of the products",
        "packing:products",
        lambda: Print.objects.exists() or LabelVersion.objects.exists(),
    ),
)
LATER = {"people"}


def steps() -> list[Step]:
    found = [
        Step(key, title, words, act, reverse(page), is_there(), is_needed=key not in LATER)
        for key, title, words, act, page, is_there in STEPS
    ]
    versions = Version.objects.select_related("formula").order_by("-pk")
    draft = versions.filter(status="draft").first()
    approved = versions.approved().first()
    return [_of_product(_with_draft(step, draft), approved) for step in found]


def _of_product(step: Step, approved: Version | None) -> Step:
    """The first product is of the first formula."""
    if step.key != "product" or approved is None:
        return step
    return replace(step, address=f"{step.address}?bulk={approved.formula.item_id}")


def _with_draft(step: Step, draft: Version | None) -> Step:
    """A formula that is begun is gone on with, not begun again."""
    if step.key != "formula" or step.is_done or draft is None:
        return step
    address = reverse("formulas:version", args=[draft.pk])
    return replace(step, words=f"{draft} waits for approval.", act="Continue it", address=address)


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
