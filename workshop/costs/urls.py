"""Addresses of the room of money."""

from django.urls import path

from workshop.costs import views

app_name = "costs"
urlpatterns = [
    path("", views.home, name="home"),
    path("period.xlsx", views.workbook, name="workbook"),
    path("deliveries/", views.all_deliveries, name="deliveries"),
    path("deliveries/<str:reference>/", views.invoice, name="invoice"),
    path("made/<str:reference>/", views.made, name="made"),
    path("products/", views.products, name="products"),
    path("items/<str:code>/", views.item, name="item"),
    path("rates/", views.rates, name="rates"),
]
