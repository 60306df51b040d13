"""Addresses of the racks."""

from django.urls import path

from workshop.curing import views

app_name = "curing"
urlpatterns = [
    path("", views.home, name="home"),
    path("racks/", views.rack, name="new-rack"),
    path("racks/<int:pk>/", views.rack, name="rack"),
    path("<str:code>/", views.lot, name="lot"),
    path("<str:code>/put/", views.put, name="put"),
    path("<str:code>/lose/", views.lose, name="lose"),
    path("<str:code>/test/", views.test, name="test"),
    path("<str:code>/weighing/<int:pk>/back/", views.back, name="back"),
]
