"""Pages of market sheets, the firms on them, claims, and the tables of words and names."""

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from workshop.core.access import EVERYONE, OWNER, Request, allow
from workshop.core.errors import ActionRefused
from workshop.core.forms import refusals_on
from workshop.core.markets import Market
from workshop.core.saving.edit_conflicts import up_to_date
from workshop.core.web.edit_views import edit_page
from workshop.labels.content.label import design_of
from workshop.labels.content.market_sheet_state import claims_of, design_words, problems_of
from workshop.labels.design.views import product_or_404
from workshop.labels.market_sheets.forms import (
    ClaimAnswerForm,
    ClaimProofForm,
    OwnNameForm,
    PartyForm,
    PhraseForm,
    SheetForm,
)
from workshop.labels.models import MarketSheet, OwnName, Party, Phrase
from workshop.labels.printing.views import shown
from workshop.labels.services import claims as claim_services
from workshop.labels.services import market_sheets
from workshop.packing.models import Product
from workshop.rules.ingredients.names.by_market import CATALOGUE
from workshop.rules.markets.laws import law_of
from workshop.rules.markets.phrases import TABLE


def _market_or_404(market: str) -> str:
    if market not in Market.values:
        raise Http404("That is not a market known here.")
    return market


def _sheet(product: Product, market: str) -> MarketSheet:
    found = MarketSheet.objects.filter(product=product, market=market)
    sheet = found.select_related("responsible", "approved_by").first()
    law = law_of(market)
    return sheet or MarketSheet(product=product, market=market, languages=[law.languages[0]])


@require_http_methods(["GET", "POST"])
@allow(EVERYONE, write=OWNER)
def sheet(request: Request, code: str, market: str) -> HttpResponse:
    """The sheet of a product in one market, with what is missing on it."""
    product = product_or_404(code)
    found = _sheet(product, _market_or_404(market))
    form = SheetForm(request.POST or None, sheet=found)
    if form.is_valid():
        with refusals_on(form), up_to_date(form):
            market_sheets.save_sheet(found, form.cleaned_data, by=request.user, at=timezone.now())
            messages.success(request, f"The {market} sheet of {product} is kept.")
            return redirect("labels:sheet", code=code, market=market)
    context = {"product": product, "sheet": found, "law": law_of(market), "form": form}
    return shown(request, "labels/sheet.html", context | {"problems": problems_of(found)})


@require_POST
@allow(OWNER)
def approve_sheet(request: Request, code: str, market: str) -> HttpResponse:
    product = product_or_404(code)
    found = get_object_or_404(MarketSheet, product=product, market=_market_or_404(market))
    try:
        market_sheets.approve_sheet(found, by=request.user, at=timezone.now())
    except ActionRefused as error:
        messages.error(request, error.message)
    else:
        messages.success(request, f"The {market} sheet of {product} is approved.")
    return redirect("labels:sheet", code=code, market=market)


@require_GET
@allow(EVERYONE)
def parties(request: Request) -> HttpResponse:
    """The responsible persons and firms that labels name."""
    return shown(request, "labels/parties.html", {"parties": Party.objects.all()})


@require_http_methods(["GET", "POST"])
@allow(OWNER)
def new_party(request: Request) -> HttpResponse:
    return _party_form(request, Party())


@require_http_methods(["GET", "POST"])
@allow(OWNER)
def change_party(request: Request, pk: int) -> HttpResponse:
    return _party_form(request, get_object_or_404(Party, pk=pk))


def _party_form(request: Request, party: Party) -> HttpResponse:
    form = PartyForm(request.POST or None, instance=party)

    def save() -> Party:
        values = form.cleaned_data
        return market_sheets.save_row(party, values, by=request.user, at=timezone.now())

    return edit_page(
        request,
        form,
        save,
        lambda row: ("labels:change-party", row.pk),
        template="labels/party.html",
        room="packing",
        party=party,
    )


@require_http_methods(["GET", "POST"])
@allow(EVERYONE, write=OWNER)
def words(request: Request) -> HttpResponse:
    """The words of labels in each language: those that come with the book, and the owner's."""
    form = PhraseForm(request.POST or None)
    if form.is_valid():
        values = form.cleaned_data
        row = Phrase.objects.filter(
            language=values["language"], english__iexact=values["english"]
        ).first()
        with refusals_on(form):
            market_sheets.save_row(row or Phrase(), values, by=request.user, at=timezone.now())
            messages.success(request, f"“{values['english']}” is kept in {values['language']}.")
            return redirect("labels:words")
    context = {"form": form, "table": TABLE, "own": Phrase.objects.all()}
    return shown(request, "labels/words.html", context)


@require_http_methods(["GET", "POST"])
@allow(EVERYONE, write=OWNER)
def names(request: Request) -> HttpResponse:
    """What each ingredient is called in the lists of each market."""
    form = OwnNameForm(request.POST or None)
    if form.is_valid():
        with refusals_on(form):
            market_sheets.save_row(
                form.row(), form.cleaned_data, by=request.user, at=timezone.now()
            )
            messages.success(request, f"{form.cleaned_data['name']} is kept.")
            return redirect("labels:names")
    context = {"form": form, "catalogue": CATALOGUE, "own": OwnName.objects.all()}
    return shown(request, "labels/names.html", context)


@require_http_methods(["GET", "POST"])
@allow(EVERYONE, write=OWNER)
def claims(request: Request, code: str) -> HttpResponse:
    """Each claim with its evidence, and the words that may make the product a drug."""
    product = product_or_404(code)
    is_answer = "answer" in request.POST
    proof = ClaimProofForm(
        None if is_answer else request.POST or None, None if is_answer else request.FILES or None
    )
    answer = ClaimAnswerForm(request.POST if is_answer else None)
    form: ClaimProofForm | ClaimAnswerForm = answer if is_answer else proof
    if form.is_valid():
        with refusals_on(form):
            _note_claim(request, product, form)
            return redirect("labels:claims", code=code)
    return shown(request, "labels/claims.html", _claim_context(product, proof, answer))


def _note_claim(request: Request, product: Product, form: ClaimProofForm | ClaimAnswerForm) -> None:
    values, at = form.cleaned_data, timezone.now()
    if isinstance(form, ClaimAnswerForm):
        claim_services.answer_words(product, **values, by=request.user, at=at)
        messages.success(request, f"Your answer for “{values['word']}” is noted.")
    else:
        claim_services.prove_claim(product, **values, by=request.user, at=at)
        messages.success(request, f"The evidence for “{values['claim']}” is noted.")


def _claim_context(
    product: Product, proof: ClaimProofForm, answer: ClaimAnswerForm
) -> dict[str, Any]:
    found: dict[tuple[str, str], Any] = {}
    for market in Market.values:
        for state in design_words(product, _sheet(product, market)):
            found.setdefault((state.found.sentence, state.found.word), state)
    return {
        "product": product,
        "claims": claims_of(product, design_of(product).claims),
        "words": list(found.values()),
        "proof": proof,
        "answer": answer,
    }
