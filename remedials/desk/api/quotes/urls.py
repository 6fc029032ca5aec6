"""Their addresses."""

from django.urls import path

from remedials.desk.api.quotes import prices, quotes, said

urlpatterns = [
    path("terms/", prices.AllTerms.as_view(), name="all_terms"),
    path("terms/<uuid:pk>/", prices.OneTerms.as_view(), name="terms"),
    path("price-book/", prices.Jobs.as_view(), name="price_book"),
    path("price-book/file/", prices.BookFile.as_view(), name="price_book_file"),
    path("price-book/<uuid:pk>/", prices.OneJob.as_view(), name="standard_job"),
    path("costings/", prices.Costings.as_view(), name="costings"),
    path("costings/<uuid:pk>/", prices.OneCosting.as_view(), name="costing"),
    path("quotes/", quotes.Quotes.as_view(), name="quotes"),
    path("quotes/<uuid:pk>/", quotes.OneQuote.as_view(), name="quote"),
    path("offers/", quotes.Offers.as_view(), name="offers"),
    path("offers/<uuid:pk>/", quotes.OneOffer.as_view(), name="offer"),
    path("offers/<uuid:pk>/document/", quotes.OfferDocument.as_view(), name="offer_document"),
    path("quote-lines/", quotes.Lines.as_view(), name="quote_lines"),
    path("quote-lines/<uuid:pk>/", quotes.OneLine.as_view(), name="quote_line"),
    path("quote-answers/", said.Answers.as_view(), name="quote_answers"),
    path("quote-answers/<uuid:pk>/", said.OneAnswer.as_view(), name="quote_answer"),
    path("quote-questions/", said.Questions.as_view(), name="quote_questions"),
    path("quote-questions/<uuid:pk>/", said.OneQuestion.as_view(), name="quote_question"),
]
