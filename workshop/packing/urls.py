"""Addresses of the packing room."""

from django.urls import path

from workshop.packing import views
from workshop.packing.runs import views as run_views
from workshop.packing.stock import lot_views
from workshop.packing.stock import views as stock_views

app_name = "packing"
urlpatterns = [
    path("", views.home, name="home"),
    path("awaiting/", views.awaiting, name="awaiting"),
    path("samples/", stock_views.samples, name="samples"),
    path("runs/", views.runs, name="runs"),
    path("runs/<str:reference>/", run_views.run, name="run"),
    path("runs/<str:reference>/weigh/", run_views.weigh, name="weigh"),
    path("runs/<str:reference>/weights/<int:place>/", run_views.correct, name="correct"),
    path("runs/<str:reference>/top-up/", run_views.top_up, name="top-up"),
    path("runs/<str:reference>/finish/", run_views.finish, name="finish"),
    path("runs/<str:reference>/stop/", run_views.stop, name="stop"),
    path("runs/<str:reference>/take-back/", run_views.take_back, name="take-back"),
    path("runs/<str:reference>/paper/", run_views.paper, name="paper"),
    path("products/", views.products, name="products"),
    path("products/new/", views.new_product, name="new-product"),
    path("products/<str:code>/", views.product, name="product"),
    path("products/<str:code>/change/", views.change_product, name="change-product"),
    path("products/<str:code>/pack/", run_views.pack, name="pack"),
    path("products/<str:code>/start/", run_views.start, name="start"),
    path("lots/<str:code>/release/", lot_views.release, name="release"),
    path("lots/<str:code>/hold/", lot_views.hold, name="hold"),
    path("lots/<str:code>/reject/", lot_views.reject, name="reject"),
    path("lots/<str:code>/retain/", lot_views.retain, name="retain"),
    path("lots/<str:code>/kept/", stock_views.kept, name="kept"),
    path("lots/<str:code>/count/", stock_views.count, name="count"),
    path("lots/<str:code>/discard/", stock_views.discard, name="discard"),
    path("lots/<str:code>/unpack/", stock_views.unpack, name="unpack"),
    path("lots/<str:code>/give-up/", lot_views.give_up, name="give-up"),
]
