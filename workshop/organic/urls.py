"""Addresses of the organic room."""

from django.urls import path, re_path

from workshop.organic.balance import views as balance_views

app_name = "organic"
urlpatterns = [
    path("", balance_views.home, name="home"),
    path("sold-and-bought/", balance_views.sold_and_bought, name="chain"),
    re_path(r"^balances\.(?P<kind>csv|xlsx)$", balance_views.overview_file, name="overview-file"),
    path("balance/<str:code>/", balance_views.balance, name="balance"),
    re_path(
        r"^balance/(?P<code>[^/]+)/balance\.(?P<kind>pdf|csv|xlsx)$",
        balance_views.balance_file,
        name="balance-file",
    ),
    path("balance/<str:code>/<slug:figure>/", balance_views.postings, name="postings"),
]
