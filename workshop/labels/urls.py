"""Addresses of the labels room."""

from django.urls import path

from workshop.labels import views

app_name = "labels"
urlpatterns = [
    path("", views.home, name="home"),
    path("<str:code>/", views.label, name="label"),
    path("<str:code>/preview/", views.preview, name="preview"),
    path("<str:code>/print/", views.print_form, name="print"),
]
