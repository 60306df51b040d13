"""Addresses of the room that carries the whole book."""

from django.urls import path

from workshop.transfer import views

app_name = "transfer"
urlpatterns = [
    path("", views.home, name="home"),
    path("export/", views.export, name="export"),
]
