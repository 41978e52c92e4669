"""Addresses of studio/client."""

from django.urls import path

from studio.client import views

urlpatterns = [
    # A job
    path("bench/<int:pk>/deliver/", views.deliver, name="job-deliver"),
    # Its client
    path("bench/<int:pk>/client/", views.client, name="job-client"),
    path("bench/<int:pk>/fittings/plan/", views.fitting_new, name="fitting-new"),
    path("bench/<int:pk>/fittings/<int:fitting>/", views.fitting_move, name="fitting-move"),
    path("bench/<int:pk>/fittings/<int:fitting>/held/", views.fitting_held, name="fitting-held"),
    path("bench/<int:pk>/changes/add/", views.change, name="change-new"),
    path("bench/<int:pk>/payments/add/", views.payment, name="payment-new"),
    path("bench/payments/<int:number>/reverse/", views.payment_reverse, name="payment-reverse"),
    path("bench/<int:pk>/credits/add/", views.credit, name="credit-new"),
    path("bench/credits/<int:pk>/take-back/", views.credit_take_back, name="credit-take-back"),
    path("bench/receipts/<int:number>.pdf", views.payment_receipt, name="receipt"),
    path("bench/<int:pk>/photographs/add/", views.photo_new, name="job-photo-new"),
    path("bench/photographs/<int:pk>/", views.photo, name="job-photo"),
    path("bench/photographs/<int:pk>/take-away/", views.photo_take_away, name="job-photo-take-away"),
]
