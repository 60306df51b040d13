"""How each bulk is made: its approved formula, the scale that weighs least, what it can take."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from django.db.models import Count, Prefetch, QuerySet, Sum

from workshop.costs.models import WorkTime
from workshop.formulas.models import Line, Version
from workshop.kettle.equipment.scale_suitability import as_rule
from workshop.kettle.models import Kettle, Scale
from workshop.ledger.models import ItemKind
from workshop.materials.models import Constituency, profile_of
from workshop.materials.saponification import is_lye
from workshop.planning.current_terms import terms_by_item
from workshop.planning.models import Hours, Terms
from workshop.rules.planning.week.tasks import Family
from workshop.rules.quantities.scales import smallest_batch_g
from workshop.rules.quantities.scaling import scale_formula
from workshop.rules.soap.lye import ATTACKED


@dataclass(frozen=True)
class Making:
    """A bulk's approved formula with all that a plan asks of it."""

    version: Version
    lines: list[Line]
    family: Family
    scale: Scale
    smallest_g: Decimal
    kettles: tuple[Kettle, ...]  # those that may hold it, the smallest first
    minutes: int

    @property
    def bulk_id(self) -> int:
        return self.version.formula.item_id

    @property
    def largest_g(self) -> Decimal:
        return self.kettles[-1].capacity_g if self.kettles else Decimal(0)

    @property
    def cure_days(self) -> int:
        return self.version.cure_days or 0

    @property
    def left_over(self) -> Fraction:
        """What comes out of a gram that goes in."""
        return 1 - Fraction(self.version.expected_loss) / 100

    @property
    def shares(self) -> dict[int, Fraction]:
        """Grams of each item for a gram that comes out."""
        return {line.item_id: Fraction(line.share) / 100 / self.left_over for line in self.lines}

    def weights(self, grams: Decimal) -> dict[int, Decimal]:
        """What a batch of that weight takes of each item, at the scale's division."""
        parts = scale_formula([line.share for line in self.lines], grams, self.scale.division_g)
        return {line.item_id: part for line, part in zip(self.lines, parts, strict=True)}


def makings(hours: Hours) -> dict[int, Making]:
    """How each bulk is made, by the bulk; without a scale that can weigh it, it is left out."""
    kettles = list(Kettle.objects.filter(is_active=True).order_by("capacity_g", "pk"))
    scales = list(Scale.objects.filter(is_active=True))
    versions = _approved()
    minutes = batch_minutes(terms_by_item(list(versions)))
    scented = _scented(versions)
    found: dict[int, Making] = {}
    for version in versions.values():
        lines = list(version.lines.all())
        bulk = version.formula.item_id
        fitting = tuple(kettle for kettle in kettles if _may_hold(kettle, lines))
        best = _scale_for(lines, scales, fitting)
        if best:
            scale, smallest = best
            family = Family(version.claims_organic, scented[bulk])
            spent = minutes.get(bulk, hours.batch_minutes)
            found[bulk] = Making(version, lines, family, scale, smallest, fitting, spent)
    return found


def _approved() -> dict[int, Version]:
    """The approved version of each bulk; of several formulas the one approved last."""
    lines = Line.objects.select_related("item__profile").order_by("order")
    rows: QuerySet[Version] = (
        Version.objects.approved()
        .filter(formula__is_active=True, formula__item__is_active=True)
        .select_related("formula__item")
        .prefetch_related(Prefetch("lines", lines))
        .order_by("approved_at", "pk")
    )
    return {version.formula.item_id: version for version in rows}


def _scented(versions: Mapping[int, Version]) -> dict[int, bool]:
    """Whether a bulk is scented: by a fragrance of its own, or of a bulk that goes into it."""
    found: dict[int, bool] = {}

    def look(bulk: int, above: frozenset[int]) -> bool:
        if bulk not in found:
            lines = versions[bulk].lines.all()
            deeper = above | {bulk}
            found[bulk] = any(_is_fragrance(line) for line in lines) or any(
                look(line.item_id, deeper)
                for line in lines
                if line.item_id in versions and line.item_id not in deeper
            )
        return found[bulk]

    return {bulk: look(bulk, frozenset()) for bulk in versions}


def _is_fragrance(line: Line) -> bool:
    profile = profile_of(line.item)
    return profile is not None and profile.kind == Constituency.FRAGRANCE


def _may_hold(kettle: Kettle, lines: list[Line]) -> bool:
    """Lye goes only into a kettle that stands it, by what somebody said that it is made of."""
    profiles = (profile_of(line.item) for line in lines if line.item.kind == ItemKind.MATERIAL)
    if any(profile is not None and is_lye(profile) for profile in profiles):
        return bool(kettle.material) and kettle.material not in ATTACKED
    return True


def _scale_for(
    lines: list[Line], scales: list[Scale], kettles: tuple[Kettle, ...]
) -> tuple[Scale, Decimal] | None:
    """The scale on which the smallest batch can be weighed, and what that batch weighs."""
    if not kettles or not lines:
        return None
    shares = [(line.share, line.tolerance / 100) for line in lines]
    most = kettles[-1].capacity_g
    found = []
    for scale in scales:
        smallest = smallest_batch_g(shares, as_rule(scale), at_most_g=most)
        if smallest is not None:
            found.append((smallest, scale.pk, scale))
    if not found:
        return None
    smallest, _, scale = min(found)
    return scale, smallest


def batch_minutes(terms: Mapping[int, Terms]) -> dict[int, int]:
    """What a batch of each bulk takes: as the owner says, else as past ones did on average."""
    return past_batch_minutes() | _as_said(terms)


def run_minutes(terms: Mapping[int, Terms]) -> dict[int, int]:
    """The same of a packing run of each product."""
    return past_run_minutes() | _as_said(terms)


def _as_said(terms: Mapping[int, Terms]) -> dict[int, int]:
    return {item: row.usual_minutes for item, row in terms.items() if row.usual_minutes}


def past_batch_minutes() -> dict[int, int]:
    """What a batch of each bulk took on average, where somebody wrote it down; one query."""
    rows = (
        WorkTime.objects.latest_of_each()
        .filter(operation__batch__isnull=False)
        .order_by()
        .values_list("operation__batch__version__formula__item")
        .annotate(total=Sum("minutes"), number=Count("pk"))
    )
    return {item: -(-total // number) for item, total, number in rows}


def past_run_minutes() -> dict[int, int]:
    """The same of a packing run of each product."""
    rows = (
        WorkTime.objects.latest_of_each()
        .filter(operation__packing_run__isnull=False)
        .order_by()
        .values_list("operation__packing_run__product__item")
        .annotate(total=Sum("minutes"), number=Count("pk"))
    )
    return {item: -(-total // number) for item, total, number in rows}
