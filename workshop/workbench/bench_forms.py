"""What stands on the bench: two versions, the rows as typed, and both outcomes."""

from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import Any

from django.db.models import Prefetch, prefetch_related_objects

from workshop.core.errors import ActionRefused
from workshop.costs.models import WorkTime
from workshop.costs.services import workshop_currency
from workshop.formulas.models import Formula, Line, Version, VersionStatus
from workshop.kettle.models import Batch
from workshop.ledger.models import Posting, Side
from workshop.packing.models import Product
from workshop.rules.errors import RuleError
from workshop.workbench.bench import Bench, bench_of
from workshop.workbench.figures import Compared, compared
from workshop.workbench.forms import (
    HeadForm,
    Materials,
    Rows,
    lot_choices,
    row_values,
    tried_lines,
)
from workshop.workbench.outcome import Outcome
from workshop.workbench.supply import Supply
from workshop.workbench.trial import Trial, TriedLine, in_use, lines_of, made_further_on

USUAL_BATCH_G = Decimal(10_000)
NOTHING_IN_IT = "There is nothing in it yet: give a material and its share."


@dataclass(frozen=True)
class Setting:
    """The versions in the two columns, and what the bulk is packed as."""

    left: Version
    right: Version
    products: list[Product]
    versions: list[Version]

    @property
    def formula(self) -> Formula:
        return self.right.formula


def setting_of(formula: Formula, left: int | None, right: int | None) -> Setting | None:
    """The versions asked for; else the approved one, or the newest, in both columns."""
    versions = list(formula.versions.select_related("formula__item").order_by("-number"))
    if not versions:
        return None
    found = {one.pk: one for one in versions}
    usual = next((one for one in versions if one.status == VersionStatus.APPROVED), versions[0])
    first = found.get(left or 0, usual)
    second = found.get(right or 0, first)
    lines = Prefetch("lines", Line.objects.select_related("item__profile"))
    prefetch_related_objects([first, second], lines)
    products = Product.objects.filter(bulk=formula.item_id, item__is_active=True)
    packed = list(products.select_related("item", "label_design", "container"))
    return Setting(first, second, packed, versions)


class Page:
    """The forms of one look at the bench, and what they come to."""

    def __init__(self, setting: Setting, typed: Any, *, on: date) -> None:
        self.setting, self.on = setting, on
        self.materials = Materials(setting.right)
        self.currency = workshop_currency()
        self.lines = list(lines_of(setting.right))
        self.values: dict[str, Any] = {}
        if typed is None:
            self.values = self._usual(setting.products[0] if setting.products else None)
        self.trouble, self.refusal = "", ""
        self.compared: Compared | None = None
        self.supply: Supply | None = None
        self.is_sound = typed is None or self._take_up(typed)
        if self.is_sound:
            self._reckon()
            self._show(typed)

    def _take_up(self, typed: Any) -> bool:
        """Read what was typed; False where a field has to be put right first."""
        self.head = HeadForm(typed, products=self.setting.products, lines=self.lines)
        self.rows = Rows(typed, prefix="lines", form_kwargs={"materials": self.materials})
        # Every part is looked at, so that each shows what is wrong in it.
        if not all([self.head.is_valid(), self.rows.is_valid()]):
            return False
        values = self.head.cleaned_data
        likes = {line.pk: line for line in self.setting.right.lines.all()}
        try:
            self.lines = tried_lines(self.rows, likes, values["gives_way"])
        except ActionRefused as refused:
            self.head.add_error(None, refused.message)
            return False
        product = values.get("product")
        if product is not None and product.pk != values["was_product"]:
            # Another product has a fill and a time of its own.
            kept = ("batch_g", "batch_minutes", "gives_way")
            values = self._usual(product, values["batch_g"]) | {one: values[one] for one in kept}
        self.values = values
        return True

    def _reckon(self) -> None:
        """Work out both columns, or say why that cannot be."""
        product = self.values.get("product")
        was = self._trial(self.setting.left, lines_of(self.setting.left))
        now = self._trial(self.setting.right, tuple(self.lines))
        if not was.lines or not now.lines:
            self.trouble = NOTHING_IN_IT
            return
        was = replace(was, fill_g=product.fill_g if product else None)
        further = [
            Trial(version=one, lines=lines_of(one), batch_g=self.values["batch_g"])
            for one in made_further_on(self.setting.right)
        ]
        try:
            bench = bench_of([was, now, *further], on=self.on)
            self.supply = bench.supply
            first, second = Outcome(was, bench, 0), Outcome(now, bench, 1)
            pairs = _further(further, bench, first, second)
            self.compared = compared(first, second, self.currency, pairs)
        except (ActionRefused, RuleError) as error:
            self.trouble = str(error)

    def _trial(self, version: Version, lines: tuple[TriedLine, ...]) -> Trial:
        return Trial(
            version=version,
            lines=in_use(lines),
            batch_g=self.values["batch_g"],
            product=self.values.get("product"),
            fill_g=self.values.get("fill_g"),
            batch_minutes=self.values.get("batch_minutes"),
            run_minutes=self.values.get("run_minutes"),
        )

    def _show(self, typed: Any) -> None:
        """Forms with the figures as they now stand; the token stays as long as nothing is kept."""
        product = self.values.get("product")
        chosen = product.pk if product else None
        initial = self.values | {"product": chosen, "was_product": chosen}
        initial.pop("token", None)
        if typed is not None:
            initial["token"] = self.head.cleaned_data["token"]
        self.head = HeadForm(initial=initial, products=self.setting.products, lines=self.lines)
        rows = [*(row_values(line, self.materials) for line in self.lines), {"item": ""}]
        self.rows = Rows(prefix="lines", initial=rows, form_kwargs={"materials": self.materials})

    def refuse(self, refused: ActionRefused) -> None:
        """Why it is not kept; a second press is then on purpose."""
        self.refusal = refused.message
        self.head.initial.update(refused.renewed)

    def _usual(self, product: Product | None, batch_g: Decimal | None = None) -> dict[str, Any]:
        """A batch of the size and with the minutes of the last one, and a run likewise."""
        batch = Batch.objects.filter(version__formula=self.setting.formula).first()
        values: dict[str, Any] = {
            "batch_g": batch_g or (batch.target_g if batch else USUAL_BATCH_G),
            "batch_minutes": _minutes_of_batch(self.setting.formula),
            "gives_way": None,
            "product": product,
            "fill_g": product.fill_g if product else None,
        }
        self.values = values
        units = self._trial(self.setting.right, lines_of(self.setting.right)).units
        return values | {"run_minutes": _minutes_of_run(product, units) if product else None}

    @property
    def table(self) -> list[dict[str, Any]]:
        """The rows, each with its share in the left column and what changed since."""
        forms = list(self.rows)
        if self.rows.is_bound:
            return [{"form": form} for form in forms]
        before = {line.item.pk: line.share for line in lines_of(self.setting.left)}
        shown = [
            self._row(form, line, before.pop(line.item.pk, None))
            for form, line in zip(forms, self.lines, strict=False)
        ]
        gone = [line for line in lines_of(self.setting.left) if line.item.pk in before]
        shown += [{"line": line, "was": line.share, "change": -line.share} for line in gone]
        forms[-1].fields["item"].widget.attrs["placeholder"] = "another material"
        return [*shown, {"form": forms[-1], "is_new": True}]

    def _row(self, form: Any, line: TriedLine, was: Decimal | None) -> dict[str, Any]:
        if self.supply is not None:
            need = self.values["batch_g"] * line.share / 100
            supply = self.supply
            following = [lot for lot, _ in supply.parts(replace(line, lot=None), Fraction(need))]
            form.fields["lot"].widget.choices = lot_choices(
                supply.choices(line.item), supply.usable(line.item), following
            )
        change = line.share - (was or Decimal(0))
        return {"form": form, "line": line, "was": was, "change": change}

    @property
    def total(self) -> Decimal:
        return sum((line.share for line in self.lines), Decimal(0))

    @property
    def total_was(self) -> Decimal:
        return sum((line.share for line in lines_of(self.setting.left)), Decimal(0))


def _further(
    trials: list[Trial], bench: Bench, was: Outcome, now: Outcome
) -> list[tuple[Outcome, Outcome]]:
    """What is made of the bulk further on, with the bulk as it was and as it is tried."""
    before = {was.trial.version.formula.item_id: was}
    after = {now.trial.version.formula.item_id: now}
    pairs = []
    for column, trial in enumerate(trials, start=2):
        pair = Outcome(trial, bench, column, before), Outcome(trial, bench, column, after)
        item = trial.version.formula.item_id
        before[item], after[item] = pair
        pairs.append(pair)
    return pairs


def _minutes_of_batch(formula: Formula) -> int | None:
    """What the last batch of the formula took, as entered with its cost."""
    times = WorkTime.objects.filter(operation__batch__version__formula=formula)
    last = times.order_by("-operation", "-pk").first()
    return last.minutes if last else None


def _minutes_of_run(product: Product, units: int) -> int | None:
    """What the last run of the product took, for so many units."""
    times = WorkTime.objects.filter(operation__packing_run__product=product)
    last = times.order_by("-operation", "-pk").first()
    if last is None:
        return None
    packed = Posting.objects.effective().filter(operation=last.operation_id, side=Side.OUT).first()
    return round(last.minutes * units / packed.moved) if packed and packed.moved else last.minutes
