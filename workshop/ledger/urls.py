"""Addresses of the stock pages."""

from django.urls import path

from workshop.ledger import views

app_name = "ledger"
urlpatterns = [
    path("", views.home, name="home"),
    path("item/<str:code>/", views.item, name="item"),
    path("lot/<str:code>/", views.lot, name="lot"),
    path("lot/<str:code>/count/", views.count, name="count"),
    path("lot/<str:code>/discard/", views.discard, name="discard"),
    path("lot/<str:code>/loss/", views.loss, name="loss"),
    path("lot/<str:code>/status/", views.status, name="status"),
]
