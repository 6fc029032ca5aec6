"""The service's addresses, and a bare page of the shell beside them to compare with."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import path

from jobsite.people.guard import needs
from jobsite.people.rights import Right
from jobsite.urls import urlpatterns as service


@needs(Right.SEE_WORK)
def bare(request: HttpRequest) -> HttpResponse:
    return render(request, "base.html")


urlpatterns = [*service, path("bare/", bare)]
