"""Addresses of the formulas room."""

from django.urls import URLPattern

app_name = "formulas"
urlpatterns: list[URLPattern] = []
