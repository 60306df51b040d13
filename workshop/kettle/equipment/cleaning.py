"""Which organic batches followed another one in a kettle that nobody cleaned between."""

from datetime import datetime

from django.db.models import Max, Min, QuerySet
from django.utils import timezone

from workshop.kettle.models import Batch, Cleaning
from workshop.rules.organic.equipment_cleaning import Run, Uncleaned, uncleaned

LOOK_BACK = 20  # batches of one kettle: the one before is among them


def uncleaned_batches(*, since: datetime, until: datetime) -> list[Uncleaned]:
    """Those that began within the time, over all kettles; two queries."""
    runs = _runs(Batch.objects.filter(operation__opened_at__lt=until))
    cleaned = Cleaning.objects.filter(cleaned_at__lt=until).order_by()
    found = uncleaned(runs, cleaned.values_list("kettle", "cleaned_at"))
    return [one for one in found if since <= one.run.began < until]


def cleaning_missing(batch: Batch) -> Uncleaned | None:
    """The batch before this one in its kettle, where a cleaning between them is missing."""
    if not batch.version.claims_organic:
        return None
    earlier = Batch.objects.filter(kettle=batch.kettle_id, pk__lte=batch.pk).order_by("-pk")
    here = _runs(earlier[:LOOK_BACK])
    if all(run.reference != str(batch) for run in here):  # nothing is weighed yet
        now = timezone.now()
        here.append(Run(batch.kettle_id, str(batch), True, now, now))  # noqa: FBT003 -- it is organic
    cleaned = Cleaning.objects.filter(kettle=batch.kettle_id).values_list("kettle", "cleaned_at")
    missing = uncleaned(here, cleaned)
    return next((one for one in missing if one.run.reference == str(batch)), None)


def _runs(batches: QuerySet[Batch]) -> list[Run]:
    moments = batches.annotate(
        began=Min("operation__postings__at"), ended=Max("operation__postings__at")
    ).values_list("kettle", "operation__reference", "version__claims_organic", "began", "ended")
    return [Run(*row) for row in moments if row[3] is not None]
