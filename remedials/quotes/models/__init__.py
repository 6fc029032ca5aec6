"""Quotes: rates and terms, the price book, what a remedial costs, offers in versions, answers, questions."""

from remedials.quotes.models.answers import Answer, LineAnswer, Question, Remark
from remedials.quotes.models.offers import Line, LineRemedial, Offer, Quote, QuoteSite
from remedials.quotes.models.prices import Costing, Rate, StandardItem, StandardJob, Terms, fold

__all__ = [
    "Answer",
    "Costing",
    "Line",
    "LineAnswer",
    "LineRemedial",
    "Offer",
    "Question",
    "Quote",
    "QuoteSite",
    "Rate",
    "Remark",
    "StandardItem",
    "StandardJob",
    "Terms",
    "fold",
]
