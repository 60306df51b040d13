"""Addresses of the dispatch room."""

from django.urls import path

from workshop.dispatch import amend_views, customers, views

app_name = "dispatch"
urlpatterns = [
    path("", views.home, name="home"),
    path("new/", views.new, name="new"),
    path("arrived/", views.arrived_many, name="arrived-many"),
    path("customers/", customers.customers, name="customers"),
    path("customers/new/", customers.new_customer, name="new-customer"),
    path("customers/<int:pk>/", customers.customer, name="customer"),
    path("customers/<int:pk>/change/", customers.change_customer, name="change-customer"),
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
