"""Addresses of the trace room."""

from django.urls import URLPattern

app_name = "trace"
urlpatterns: list[URLPattern] = []
