"""A supplier's EPCIS document taken in as a receipt: a dry run first, then all of it or nothing."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from workshop.core import formatting
from workshop.core.access import WORKERS, Request, allow
from workshop.core.errors import ActionRefused
from workshop.core.forms import refuse
from workshop.goods_in import services
from workshop.goods_in.delivery_checks import RefusedLines
from workshop.goods_in.epcis.forms import DeliveryForm, FileForm, delivery_of
from workshop.goods_in.epcis.read_delivery import DeliveryLine, with_faults


@require_http_methods(["GET", "POST"])
@allow(WORKERS)
def receive_events(request: Request) -> HttpResponse:
    if "content" in request.POST:
        return _deliver(request, request.POST["content"])
    is_sent = request.method == "POST"
    form = FileForm(request.POST, request.FILES) if is_sent else FileForm()
    if form.is_valid():
        delivery = DeliveryForm(content=form.cleaned_data["file"])
        return _show(request, delivery, delivery.dry_run())
    return render(request, "goods_in/events_file.html", {"form": form})


def _deliver(request: Request, content: str) -> HttpResponse:
    try:
        form = DeliveryForm(request.POST, content=content)
    except ActionRefused as error:  # what was sent is not the page that was shown
        again = FileForm({}, {})
        again.add_error(None, error.message)
        return render(request, "goods_in/events_file.html", {"form": again})
    form.is_valid()
    lines = form.dry_run()
    wants_it = "check" not in request.POST
    if wants_it and form.is_valid() and not any(line.faults for line in lines):
        delivery = delivery_of(form, lines)
        try:
            receipt = services.receive(
                arrived=delivery.arrived, **delivery.head, by=request.user, at=timezone.now()
            )
        except RefusedLines as error:
            lines = with_faults(lines, error.faults)
        except ActionRefused as error:
            refuse(form, error)
        else:
            said = f"{receipt}: {len(lines)} lots received on {formatting.day(receipt.received_on)}"
            messages.success(request, f"{said} from {receipt.supplier}. They wait in quarantine.")
            return redirect("goods_in:receipt", receipt.operation.reference)
    return _show(request, form, lines)


def _show(request: Request, form: DeliveryForm, lines: list[DeliveryLine]) -> HttpResponse:
    bad = [line for line in lines if line.faults]
    context = {"form": form, "lines": lines, "bad": bad, "is_checked": form.is_bound}
    return render(request, "goods_in/events_delivery.html", context)
