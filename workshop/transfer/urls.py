"""Addresses of the room that carries the whole book."""

from django.urls import path

from workshop.transfer import views

app_name = "transfer"
urlpatterns = [
    path("", views.home, name="home"),
    path("export/", views.export, name="export"),
    path("sheets/", views.sheets, name="sheets"),
    path("sheets/try/", views.try_sheets, name="try-sheets"),
    path("sheets/take-in/", views.take_in, name="take-in"),
    path("sheets/under-way/", views.under_way, name="under-way"),
    path("sheets/template.xlsx", views.template, name="template"),
    path("sheets/<int:pk>/take-back/", views.take_back, name="take-back"),
]
