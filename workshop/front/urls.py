"""Addresses of the front room."""

from django.urls import URLPattern

app_name = "front"
urlpatterns: list[URLPattern] = []
