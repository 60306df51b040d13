"""The integrity of the book: its proof, running certificates, and who changed what."""

from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from workshop.audit import change_log as changed
from workshop.audit.all_checks import prove as prove_book
from workshop.audit.lists import RUNNING_OUT, change_list
from workshop.audit.proof_state import certificates_running_out, state
from workshop.core.access import EVERYONE, Request, allow
from workshop.core.models import Role, User
from workshop.ledger.proof.chain_head import head as newest_head

PROVERS = frozenset({Role.OWNER, Role.INSPECTOR})


@require_GET
@allow(EVERYONE)
def home(request: Request) -> HttpResponse:
    context = {
        "state": state(),
        "may_prove": request.user.role in PROVERS,
    }
    rows = certificates_running_out(timezone.localdate())
    return RUNNING_OUT.read(request, rows).answer("audit/home.html", context)


@require_GET
@allow(EVERYONE)
def head(request: Request) -> HttpResponse:
    """The head of the chain in one line, as a file to be kept outside the book."""
    newest = newest_head()
    if newest is None:
        raise Http404("Nothing is sealed yet.")
    name = f"seal-{newest.number}.txt"
    return HttpResponse(
        f"{newest.line}\n",
        content_type="text/plain; charset=utf-8",
        headers={"Content-Disposition": f'attachment; filename="{name}"'},
    )


@require_POST
@allow(PROVERS, write=PROVERS)
def prove(request: Request) -> HttpResponse:
    """Recompute the whole book. It reads all of it and writes nothing."""
    started = timezone.now()
    findings = prove_book()
    context = {
        "findings": findings,
        "is_sound": all(finding.is_sound for finding in findings),
        "at": started,
        "state": state(),
    }
    return render(request, "audit/proof.html", context)


@require_GET
@allow(EVERYONE)
def history(request: Request) -> HttpResponse:
    """Change log; `kind`, `person` and days narrow it down."""
    people = list(User.objects.all())
    listing = change_list(people)
    asked = listing.read(request, changed.all_records())
    kind, person = (asked.chosen(choice) for choice in listing.choices)
    records = changed.all_records(
        kind=kind, person=int(person) if person else None, within=asked.within_days
    )
    return listing.read(request, records).answer("audit/history.html")
