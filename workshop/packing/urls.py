"""Addresses of the packing room."""

from django.urls import path

from workshop.packing import views

app_name = "packing"
urlpatterns = [
    path("", views.home, name="home"),
    path("awaiting/", views.awaiting, name="awaiting"),
    path("runs/", views.runs, name="runs"),
    path("runs/<str:reference>/", views.run, name="run"),
    path("runs/<str:reference>/take-back/", views.take_back, name="take-back"),
    path("products/", views.products, name="products"),
    path("products/new/", views.new_product, name="new-product"),
    path("products/<str:code>/", views.product, name="product"),
    path("products/<str:code>/change/", views.change_product, name="change-product"),
    path("products/<str:code>/pack/", views.pack, name="pack"),
    path("lots/<str:code>/release/", views.release, name="release"),
    path("lots/<str:code>/hold/", views.hold, name="hold"),
    path("lots/<str:code>/reject/", views.reject, name="reject"),
]
