"""Addresses of the goods_in room."""

from django.urls import URLPattern

app_name = "goods_in"
urlpatterns: list[URLPattern] = []
