"""Addresses of the organic room."""

from django.urls import path

from workshop.organic.balance import views as balance_views
from workshop.organic.pack import views as pack_views

app_name = "organic"
urlpatterns = [
    path("", balance_views.home, name="home"),
    path("sold-and-bought/", balance_views.sold_and_bought, name="chain"),
    path("balances.<str:kind>", balance_views.overview_file, name="overview-file"),
    path("packs/", pack_views.packs, name="packs"),
    path("packs/making/<slug:token>/", pack_views.work, name="pack-work"),
    path("packs/<int:pk>/", pack_views.pack, name="pack"),
    path("packs/<int:pk>/pack.zip", pack_views.pack_file, name="pack-file"),
    path("balance/<str:code>/", balance_views.balance, name="balance"),
    path("balance/<str:code>/balance.<str:kind>", balance_views.balance_file, name="balance-file"),
    path("balance/<str:code>/<slug:figure>/", balance_views.postings, name="postings"),
]
