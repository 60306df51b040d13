"""What seals cover of formulas: an approved version stays as it is, with all its lines."""

from django.db.models import Q

from workshop.core.database.sealing import Log, Table
from workshop.formulas.models import Line, Step, VersionStatus

RECORDS: dict[str, tuple[Table, ...]] = {}
LOGS = (
    Log(Line, final=~Q(version__status=VersionStatus.DRAFT)),
    Log(Line.substitutes.through, final=~Q(line__version__status=VersionStatus.DRAFT)),
    Log(Step, final=~Q(version__status=VersionStatus.DRAFT)),
)
