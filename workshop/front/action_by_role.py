"""The one large thing to do next, by role, and what else may be begun."""

from dataclasses import dataclass

from django.urls import reverse
from django.utils import timezone
from django.utils.html import format_html
from django.utils.safestring import SafeString

from workshop.core import formatting
from workshop.core.models import Role
from workshop.front.dashboard_lists import ListResult, nothing_waits
from workshop.kettle.models import Batch, BatchState
from workshop.packing.models import PackingRun

Act = tuple[str, str]
RECEIVE = ("Receive a delivery", "goods_in:new-receipt")
PLAN = ("Plan a batch", "kettle:plan")
PACK = ("Pack", "packing:home")
SEND = ("Send lots out", "dispatch:new")
COMPLAINT = ("Log a complaint", "aftersales:new-complaint")
TRACE = ("Trace a lot", "trace:home")
PROOF = ("Look at the audit", "audit:home")

ACTS: dict[str, list[Act]] = {
    Role.OWNER: [PLAN, RECEIVE, PACK, SEND, COMPLAINT],
    Role.MAKER: [PLAN, RECEIVE, PACK],
    Role.PACKER: [SEND, PACK, RECEIVE],
    Role.INSPECTOR: [TRACE, PROOF],
}


@dataclass(frozen=True)
class NextAction:
    """What comes next: where, in a sentence, the act that does it, and what is quietly known."""

    place: str
    sentence: str
    act: str
    address: str
    about: str = ""
    batch: Batch | None = None


def next_action(role: str, seen: list[ListResult]) -> NextAction:
    """What is on the stove comes first for those who stand there; then what the role begins."""
    rows = {one.watch.key: one.rows for one in seen}
    if role in (Role.OWNER, Role.MAKER) and (batch := _to_weigh(rows["under-way"])):
        return _at_the_stove(batch)
    if role == Role.PACKER and rows["packing"]:
        return _at_the_bench(rows["packing"][0])
    words, name = ACTS[role][0]
    return NextAction("", _quiet(role, seen), words, reverse(name))


def acts_for(role: str, first: NextAction) -> list[Act]:
    """What else may be begun."""
    acts = [(words, reverse(name)) for words, name in ACTS[role]]
    return [act for act in acts if act[1] != first.address]


def _quiet(role: str, seen: list[ListResult]) -> str:
    if not any(one.rows for one in seen):
        return nothing_waits()
    return {
        Role.PACKER: "No packing run is under way",
        Role.INSPECTOR: "The book is open to you",
    }.get(Role(role), "Nothing is being weighed")


def _to_weigh(batches: list[Batch]) -> Batch | None:
    """The batch that is being weighed, or the next one planned, with what it holds."""
    for state in (BatchState.UNDER_WAY, BatchState.PLANNED):
        for batch in batches:
            if batch.state == state:
                return Batch.objects.with_names().with_weights().get(pk=batch.pk)
    return None


def _at_the_stove(batch: Batch) -> NextAction:
    lines = list(batch.lines.with_taken().select_related("item"))
    to_come = [line for line in lines if not line.is_done]
    address = reverse("kettle:weigh", args=[batch.operation.reference])
    opened = batch.operation
    begun = formatting.moment(timezone.localtime(opened.opened_at))
    about = f"{batch.version.formula}. Begun {begun} by {opened.opened_by}."
    if batch.state == BatchState.PLANNED:
        return NextAction(
            "Next at the kettle", _said("Begin {}: {}", batch, batch.version.formula),
            f"Begin weighing {batch}", address,
            f"{len(lines)} ingredients, {formatting.with_unit(batch.target_g, 'g')}.", batch,
        )  # fmt: skip
    if not to_come:
        return NextAction(
            "Next at the kettle", _said("All is in {}: check it and pour", batch),
            f"Continue with {batch}", address, about, batch,
        )  # fmt: skip
    left = f"{len(to_come)} of {len(lines)} ingredients to go"
    return NextAction(
        "Next at the kettle", _said("Next into {}: {}", batch, to_come[0].item),
        f"Continue weighing {batch}", address, f"{about} {left}.", batch,
    )  # fmt: skip


def _said(words: str, batch: Batch, *more: object) -> SafeString:
    """A sentence that does not break a reference in two."""
    reference = format_html('<span class="nowrap">{}</span>', batch)
    return format_html(words, reference, *more)


def _at_the_bench(run: PackingRun) -> NextAction:
    reference = run.operation.reference
    planned = f"{run.planned_units} units planned, " if run.planned_units else ""
    return NextAction(
        "Next at the bench", f"Pack {run.product}",
        f"Continue packing {reference}", reverse("packing:run", args=[reference]),
        f"{planned}begun by {run.operation.opened_by}.",
    )  # fmt: skip
