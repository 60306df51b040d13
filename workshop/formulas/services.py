"""What can happen to a formula: begin it, draft a version, approve it, retire it."""

from collections.abc import Sequence
from datetime import datetime
from decimal import Decimal

from django.db import transaction
from django.db.models import Max

from workshop.core.errors import ActionRefused
from workshop.core.models import Role, User
from workshop.core.saving.locks import advisory_lock
from workshop.core.saving.with_history import save_with_history
from workshop.formulas.draft import validation
from workshop.formulas.draft.validation import LineIn as LineIn
from workshop.formulas.draft.validation import StepIn as StepIn
from workshop.formulas.models import Formula, Line, Step, Version, VersionStatus
from workshop.formulas.queries import containing_itself
from workshop.formulas.soap.planned_superfat import VersionSoap
from workshop.ledger.models import Item, ItemKind, Unit

ONLY_DRAFTS = "Only a draft may change; make a new version."
CURE_FIGURES = ("cure_loss", "weekly_loss_most", "ph_least", "ph_most", "free_alkali_most")
LIKE_THE_LAST = (
    "expected_loss",
    "shelf_life_months",
    "cure_days",
    *CURE_FIGURES,
    "rework_limit",
    "claims_organic",
    "is_rinse_off",
    "note",
)


@transaction.atomic
def save_bulk(
    *,
    code: str,
    name: str,
    by: User,
    at: datetime | None = None,
    item: Item | None = None,
    is_active: bool = True,
) -> Item:
    """Enter or change a bulk item: something made in the kettle and kept by weight."""
    bulk = item or Item(kind=ItemKind.BULK, unit=Unit.GRAM)
    bulk.code, bulk.name, bulk.is_active = code, name, is_active
    return save_with_history(bulk, by=by, at=at)


@transaction.atomic
def save_formula(
    *,
    name: str,
    item: Item,
    by: User,
    at: datetime | None = None,
    formula: Formula | None = None,
    is_active: bool = True,
) -> Formula:
    """Begin a formula for a bulk item, or change its name or whether it is in use."""
    if item.kind != ItemKind.BULK:
        raise ActionRefused(f"{item} is not a bulk; a formula makes a bulk item.", field="item")
    kept = formula or Formula(item=item)
    if kept.pk and kept.item_id != item.pk and kept.versions.exists():
        raise ActionRefused(
            "The formula has versions, so it keeps making the same bulk.", field="item"
        )
    kept.name, kept.item, kept.is_active = name, item, is_active
    return save_with_history(kept, by=by, at=at)


@transaction.atomic
def new_version(
    formula: Formula, *, by: User, at: datetime, like: Version | None = None
) -> Version:
    """Begin the next draft of a formula, empty or as a copy of `like`."""
    Formula.objects.select_for_update().get(pk=formula.pk)
    drafted = formula.versions.filter(status=VersionStatus.DRAFT).first()
    if drafted:
        raise ActionRefused(
            f"Version {drafted.number} is still a draft; finish or discard it first."
        )
    last = formula.versions.aggregate(last=Max("number", default=0))["last"]
    version = Version(formula=formula, number=last + 1, made_at=at, made_by=by)
    if like:
        for field in LIKE_THE_LAST:
            setattr(version, field, getattr(like, field))
    save_with_history(version, by=by, at=at)
    if like:
        _write_lines(version, _lines_of(like))
        _write_steps(version, steps_of(like))
    return version


def _lines_of(version: Version) -> list[LineIn]:
    return [
        LineIn(
            item=line.item,
            share=line.share,
            phase=line.phase,
            tolerance=line.tolerance,
            is_irreversible=line.is_irreversible,
            is_strained_out=line.is_strained_out,
            stays=line.stays.strip(),
            held_back=line.held_back,
            substitutes=list(line.substitutes.all()),
        )
        for line in version.lines.select_related("item").prefetch_related("substitutes")
    ]


def steps_of(version: Version) -> list[StepIn]:
    return [
        StepIn(
            text=step.text,
            phase=step.phase,
            from_c=step.from_c,
            to_c=step.to_c,
            minutes=step.minutes,
            keep_water_out=step.keep_water_out,
            caution=step.caution,
        )
        for step in version.steps.all()
    ]


@transaction.atomic
def save_draft(
    version: Version,
    *,
    lines: Sequence[LineIn],
    steps: Sequence[StepIn],
    expected_loss: Decimal,
    shelf_life_months: int,
    by: User,
    at: datetime | None = None,
    rework_limit: Decimal = Decimal(0),
    claims_organic: bool = False,
    is_rinse_off: bool = False,
    cure_days: int | None = None,
    note: str = "",
    **cure: Decimal | None,
) -> Version:
    """Write a draft as it now stands: its own figures, all its lines and all its steps.

    The shares need not add up yet; `cure` are the `CURE_FIGURES` of a soap. Raises ActionRefused,
    and writes nothing, if the version is no longer a draft or a line or step cannot be.
    """
    draft = _draft(version)
    validation.validate_lines(draft.formula.item, lines)
    validation.validate_steps(steps)
    draft.expected_loss = expected_loss
    draft.shelf_life_months = shelf_life_months
    draft.cure_days = cure_days
    for name in CURE_FIGURES:
        setattr(draft, name, cure.get(name))
    draft.rework_limit = rework_limit
    draft.claims_organic = claims_organic
    draft.is_rinse_off = is_rinse_off
    draft.note = note
    save_with_history(draft, by=by, at=at)
    draft.lines.all().delete()
    draft.steps.all().delete()
    _write_lines(draft, lines)
    _write_steps(draft, steps)
    return draft


@transaction.atomic
def rewrite_lines(
    version: Version, lines: Sequence[LineIn], *, cure_loss: Decimal | None = None, by: User
) -> Version:
    """Give a draft other lines, what is strained out kept, and all else as it is."""
    draft = _draft(version)
    strained = [line for line in _lines_of(draft) if line.is_strained_out]
    return replace_lines(draft, [*lines, *strained], cure_loss=cure_loss, by=by)


@transaction.atomic
def replace_lines(
    version: Version,
    lines: Sequence[LineIn],
    *,
    cure_loss: Decimal | None = None,
    by: User,
    at: datetime | None = None,
) -> Version:
    """Give a draft these lines in place of its own, and leave all else as it is."""
    draft = _draft(version)
    if cure_loss is not None:
        draft.cure_loss = cure_loss
    return _rewritten(draft, lines, steps_of(draft), by=by, at=at)


@transaction.atomic
def rewrite_steps(version: Version, steps: Sequence[StepIn], *, by: User, at: datetime) -> Version:
    """Give a draft other steps, and leave all else as it is."""
    draft = _draft(version)
    return _rewritten(draft, _lines_of(draft), steps, by=by, at=at)


def _rewritten(
    draft: Version,
    lines: Sequence[LineIn],
    steps: Sequence[StepIn],
    *,
    by: User,
    at: datetime | None,
) -> Version:
    return save_draft(
        draft,
        lines=lines,
        steps=steps,
        expected_loss=draft.expected_loss,
        shelf_life_months=draft.shelf_life_months,
        rework_limit=draft.rework_limit,
        claims_organic=draft.claims_organic,
        is_rinse_off=draft.is_rinse_off,
        cure_days=draft.cure_days,
        note=draft.note,
        by=by,
        at=at,
        **{name: getattr(draft, name) for name in CURE_FIGURES},
    )


def _draft(version: Version) -> Version:
    """The version, locked, if it is still a draft."""
    locked = (
        Version.objects.select_for_update(of=("self",))
        .select_related("formula__item")
        .filter(pk=version.pk)
        .first()
    )
    if locked is None:
        raise ActionRefused("The draft was discarded meanwhile.")
    if locked.status != VersionStatus.DRAFT:
        raise ActionRefused(ONLY_DRAFTS)
    return locked


def _write_lines(version: Version, lines: Sequence[LineIn]) -> None:
    in_order = validation.in_order(lines)
    written = Line.objects.bulk_create(
        Line(
            version=version,
            item=line.item,
            order=number,
            phase=line.phase,
            share=line.share,
            tolerance=line.tolerance,
            is_irreversible=line.is_irreversible,
            is_strained_out=line.is_strained_out,
            stays=line.stays.strip(),
            held_back=line.held_back,
        )
        for number, line in enumerate(in_order, start=1)
    )
    allowed = Line.substitutes.through
    allowed.objects.bulk_create(
        allowed(line_id=row.pk, item_id=item.pk)
        for row, line in zip(written, in_order, strict=True)
        for item in line.substitutes
    )


def _write_steps(version: Version, steps: Sequence[StepIn]) -> None:
    Step.objects.bulk_create(
        Step(
            version=version,
            order=number,
            phase=step.phase,
            text=step.text,
            from_c=step.from_c,
            to_c=step.to_c,
            minutes=step.minutes,
            keep_water_out=step.keep_water_out,
            caution=step.caution,
        )
        for number, step in enumerate(steps, start=1)
    )


@transaction.atomic
def discard_draft(version: Version, *, by: User) -> None:
    """Throw a draft away; its history still says that it was there."""
    draft = _draft(version)
    draft._history_user = by  # type: ignore[attr-defined]  # read by simple_history
    draft.delete()


@transaction.atomic
def approve(version: Version, *, by: User, at: datetime) -> Version:
    """Approve a draft; from now on it never changes. The approved one before it retires.

    Raises ActionRefused, and writes nothing, if `by` is no owner, the version is no draft, its
    shares do not add up to exactly 100 %, the bulk would contain itself, or lye may be left over.
    """
    _refuse_unless_owner(by)
    advisory_lock("formula approval")  # two approvals at once could close a circle
    draft = _draft(version)
    validation.refuse_unless_whole([line.share for line in draft.lines.all()])
    if all(line.is_strained_out for line in draft.lines.all()):
        raise ActionRefused("Everything in it is strained out again, so nothing would be left.")
    circle = containing_itself(draft)
    if circle:
        raise ActionRefused(f"{circle[0]} would contain itself: {' → '.join(circle)}.")
    soap = VersionSoap(Version.objects.in_full().get(pk=draft.pk))
    if soap.unsafe:
        raise ActionRefused(soap.unsafe)
    for former in draft.formula.versions.approved():
        former.status = VersionStatus.RETIRED
        save_with_history(former, by=by, at=at)
    draft.status = VersionStatus.APPROVED
    draft.approved_at, draft.approved_by = at, by
    return save_with_history(draft, by=by, at=at)


@transaction.atomic
def retire(version: Version, *, by: User, at: datetime) -> Version:
    """Take an approved version out of use; batches already planned keep it."""
    _refuse_unless_owner(by)
    locked = Version.objects.select_for_update().get(pk=version.pk)
    if locked.status != VersionStatus.APPROVED:
        raise ActionRefused(
            f"Only an approved version can be retired; {locked} is {locked.status}."
        )
    locked.status = VersionStatus.RETIRED
    return save_with_history(locked, by=by, at=at)


def _refuse_unless_owner(by: User) -> None:
    if by.role != Role.OWNER:
        raise ActionRefused("Only an owner may approve or retire a formula.")
