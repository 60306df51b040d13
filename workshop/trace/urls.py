"""Addresses of the trace room."""

from django.urls import path

from workshop.trace import recall_urls, views

app_name = "trace"
urlpatterns = [
    path("", views.home, name="home"),
    *recall_urls.urlpatterns,
    path("<str:code>/", views.lot, name="lot"),
    path("<str:code>/sheet/", views.as_csv, name="csv"),
    path("<str:code>/<str:section>/", views.rows, name="rows"),
]
