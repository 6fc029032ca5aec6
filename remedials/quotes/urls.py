"""Addresses of prices, the price book and quotes, room by room."""

from django.urls import URLPattern, path

from remedials.quotes.views import answering as of_customers
from remedials.quotes.views import answers as of_answers
from remedials.quotes.views import beginning
from remedials.quotes.views import book as of_book
from remedials.quotes.views import building as of_building
from remedials.quotes.views import lists as of_lists
from remedials.quotes.views import pricing as of_pricing
from remedials.quotes.views import quote as of_quote
from remedials.quotes.views import sending as of_sending
from remedials.quotes.views import terms as of_terms

app_name = "quotes"

prices: list[URLPattern] = [
    path("rates/", of_terms.terms, name="terms"),
    path("rates/new/", of_terms.terms_set, name="terms_set"),
    path("price-book/", of_book.book, name="book"),
    path("price-book/new/", of_book.job_new, name="job_new"),
    path("price-book/file/", of_book.book_file, name="book_file"),
    path("price-book/take-in/", of_book.book_take_in, name="book_take_in"),
    path("price-book/<uuid:pk>/", of_book.job, name="job"),
    path("price-book/<uuid:pk>/edit/", of_book.job_edit, name="job_edit"),
    path("price-book/<uuid:pk>/retire/", of_book.job_retire, name="job_retire"),
    path("price-book/<uuid:pk>/bring-back/", of_book.job_bring_back, name="job_bring_back"),
    path("remedials/<uuid:pk>/price/", of_pricing.price, name="price"),
    path("remedials/<uuid:pk>/price/sums/", of_pricing.price_sums, name="price_sums"),
    path("remedials/<uuid:pk>/price/fill/", of_pricing.price_fill, name="price_fill"),
    path("sites/<uuid:pk>/prices/", of_pricing.pile, name="pile"),
]
building: list[URLPattern] = [
    path("quotes/new/", beginning.new, name="new"),
    path("quotes/<uuid:pk>/", of_quote.quote, name="quote"),
    path("quotes/<uuid:pk>/revise/", of_quote.revise, name="revise"),
    path("quotes/<uuid:pk>/drop/", of_quote.drop, name="drop"),
    path("quotes/<uuid:pk>/difference/", of_quote.difference, name="difference"),
    path("quotes/<uuid:pk>/variation/", beginning.variation, name="variation"),
    path("quotes/<uuid:pk>/build/", of_building.build, name="build"),
    path("quotes/<uuid:pk>/describe/", of_building.describe, name="describe"),
    path("quotes/<uuid:pk>/lines/", of_building.lines_add, name="lines_add"),
    path("quotes/<uuid:pk>/order/", of_building.order, name="order"),
    path("quotes/<uuid:pk>/prices/", of_building.take_prices, name="take_prices"),
    path("quote-lines/<uuid:pk>/", of_building.line_edit, name="line_edit"),
    path("quote-lines/<uuid:pk>/sums/", of_building.sums, name="sums"),
    path("quote-lines/<uuid:pk>/move/", of_building.line_move, name="line_move"),
    path("quote-lines/<uuid:pk>/remove/", of_building.line_remove, name="line_remove"),
]
sending: list[URLPattern] = [
    path("quotes/<uuid:pk>/send/", of_sending.send, name="send"),
    path("quotes/<uuid:pk>/document/", of_sending.document, name="document"),
    path("quotes/<uuid:pk>/withdraw/", of_sending.withdraw, name="withdraw"),
    path("quotes/<uuid:pk>/chase/", of_sending.chase, name="chase"),
    path("quotes/<uuid:pk>/take-on/", of_sending.take_on, name="take_on"),
    path("quotes/<uuid:pk>/links/new/", of_sending.link_make, name="link_make"),
    path("quote-links/<uuid:pk>/withdraw/", of_sending.link_withdraw, name="link_withdraw"),
]
answering: list[URLPattern] = [
    path("quotes/<uuid:pk>/answer/", of_answers.record_answer, name="record_answer"),
    path("quote-answers/<uuid:pk>/take-back/", of_answers.take_back, name="take_back"),
    path("quote-questions/<uuid:pk>/", of_answers.question, name="question"),
    path("quote-questions/<uuid:pk>/close/", of_answers.close, name="question_close"),
    path("q/<str:token>/", of_customers.offered, name="offered"),
    path("q/<str:token>/document/", of_customers.offered_document, name="offered_document"),
    path("q/<str:token>/look-over/", of_customers.look_over, name="look_over"),
    path("q/<str:token>/confirm/", of_customers.confirm, name="confirm"),
    path("q/<str:token>/ask/", of_customers.ask, name="ask"),
    path("q/<str:token>/pass-on/", of_customers.pass_on, name="pass_on"),
]
lists: list[URLPattern] = [
    path("quotes/", of_lists.quotes, name="quotes"),
    path("quotes/figures/", of_lists.figures, name="figures"),
    path("quotes/accepted/", of_lists.accepted, name="accepted"),
]

urlpatterns = [*prices, *building, *sending, *answering, *lists]
