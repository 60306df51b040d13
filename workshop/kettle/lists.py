"""The lists of batches: those under way, and all others."""

from typing import Any

from django.urls import reverse

from workshop.core.access import MAKERS
from workshop.core.lists.columns import CODE, Act, Amount, Column, Moment, Name, Operation, State
from workshop.core.lists.listing import Listing, mentioning
from workshop.kettle.models import Batch


def _weigh_up(batch: Batch) -> str:
    return reverse("kettle:weigh", args=[batch.operation.reference])


def _yield(batch: Batch) -> Any:
    return batch.put_out_g or None


NAMES = ("version__formula__name", "operation__reference")
COLUMNS: list[Column] = [
    Operation(
        "Batch",
        str,
        to=lambda batch: reverse("kettle:batch", args=[batch.operation.reference]),
        order=("pk",),
    ),
    Name(
        "Formula",
        lambda batch: f"{batch.version.formula}, v{batch.version.number}",
        order=("version__formula__name", "version__number"),
    ),
    Moment("Begun", lambda batch: batch.operation.opened_at, order=("operation__opened_at",)),
    Column("By", lambda batch: batch.operation.opened_by),
    Column("Kettle", lambda batch: batch.kettle, order=("kettle__name",)),
    Amount("Planned", lambda batch: batch.target_g, order=("target_g",), place=""),
    Amount("In", lambda batch: batch.taken_g),
    Amount("Yield", _yield, place=""),
    State(
        "State",
        lambda batch: batch.get_state_display(),
        key_of=lambda batch: batch.state,
        order=("state",),
    ),
]
OVER = Listing(
    columns=COLUMNS,
    order=("-pk",),
    order_words="newest first",
    none="No batch was closed yet.",
    search=mentioning(*NAMES),
    search_word="Batch or formula",
    days="operation__opened_at",
    are_moments=True,
    days_word="Begun from",
    file="batches",
)
UNDER_WAY = Listing(
    columns=[
        *COLUMNS,
        Act(
            "Next",
            lambda batch: "Weigh up" if batch.is_being_weighed else "",
            to=_weigh_up,
            roles=tuple(MAKERS),
        ),
    ],
    order=("-pk",),
    order_words="newest first",
    none="No batch is under way.",
    file="batches-under-way",
)


CLEANINGS = Listing(
    columns=[
        Moment("When", lambda one: one.cleaned_at, order=("cleaned_at",), place=CODE),
        Column("What was done", lambda one: one.method),
        Column("With what", lambda one: one.agent),
        Column("Rinse", lambda one: one.rinse),
        Column("By", lambda one: one.by),
        Column("Checked by", lambda one: one.checked_by),
    ],
    order=("-cleaned_at", "-pk"),
    order_words="newest first",
    none="None yet.",
    search=mentioning("method", "agent", "checked_by"),
    search_word="What, with what, checked by",
    days="cleaned_at",
    are_moments=True,
    days_word="Cleaned from",
    file="cleanings",
)
