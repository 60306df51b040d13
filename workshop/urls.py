"""Every address of the book, room by room."""

from django.urls import include, path

handler404 = "workshop.core.faults.not_found"
handler500 = "workshop.core.faults.broken"
urlpatterns = [
    path("", include("workshop.front.urls")),
    path("", include("workshop.core.urls")),
    path("stock/", include("workshop.ledger.urls")),
    path("goods-in/", include("workshop.goods_in.urls")),
    path("formulas/", include("workshop.formulas.urls")),
    path("kettle/", include("workshop.kettle.urls")),
    path("packing/", include("workshop.packing.urls")),
    path("labels/", include("workshop.labels.urls")),
    path("dispatch/", include("workshop.dispatch.urls")),
    path("trace/", include("workshop.trace.urls")),
    path("audit/", include("workshop.audit.urls")),
]
