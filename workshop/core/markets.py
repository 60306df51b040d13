"""The markets that a product is sold in. A further one is data and rules, and this is the list.

Its law is a module of `rules/markets`, which labels and pages ask; a product says in its label
design where it is sold (`labels/models/designs`) and has a market sheet for each
(`labels/models/market_sheets`). `docs/adding.md` has the whole list of places.
"""

from django.db import models


class Market(models.TextChoices):
    US = "US", "United States"
    EU = "EU", "European Union"
    UK = "UK", "Great Britain"
