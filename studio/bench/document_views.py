"""Papers of a job: the sheet for the table, the receipt for the client."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.utils import timezone

from inventory.ground.site.downloads import download
from studio.bench.job_sheet import job_sheet, job_sheet_pdf
from studio.client.receipt import receipt, receipt_pdf
from studio.jobs.finding import get_job
from studio.models import Payment


def sheet(request: HttpRequest, pk: int) -> HttpResponse:
    """The job on paper, as it stands today."""
    found = get_job(pk)
    data = job_sheet_pdf(job_sheet(found, on=timezone.localdate()))
    return download(data, f"job-{found.reference}.pdf")


def payment_receipt(request: HttpRequest, number: int) -> HttpResponse:
    """A payment on paper."""
    found = get_object_or_404(Payment.objects.select_related("job__client", "job__revision__quote"), number=number)
    return download(receipt_pdf(receipt(found)), f"receipt-{number}.pdf")
