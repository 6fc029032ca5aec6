"""Their addresses."""

from django.urls import path

from remedials.desk.api.due import due, leaving, messages, reminding, taking

urlpatterns = [
    path("due/", due.Due.as_view(), name="due"),
    path("due/<slug:kind>/<uuid:ref>/have-it/", taking.HaveIt.as_view(), name="have_it"),
    path("due/<slug:kind>/<uuid:ref>/give-back/", taking.GiveBack.as_view(), name="give_back"),
    path("chases/send/", taking.SendChase.as_view(), name="send_chase"),
    path("messages/", messages.Messages.as_view(), name="messages"),
    path("messages/<uuid:pk>/", messages.OneMessage.as_view(), name="message"),
    path("messages/<uuid:pk>/send-again/", messages.SendAgain.as_view(), name="send_again"),
    path("messages/<uuid:pk>/send-to/", messages.SendTo.as_view(), name="send_to"),
    path("messages/<uuid:pk>/came-back/", messages.CameBack.as_view(), name="came_back"),
    path("reminding/", reminding.Figures.as_view(), name="reminding"),
    path("reminding/set/", reminding.SetFigures.as_view(), name="set_reminding"),
    path("customers/<uuid:pk>/reminders/", reminding.Wants.as_view(), name="reminders"),
    path("customers/<uuid:pk>/stop-reminders/", reminding.Stop.as_view(), name="stop_reminders"),
    path("customers/<uuid:pk>/remind-again/", reminding.Again.as_view(), name="remind_again"),
    path("closing-letters/", leaving.Letters.as_view(), name="closing_letters"),
    path("closing-letters/<uuid:pk>/", leaving.OneLetter.as_view(), name="closing_letter"),
    path("closing-letters/<uuid:pk>/file/", leaving.LetterFile.as_view(), name="closing_letter_file"),
    path("closing-letters/<uuid:pk>/proof/", leaving.LetterProof.as_view(), name="closing_letter_proof"),
    path("sites/<uuid:pk>/write-closing-letter/", leaving.WriteLetter.as_view(), name="write_closing_letter"),
    path("closing-letters/<uuid:pk>/send/", leaving.SendLetter.as_view(), name="send_closing_letter"),
    path("closing-letters/<uuid:pk>/deliver/", leaving.Deliver.as_view(), name="deliver_closing_letter"),
    path("closing-letters/<uuid:pk>/take-back/", leaving.TakeBack.as_view(), name="take_closing_letter_back"),
]
