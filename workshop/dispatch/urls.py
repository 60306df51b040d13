"""Addresses of the dispatch room."""

from django.urls import path

from workshop.dispatch import customer_views, views
from workshop.dispatch.corrections import views as amend_views

app_name = "dispatch"
urlpatterns = [
    path("", views.home, name="home"),
    path("new/", views.new, name="new"),
    path("arrived/", views.arrived_many, name="arrived-many"),
    path("customers/", customer_views.customers, name="customers"),
    path("customers/new/", customer_views.new_customer, name="new-customer"),
    path("customers/<int:pk>/", customer_views.customer, name="customer"),
    path("customers/<int:pk>/change/", customer_views.change_customer, name="change-customer"),
    path("<str:reference>/", views.dispatch, name="dispatch"),
    path("<str:reference>/correct/", amend_views.correct, name="correct"),
    path("<str:reference>/undo/", amend_views.undo, name="undo"),
    path("<str:reference>/packing-slip/", views.packing_slip, name="packing-slip"),
    path("<str:reference>/arrived/", views.arrived, name="arrived"),
    path(
        "<str:reference>/arrived/<int:pk>/take-back/", views.take_word_back, name="take-word-back"
    ),
    path("<str:reference>/return/", views.take_back, name="take-back"),
]
