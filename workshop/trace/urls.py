"""Addresses of the trace room."""

from django.urls import path

from workshop.trace import views
from workshop.trace.exports import views as export_views

app_name = "trace"
urlpatterns = [
    path("", views.home, name="home"),
    path("<str:code>/", views.lot, name="lot"),
    path("<str:code>/sheet/", export_views.as_csv, name="csv"),
    path("<str:code>/workbook/", export_views.as_workbook, name="workbook"),
    path("<str:code>/key-data/", export_views.as_key_data, name="key-data"),
    path("<str:code>/events/", export_views.as_events, name="events"),
    path("<str:code>/report/", export_views.as_report, name="report"),
    path("<str:code>/postings/<str:figure>/", views.postings, name="postings"),
    path("<str:code>/<str:section>/", views.rows, name="rows"),
]
