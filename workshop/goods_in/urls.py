"""Addresses of the goods_in room."""

from django.urls import path

from workshop.goods_in import row_views, views
from workshop.goods_in.corrections import views as amend_views
from workshop.goods_in.epcis import views as epcis_views
from workshop.goods_in.organic import views as organic_views
from workshop.goods_in.suppliers import views as master_views

app_name = "goods_in"
urlpatterns = [
    path("", views.home, name="home"),
    path("new/", views.new_receipt, name="new-receipt"),
    path("new/reading/", row_views.reading, name="reading"),
    path("new/label/", row_views.label, name="label"),
    path("new/choices/", row_views.choices, name="choices"),
    path("new/events/", epcis_views.receive_events, name="receive-events"),
    path("receipts/<str:reference>/", views.receipt, name="receipt"),
    path("receipts/<str:reference>/correct/", amend_views.correct_receipt, name="correct-receipt"),
    path(
        "receipts/<str:reference>/take-back/",
        amend_views.take_back_receipt,
        name="take-back-receipt",
    ),
    path("receipts/<str:reference>/release/", views.release_receipt, name="release-receipt"),
    path(
        "receipts/<str:reference>/tag-labels.pdf",
        views.receipt_tags,
        {"paper": "labels"},
        name="tag-labels",
    ),
    path(
        "receipts/<str:reference>/tag-sheet.pdf",
        views.receipt_tags,
        {"paper": "sheet"},
        name="tag-sheet",
    ),
    path("lots/<str:code>/tag.pdf", views.lot_tag, name="lot-tag"),
    path("lots/<str:code>/correct/", amend_views.correct_line, name="correct-line"),
    path("lots/<str:code>/take-back/", amend_views.take_back_line, name="take-back-line"),
    path("lots/<str:code>/release/", views.release, name="release"),
    path("lots/<str:code>/hold/", views.hold, name="hold"),
    path("lots/<str:code>/reject/", views.reject, name="reject"),
    path("lots/<str:code>/organic/", organic_views.decide_organic, name="decide-organic"),
    path("suppliers/", master_views.suppliers, name="suppliers"),
    path("suppliers/new/", master_views.edit_supplier, name="new-supplier"),
    path("suppliers/<int:pk>/", master_views.supplier, name="supplier"),
    path("suppliers/<int:pk>/change/", master_views.edit_supplier, name="edit-supplier"),
    path("suppliers/<int:pk>/review/", organic_views.review_supplier, name="review-supplier"),
    path("certificates/", master_views.certificates, name="certificates"),
    path("certificates/new/", master_views.edit_certificate, name="new-certificate"),
    path("certificates/<int:pk>/", master_views.certificate, name="certificate"),
    path("certificates/<int:pk>/change/", master_views.edit_certificate, name="edit-certificate"),
    path("certificates/<int:pk>/stop/", organic_views.stop_certificate, name="stop-certificate"),
]
