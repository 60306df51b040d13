"""What is in the kettles."""

from workshop.kettle.models import Batch, BatchState, Kettle


def what_is_in_them() -> list[tuple[Kettle, Batch | None]]:
    """Each kettle in use, and the batch that is being weighed into it."""
    begun = Batch.objects.filter(state=BatchState.UNDER_WAY).with_names().with_weights()
    into = {batch.kettle_id: batch for batch in begun.order_by("pk")}
    return [(kettle, into.get(kettle.pk)) for kettle in Kettle.objects.filter(is_active=True)]
