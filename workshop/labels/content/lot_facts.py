"""What the book holds about finished lots for their labels, read for many lots at once."""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from django.db.models import Max

from workshop.core.errors import ActionRefused
from workshop.core.models import Workshop
from workshop.goods_in.lot_composition import behind, compositions_or_why
from workshop.kettle.adjustments.use_limits import uses_behind
from workshop.labels.content.market_terms import MarketTerms, terms_of
from workshop.labels.models import Decision, LabelVersion, Print
from workshop.ledger.inherited_best_before import due_dates
from workshop.ledger.models import Lot
from workshop.materials.fragrance_allergens import Allergens, shares_or_why
from workshop.materials.ingredients import Shares
from workshop.packing.fill_control.figures import FillCheck, checks_of
from workshop.packing.models import PackingRun
from workshop.packing.queries import accounts
from workshop.packing.runs.mass_account import Account
from workshop.rules.allergens.thresholds import Use
from workshop.rules.errors import RuleError


@dataclass(frozen=True)
class LotFacts:
    """All that a label of one finished lot follows from, as far as the book has it.

    A composition or allergens that cannot be determined are the reason instead; `run` is missing
    for a lot that was not packed here. `versions` are the approved labels of its product by market.
    """

    workshop: Workshop | None
    composition: Shares | ActionRefused
    allergens: Allergens | RuleError
    use: Use
    due: date | None  # as it follows from everything behind the lot
    run: PackingRun | None
    account: Account | None
    check: FillCheck | None
    versions: Mapping[str, LabelVersion]
    decisions: Sequence[Decision]
    printed_until: date | None
    terms: MarketTerms

    def decision_about(self, version: LabelVersion) -> Decision | None:
        return next((one for one in self.decisions if one.version_id == version.pk), None)


def facts_of(lot: Lot, *, names_allergens: bool = True) -> LotFacts:
    return facts_of_lots([lot], names_allergens=names_allergens)[lot.pk]


def facts_of_lots(lots: Collection[Lot], *, names_allergens: bool = True) -> dict[int, LotFacts]:
    """The facts by the lots' keys; the number of queries does not depend on how many there are.

    Where no market names allergens, nobody looks for them.
    """
    pks = [lot.pk for lot in lots]
    workshop = Workshop.objects.first()
    tree = behind(lots)
    compositions = compositions_or_why(lots, tree=tree)
    allergens = shares_or_why(lots, tree=tree) if names_allergens else {}
    uses = uses_behind(lots) if names_allergens else {}
    due = due_dates(pks, links=tree.links)
    runs = _runs(lots)
    account_of, check_of = accounts(runs.values()), checks_of(runs.values())
    versions = _approved(lots)
    decisions = _by_lot(Decision.objects.filter(lot__in=pks).select_related("by"))
    printed = Print.objects.filter(lot__in=pks).order_by().values("lot")
    until = dict(printed.annotate(latest=Max("best_before")).values_list("lot", "latest"))
    terms = terms_of(product_of(lot) for lot in lots)
    found = {}
    for lot in lots:
        run = runs.get(lot.origin_id)
        found[lot.pk] = LotFacts(
            workshop=workshop,
            composition=compositions[lot.pk],
            allergens=allergens.get(lot.pk, {}),
            use=uses.get(lot.pk, "leave-on"),
            due=due[lot.pk],
            run=run,
            account=account_of[run.pk] if run else None,
            check=check_of[run.pk] if run else None,
            versions=versions.get(lot.item_id, {}),
            decisions=decisions.get(lot.pk, []),
            printed_until=until.get(lot.pk),
            terms=terms,
        )
    return found


def product_of(lot: Lot) -> int:
    """The key of the product that a lot is of, 0 for none."""
    product = getattr(lot.item, "product", None)
    return product.pk if product else 0


def _runs(lots: Collection[Lot]) -> dict[int, PackingRun]:
    """The run that each lot came out of, by its operation."""
    found = PackingRun.objects.filter(operation__in=[lot.origin_id for lot in lots])
    return {run.operation_id: run for run in found.select_related("operation", "product__item")}


def _approved(lots: Collection[Lot]) -> dict[int, dict[str, LabelVersion]]:
    found: dict[int, dict[str, LabelVersion]] = {}
    items = {lot.item_id for lot in lots}
    rows = LabelVersion.objects.approved().filter(product__item__in=items)
    for version in rows.select_related("product"):
        found.setdefault(version.product.item_id, {}).setdefault(str(version.market), version)
    return found


def _by_lot(decisions: Iterable[Decision]) -> dict[int, list[Decision]]:
    found: dict[int, list[Decision]] = {}
    for decision in decisions:
        found.setdefault(decision.lot_id, []).append(decision)
    return found
