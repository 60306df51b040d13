"""Addresses of buying and the week."""

from django.urls import path

from workshop.planning.buying import views as buying_views
from workshop.planning.orders import views as order_views
from workshop.planning.stock import views as stock_views
from workshop.planning.week import views

app_name = "planning"
urlpatterns = [
    path("", views.home, name="home"),
    path("accept/", views.accept, name="accept"),
    path("week.pdf", views.paper, name="paper"),
    path("cover/", stock_views.cover, name="cover"),
    path("cover.pdf", stock_views.cover_paper, name="cover-paper"),
    path("short/", stock_views.short, name="short"),
    path("expiry/", stock_views.expiry, name="expiry"),
    path("expiry.pdf", stock_views.expiry_paper, name="expiry-paper"),
    path("orders/", order_views.orders, name="orders"),
    path("orders/new/", order_views.new_order, name="new-order"),
    path("orders/file/", order_views.order_file, name="order-file"),
    path("orders/<int:pk>/", order_views.order, name="order"),
    path("buy/", buying_views.buy, name="buy"),
    path("bought/", buying_views.purchases, name="purchases"),
    path("bought/<str:reference>/", buying_views.purchase, name="purchase"),
    path("bought/<str:reference>/order.pdf", buying_views.purchase_paper, name="purchase-paper"),
    path("bought/<str:reference>/order.csv", buying_views.purchase_csv, name="purchase-csv"),
    path("items/<str:code>/", buying_views.item, name="item"),
    path("hours/", buying_views.hours, name="hours"),
]
