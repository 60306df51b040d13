"""Addresses of the audit room."""

from django.urls import path

from workshop.audit import views

app_name = "audit"
urlpatterns = [
    path("", views.home, name="home"),
    path("proof/", views.prove, name="prove"),
    path("head.txt", views.head, name="head"),
    path("history/", views.history, name="history"),
]
