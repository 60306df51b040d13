"""The next act of each role, biggest first, as Today offers it."""

from django.urls import reverse

from workshop.core.models import Role
from workshop.front.dashboard_lists import ListResult
from workshop.kettle.models import BatchState

Act = tuple[str, str]
RECEIVE = ("Receive a delivery", "goods_in:new-receipt")
PLAN = ("Plan a batch", "kettle:plan")
PACK = ("Pack tins", "packing:home")
SEND = ("Send lots out", "dispatch:new")
TRACE = ("Trace a lot", "trace:home")
PROOF = ("Look at the audit", "audit:home")

ACTS: dict[str, list[Act]] = {
    Role.OWNER: [PLAN, RECEIVE, PACK, SEND],
    Role.MAKER: [PLAN, RECEIVE, PACK],
    Role.PACKER: [SEND, PACK, RECEIVE],
    Role.INSPECTOR: [TRACE, PROOF],
}


def acts_for(role: str, seen: list[ListResult]) -> list[Act]:
    """Words and addresses. What is on the stove comes first for those who stand there."""
    acts = [(words, reverse(name)) for words, name in ACTS[role]]
    rows = {one.watch.key: one.rows for one in seen}
    batches = rows["under-way"]
    to_weigh = [batch for batch in batches if batch.state == BatchState.UNDER_WAY]
    to_weigh += [batch for batch in batches if batch.state == BatchState.PLANNED]
    if role in (Role.OWNER, Role.MAKER) and to_weigh:
        reference = to_weigh[0].operation.reference
        address = reverse("kettle:weigh", args=[reference])
        acts.insert(0, (f"Continue weighing {reference}", address))
    if role == Role.PACKER and rows["packing"]:
        reference = rows["packing"][0].operation.reference
        acts.insert(0, (f"Continue packing {reference}", reverse("packing:run", args=[reference])))
    return acts
