"""Their addresses."""

from django.urls import path

from remedials.desk.api.premises import nouns

urlpatterns = [
    path("sites/", nouns.Sites.as_view(), name="sites"),
    path("sites/<uuid:pk>/", nouns.OneSite.as_view(), name="site"),
    path("boards/", nouns.Boards.as_view(), name="boards"),
    path("boards/<uuid:pk>/", nouns.OneBoard.as_view(), name="board"),
]
