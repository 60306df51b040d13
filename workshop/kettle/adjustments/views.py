"""A melt that left its formula, is too soft or hard, or gets a substitute: look, then choose."""

from collections.abc import Callable, Sequence
from decimal import Decimal
from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from workshop.core import formatting
from workshop.core.access import EVERYONE, MAKERS, Request, allow
from workshop.core.errors import ActionRefused
from workshop.core.forms import (
    refusals_on,
    refuse,
)
from workshop.kettle import services
from workshop.kettle.adjustments.adjusted_weights import (
    AdjustedWeights,
    adjustment,
    final_g,
    proportion,
)
from workshop.kettle.adjustments.forms import SeenForm, SpoonForm, StandInForm, WayForm
from workshop.kettle.adjustments.impact import Effect, effects_of
from workshop.kettle.adjustments.kettle_contents import KettleContents, contents_of
from workshop.kettle.adjustments.melting_range import melting_told
from workshop.kettle.adjustments.options import CorrectionOption, options
from workshop.kettle.models import Batch, BatchLine, TargetChangeKind
from workshop.kettle.views import batch_or_404
from workshop.kettle.weighing.forms import MISTYPED
from workshop.kettle.weighing.lot_selection import allowed_items
from workshop.ledger.models import Lot
from workshop.rules.quantities.units import round_to

HUNDREDTH = Decimal("0.01")


@require_http_methods(["GET", "POST"])
@allow(EVERYONE, write=MAKERS)
def mend(request: Request, reference: str) -> HttpResponse:
    """Every way to mend an over-pour, each with its figures; one is chosen with a reason."""
    batch = batch_or_404(reference)
    melt = contents_of(batch, on=timezone.localdate())
    found = options(melt) if melt.over and batch.is_being_weighed else []
    open_ways = [way.kind for way in found if not way.refusal]
    initial: dict[str, Any] = {"figures_hash": melt.figures_hash}
    if open_ways and open_ways[-1] == TargetChangeKind.SPLIT:
        initial["poured_off_g"] = found[-1].poured_off_g
    form = WayForm(_data(request), kinds=open_ways or list(TargetChangeKind), initial=initial)
    if form.is_valid():
        try:
            sentence = _mended(request, batch, form.cleaned_data)
        except ActionRefused as error:
            refuse(form, error)
            _show_new_figures(form, melt)
        else:
            messages.success(request, sentence)
            return redirect("kettle:weigh", reference=reference)
    context = {
        "batch": batch,
        "melt": melt,
        "ways": found,
        "open_ways": [way for way in found if not way.refusal],
        "table": _table(melt, found),
        "form": form,
        "may_work": request.user.role in MAKERS,
        "mistyped": MISTYPED,
    }
    return render(request, "kettle/mend.html", context)


def _table(melt: KettleContents, found: Sequence[CorrectionOption]) -> list[dict[str, Any]]:
    """Line by line, what each way that is open comes to."""
    ways = [way for way in found if not way.refusal]
    return [
        {
            "line": row.line,
            "meant": _hundredths(round_to(line.share * 100, HUNDREDTH)),
            "parts": [(way, way.parts[place]) for way in ways],
        }
        for place, (row, line) in enumerate(zip(melt.rows, melt.lines, strict=True))
    ]


def _hundredths(percent: Decimal) -> str:
    return formatting.number(percent, least=2, most=2)


def _data(request: Request) -> Any:
    """What was sent; a copy, so that new figures can take the place of those seen before."""
    return request.POST.copy() if request.method == "POST" else None


def _show_new_figures(form: Any, melt: KettleContents) -> None:
    """The page now shows the figures as they are, so the next choice is made by them."""
    form.data["figures_hash"] = melt.figures_hash


def _mended(request: Request, batch: Batch, data: dict[str, Any]) -> str:
    common = {name: data[name] for name in ("figures_hash", "reason", "token")}
    at = timezone.now()
    if data["kind"] == TargetChangeKind.SPLIT:
        grams = data["poured_off_g"]
        lot = services.split_off(batch, grams, **common, by=request.user, at=at)
        return (
            f"{formatting.with_unit(grams, 'g')} split off as lot {lot}, on hold in batch "
            f"{lot.origin.reference}. The rest is to be rebalanced as the lines now show."
        )
    changes = services.mend(batch, TargetChangeKind(data["kind"]), **common, by=request.user, at=at)
    return services.said_of(changes)


@require_http_methods(["GET", "POST"])
@allow(EVERYONE, write=MAKERS)
def spoon(request: Request, reference: str) -> HttpResponse:
    """Too soft or too hard: how much to add, and what it does; then set it as a target."""
    batch = batch_or_404(reference)
    ask = SpoonForm(request.GET or None, batch=batch)
    melt = contents_of(batch, on=timezone.localdate())

    def work_out() -> AdjustedWeights:
        return adjustment(melt, *(ask.cleaned_data[name] for name in ("line", "points", "adding")))

    def do(common: dict[str, Any]) -> BatchLine:
        line: BatchLine = ask.cleaned_data["adding"]
        services.adjust(batch, **ask.cleaned_data, **common)
        return line

    return _preview(request, melt, ask, work_out, do, template="kettle/spoon.html")


@require_http_methods(["GET", "POST"])
@allow(EVERYONE, write=MAKERS)
def stand_in(request: Request, reference: str, pk: int) -> HttpResponse:
    """What an allowed substitute would change, and its proportion as the line's new target."""
    batch = batch_or_404(reference)
    melt = contents_of(batch, on=timezone.localdate())
    line = next((row.line for row in melt.rows if row.line.pk == pk), None)
    line = line or get_object_or_404(BatchLine.objects.none(), pk=pk)
    ask = StandInForm(request.GET or None)

    def work_out() -> AdjustedWeights:
        _refuse_stranger(line, ask.cleaned_data["lot"])
        return proportion(melt, line, ask.cleaned_data["ratio"])

    def do(common: dict[str, Any]) -> BatchLine:
        services.set_proportion(batch, line, ask.cleaned_data["ratio"], **common)
        return line

    lot = ask.cleaned_data.get("lot") if ask.is_valid() else None
    return _preview(
        request, melt, ask, work_out, do, template="kettle/stand_in.html", line=line, lot=lot
    )


def _refuse_stranger(line: BatchLine, lot: Lot) -> None:
    if lot.item_id not in allowed_items(line):
        raise ActionRefused(
            f"Lot {lot} is {lot.item}, which the formula does not allow instead of {line.item}.",
            field="lot",
        )


def _preview(
    request: Request,
    melt: KettleContents,
    ask: Any,
    work_out: Callable[[], AdjustedWeights],
    do: Callable[[dict[str, Any]], BatchLine],
    *,
    template: str,
    lot: Lot | None = None,
    **more: Any,
) -> HttpResponse:
    """Work a change out, tell what it does, and make it when it is sent with a reason."""
    change, batch = None, melt.batch
    if ask.is_valid():
        with refusals_on(ask):
            change = work_out()
    form = SeenForm(_data(request), initial={"figures_hash": melt.figures_hash})
    if change and form.is_valid():
        try:
            line = do({**form.cleaned_data, "by": request.user, "at": timezone.now()})
        except ActionRefused as error:
            refuse(form, error)
            _show_new_figures(form, melt)
        else:
            messages.success(request, f"The target of {line.item} is changed.")
            address = reverse("kettle:weigh", args=[batch.operation.reference])
            return redirect(f"{address}?line={line.pk}" + (f"&lot={lot.code}" if lot else ""))
    context = {
        "batch": batch,
        "melt": melt,
        "ask": ask,
        "form": form,
        "change": change,
        "lot": lot,
        "rows": _rows(melt, change) if change else [],
        "effect": _effect(melt, change, lot) if change else None,
        "melting": _melting(change, lot) if change and lot else [],
        "may_work": request.user.role in MAKERS and batch.is_being_weighed,
    }
    return render(request, template, context | more)


def _rows(melt: KettleContents, change: AdjustedWeights) -> list[dict[str, Any]]:
    return [
        {
            "item": row.line.item,
            "before_g": change.before_g[row.line.pk],
            "after_g": change.aims_g[row.line.pk],
            "was": _hundredths(change.share_percent(row.line, after=False)),
            "becomes": _hundredths(change.share_percent(row.line)),
        }
        for row in [*melt.rows, *melt.apart]
    ]


def _melting(change: AdjustedWeights, lot: Lot) -> list[str]:
    return melting_told(change.line, lot.item, change.share_percent(change.line))


def _effect(melt: KettleContents, change: AdjustedWeights, lot: Lot | None) -> Effect:
    """Held against the kettle as it would come out without the change."""
    try:
        effects = effects_of(melt.batch, [*melt.rows, *melt.apart])
        return effects.effect(final_g(melt), change.aims_g, line=change.line, lot=lot)
    except ActionRefused as error:
        return Effect([error.message])
