"""Addresses of the kettle room."""

from django.urls import URLPattern

app_name = "kettle"
urlpatterns: list[URLPattern] = []
