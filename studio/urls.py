"""The site's map: the studio's own pages, then each floor's."""

from django.contrib.auth import views as auth
from django.urls import include, path

from studio.bench import document_views as documents
from studio.bench import job_views as jobs
from studio.bench import material_views as materials
from studio.bench import time_views as time
from studio.bench import views as bench
from studio.books import views as books
from studio.calendar import views as calendar
from studio.client import views as client
from studio.learning import views as learning
from studio.today import views as home

urlpatterns = [
    path("", home.home, name="home"),
    # The books
    path("books/", books.listing, name="books"),
    path("books/by/<str:key>/", books.by, name="books-by"),
    path("books/pieces.xlsx", books.workbook, name="books-workbook"),
    path("books/months/", books.month_list, name="months"),
    path("books/months/close/", books.close, name="month-close"),
    path("books/learning/", learning.learning, name="learning"),
    path("books/learning/<int:pk>/take/", learning.take, name="learning-take"),
    path("books/learning/<int:pk>/refuse/", learning.refuse, name="learning-refuse"),
    path("books/learning/<int:pk>/take-back/", learning.take_back, name="learning-take-back"),
    path("books/pieces/<str:reference>/", books.account, name="account"),
    path("books/pieces/<str:reference>/again/", books.again, name="account-again"),
    # The bench
    path("bench/", bench.bench, name="bench"),
    path("bench/timer/", bench.timer, name="timer"),
    path("bench/timer/stop/", time.stop, name="timer-stop"),
    path("bench/begin/<int:revision>/", bench.begin, name="job-start"),
    path("bench/promise/<int:revision>/", calendar.promise, name="promise"),
    path("bench/calendar/", calendar.calendar, name="calendar"),
    path("bench/calendar/days-off/<int:pk>/take-away/", calendar.day_off_take_away, name="day-off-take-away"),
    path("bench/calendar/links/<int:pk>/take-away/", calendar.link_take_away, name="calendar-link-take-away"),
    path("calendar/<str:token>.ics", calendar.feed, name="feed"),
    # A job
    path("bench/<int:pk>/", jobs.job, name="job"),
    path("bench/<int:pk>/move/", bench.move, name="job-move"),
    path("bench/<int:pk>/stage/", jobs.stage, name="job-stage"),
    path("bench/<int:pk>/days/", jobs.dates, name="job-dates"),
    path("bench/<int:pk>/seams/", jobs.seams, name="job-seams"),
    path("bench/<int:pk>/deliver/", jobs.deliver, name="job-deliver"),
    path("bench/<int:pk>/give-up/", jobs.cancel, name="job-cancel"),
    path("bench/<int:pk>/sheet.pdf", documents.sheet, name="job-sheet"),
    # Its operations and their time
    path("bench/<int:pk>/operations/<int:operation>/", time.operation_time, name="operation-time"),
    path("bench/<int:pk>/operations/<int:operation>/start/", time.start, name="timer-start"),
    path("bench/<int:pk>/operations/<int:operation>/tick/", jobs.tick, name="operation-tick"),
    path("bench/time/<int:entry>/", time.correct, name="time-correct"),
    # Its materials
    path("bench/<int:pk>/materials/", materials.materials, name="job-materials"),
    path("bench/<int:pk>/materials/<int:line>/issue/", materials.issue, name="job-issue"),
    path("bench/<int:pk>/lots/<int:lot>/back/", materials.take_back, name="job-take-back"),
    path("bench/<int:pk>/lots/<int:lot>/spoiled/", materials.spoil, name="job-spoil"),
    # Its client
    path("bench/<int:pk>/client/", client.client, name="job-client"),
    path("bench/<int:pk>/fittings/plan/", client.fitting_new, name="fitting-new"),
    path("bench/<int:pk>/fittings/<int:fitting>/", client.fitting_move, name="fitting-move"),
    path("bench/<int:pk>/fittings/<int:fitting>/held/", client.fitting_held, name="fitting-held"),
    path("bench/<int:pk>/changes/add/", client.change, name="change-new"),
    path("bench/<int:pk>/payments/add/", client.payment, name="payment-new"),
    path("bench/receipts/<int:number>.pdf", documents.payment_receipt, name="receipt"),
    path("bench/<int:pk>/photographs/add/", client.photo_new, name="job-photo-new"),
    path("bench/photographs/<int:pk>/", client.photo, name="job-photo"),
    path("bench/photographs/<int:pk>/take-away/", client.photo_take_away, name="job-photo-take-away"),
    # Coming and going
    path("login/", auth.LoginView.as_view(redirect_authenticated_user=True), name="login"),
    path("logout/", auth.LogoutView.as_view(), name="logout"),
    path("password/", auth.PasswordChangeView.as_view(success_url="/"), name="password"),
    # The floors below
    path("", include("quotes.urls")),
    path("shelf/", include("inventory.urls")),
]

handler400 = home.bad_request
