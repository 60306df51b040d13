"""A packing run, with nobody else weighing for it or finishing it meanwhile."""

from workshop.packing.models import PackingRun


def locked_run(run: PackingRun) -> PackingRun:
    """Locked first and read afterwards: what the lock waited for is seen."""
    PackingRun.objects.select_for_update().get(pk=run.pk)
    return PackingRun.objects.select_related(
        "operation", "product__item", "product__bulk", "product__container"
    ).get(pk=run.pk)
