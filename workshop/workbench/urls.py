"""Addresses of the workbench."""

from django.urls import path

from workshop.workbench import views

app_name = "workbench"
urlpatterns = [
    path("", views.home, name="home"),
    path("<int:pk>/", views.bench, name="bench"),
]
