"""Addresses of the packing room."""

from django.urls import URLPattern

app_name = "packing"
urlpatterns: list[URLPattern] = []
