"""The one clock of a test run: every test begins at the same moment, whatever the machine says.

That moment is the start of the run, or what TAREBOOK_TEST_NOW names (an ISO date and time with its
offset); the clock goes on from there. Tests in a browser are left on the machine's clock, which is
the browser's own.
"""

import os
from calendar import monthrange
from datetime import UTC, date, datetime, time, timedelta

from django.utils import timezone

NOW = datetime.fromisoformat(
    os.environ.setdefault("TAREBOOK_TEST_NOW", datetime.now(UTC).isoformat())
)
DAY = timezone.localdate(NOW)
MONTH = f"{DAY:%y%m}"  # as references have it
MIDNIGHT = datetime.combine(DAY, time(), tzinfo=timezone.get_default_timezone())
NOON = max(MIDNIGHT, NOW - timedelta(hours=6)).replace(second=0, microsecond=0)


def day(later: int = 0, *, months: int = 0) -> date:
    """So many days, or calendar months, after the day of the run; a month too short ends it."""
    years, month = divmod(DAY.month - 1 + months, 12)
    year, month = DAY.year + years, month + 1
    return date(year, month, min(DAY.day, monthrange(year, month)[1])) + timedelta(days=later)


def iso(later: int = 0, *, months: int = 0) -> str:
    return day(later, months=months).isoformat()


def shown(later: int = 0, *, months: int = 0) -> str:
    """As pages write it: 3 Jul 2026."""
    found = day(later, months=months)
    return f"{found.day} {found:%b %Y}"
