"""The goods_in app."""

from django.apps import AppConfig


class GoodsInConfig(AppConfig):
    name = "workshop.goods_in"
    default_auto_field = "django.db.models.BigAutoField"
