"""Addresses of the ledger room."""

from django.urls import URLPattern

app_name = "ledger"
urlpatterns: list[URLPattern] = []
