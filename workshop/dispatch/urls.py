"""Addresses of the dispatch room."""

from django.urls import URLPattern

app_name = "dispatch"
urlpatterns: list[URLPattern] = []
