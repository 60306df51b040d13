"""Addresses of Set-up, people and handed-in files."""

from django.urls import path

from workshop.core import views
from workshop.core.component_page import views as looks

app_name = "core"
urlpatterns = [
    path("set-up/", views.home, name="home"),
    path("set-up/workshop/", views.workshop, name="workshop"),
    path("set-up/people/", views.people, name="people"),
    path("set-up/people/new/", views.new_person, name="new-person"),
    path("set-up/people/<int:pk>/", views.person, name="person"),
    path("set-up/people/<int:pk>/password/", views.password, name="password"),
    path("set-up/looks/", looks.looks, name="looks"),
    path("files/<int:pk>/", views.file, name="file"),
]
