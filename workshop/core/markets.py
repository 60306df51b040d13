"""The markets that a product is sold in. A further one is data and rules, and this is the list.

Its law stands in `rules`: the ingredient list and its words in `ingredients/declaration`, the
allergens in `allergens/thresholds`, net contents in `labels/net_contents`, the words of a date in
`dates/trade_dates`, fill control in `fill`. A product says in its label design where it is sold
(`labels/models/designs`), and `labels/content/computed_statements` puts the words together.
`docs/adding.md` has the whole list of places.
"""

from django.db import models


class Market(models.TextChoices):
    US = "US", "United States"
    EU = "EU", "European Union and United Kingdom"
