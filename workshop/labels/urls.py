"""Addresses of the labels room."""

from django.urls import URLPattern

app_name = "labels"
urlpatterns: list[URLPattern] = []
