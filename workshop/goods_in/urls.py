"""Addresses of the goods_in room."""

from django.urls import path

from workshop.goods_in import amend_views, blend_views, contents_views, master_views, views

app_name = "goods_in"
urlpatterns = [
    path("", views.home, name="home"),
    path("new/", views.new_receipt, name="new-receipt"),
    path("new/reading/", views.reading, name="reading"),
    path("new/choices/", views.choices, name="choices"),
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
    path("lots/<str:code>/allergens/", contents_views.lot_contents, name="lot-allergens"),
    path("lots/<str:code>/tag.pdf", views.lot_tag, name="lot-tag"),
    path("lots/<str:code>/correct/", amend_views.correct_line, name="correct-line"),
    path("lots/<str:code>/take-back/", amend_views.take_back_line, name="take-back-line"),
    path("lots/<str:code>/release/", views.release, name="release"),
    path("lots/<str:code>/hold/", views.hold, name="hold"),
    path("lots/<str:code>/reject/", views.reject, name="reject"),
    path("suppliers/", master_views.suppliers, name="suppliers"),
    path("suppliers/new/", master_views.edit_supplier, name="new-supplier"),
    path("suppliers/<int:pk>/", master_views.supplier, name="supplier"),
    path("suppliers/<int:pk>/change/", master_views.edit_supplier, name="edit-supplier"),
    path("certificates/", master_views.certificates, name="certificates"),
    path("certificates/new/", master_views.edit_certificate, name="new-certificate"),
    path("certificates/<int:pk>/", master_views.certificate, name="certificate"),
    path("certificates/<int:pk>/change/", master_views.edit_certificate, name="edit-certificate"),
    path("materials/", master_views.materials, name="materials"),
    path("materials/new/", master_views.new_material, name="new-material"),
    path("materials/new/packaging/", master_views.new_packaging, name="new-packaging"),
    path("materials/<str:code>/", master_views.material, name="material"),
    path("materials/<str:code>/blend/new/", blend_views.new_blend, name="new-blend"),
    path("materials/<str:code>/blend/<str:day>/", blend_views.correct_blend, name="blend"),
    path(
        "materials/<str:code>/allergens/", contents_views.item_contents, name="material-allergens"
    ),
    path("materials/<str:code>/change/", master_views.edit_material, name="edit-material"),
]
