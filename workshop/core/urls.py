"""Addresses of Set-up, people and handed-in files."""

from django.urls import URLPattern

app_name = "core"
urlpatterns: list[URLPattern] = []
