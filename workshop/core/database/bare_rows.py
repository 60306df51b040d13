"""The rows of a query as the database's driver gives them, where there are a million of them."""

from collections.abc import Iterator
from typing import Any

from django.core.exceptions import EmptyResultSet
from django.db import connection
from django.db.models import QuerySet

AT_ONCE = 5_000


def bare_rows(query: QuerySet[Any, Any]) -> Iterator[tuple[Any, ...]]:
    """What a `values_list` asks for, in whole numbers and text: nothing is made of any column.

    The framework looks at every column of every row again, which takes longer than reading them.
    A quantity comes as the thousandths that are stored. Sums of whole numbers are to be cast:
    PostgreSQL answers with decimals.
    """
    try:
        sql, params = query.query.sql_with_params()
    except EmptyResultSet:  # nothing can meet its conditions
        return
    with connection.cursor() as cursor:
        cursor.execute(sql, params)
        while rows := cursor.fetchmany(AT_ONCE):
            yield from rows
