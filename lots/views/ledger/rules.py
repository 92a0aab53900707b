"""How the book keeps count: the rules of the record, for everyone."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from lots.ledger.rules import Rule


@require_safe
def rules(request: HttpRequest) -> HttpResponse:
    return render(request, "ledger/rules.html", {"rules": [rule.label for rule in Rule]})
