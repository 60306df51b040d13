"""How long a change at the workbench takes, from the form to the page, beside the bare rules.

The rules have all that they need at hand; the page reads the book, reckons and is written.
"""

from collections.abc import Iterator
from io import StringIO
from typing import Any

from django.core.management import call_command
from django.db.models import Count
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from benchmarks.timing import compare
from workshop.core.models import Role, User
from workshop.formulas.models import Formula
from workshop.workbench.bench import bench_of
from workshop.workbench.bench_forms import Page, setting_of
from workshop.workbench.figures import compared
from workshop.workbench.outcome import Outcome
from workshop.workbench.trial import Trial, lines_of

MONTHS, TURNS, MOST_MS = 2, 40, 100


def measure(*, months: int = MONTHS, times: int = TURNS) -> Iterator[str]:
    """The lines of the report, of the formula with most lines of a demonstration."""
    call_command("demo", months=months, stdout=StringIO())
    lines = Count("versions__lines")
    formula = Formula.objects.annotate(lines=lines).order_by("-lines", "pk")[0]
    client = Client(SERVER_NAME="localhost")
    client.force_login(User.objects.filter(role=Role.OWNER)[0])
    change, rules = change_of(client, formula), rules_of(formula)
    measured = compare(f"a change of {formula}", change, rules, times=times)
    ours, bare = measured.ours.median_ms, measured.bare.median_ms
    yield f"a change of {formula} {ours:,.0f} ms (at most {MOST_MS}),"
    yield f"  the bare rules {bare:,.0f} ms: {ours / bare:.2f} times"


def change_of(client: Client, formula: Formula) -> Any:
    """Sends the form with another share, as the page's script does."""
    address = reverse("workbench:bench", args=[formula.pk])
    page = page_of(formula)
    forms = [page.head, *page.rows, page.rows.management_form]
    typed = {
        field.html_name: "" if field.value() is None else field.value()
        for form in forms
        for field in form
    }
    typed["lines-0-share"] = "33.3"

    def change() -> None:
        answer = client.post(address, typed, headers={"X-Bench": "part"})
        assert answer.status_code == 200  # noqa: S101 -- a benchmark that measures nothing is none

    return change


def page_of(formula: Formula) -> Page:
    setting = setting_of(formula, None, None)
    assert setting is not None  # noqa: S101 -- a formula of the demonstration has a version
    return Page(setting, None, on=timezone.localdate())


def rules_of(formula: Formula) -> Any:
    """Reckons the same outcome again and again from facts that were read once."""
    page = page_of(formula)
    setting = page.setting
    product = setting.products[0] if setting.products else None
    trial = Trial(
        version=setting.right,
        lines=lines_of(setting.right),
        batch_g=page.values["batch_g"],
        product=product,
        fill_g=product.fill_g if product else None,
    )
    trials = [trial, trial]
    bench = bench_of(trials, on=page.on)

    def rules() -> None:
        compared(Outcome(trial, bench, 0), Outcome(trial, bench, 1), page.currency)

    return rules
