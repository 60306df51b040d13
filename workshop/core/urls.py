"""Addresses of the core room."""

from django.urls import URLPattern

app_name = "core"
urlpatterns: list[URLPattern] = []
