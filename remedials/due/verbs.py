"""What the ledger says of reminding and of customers who leave."""

from django.db.models import TextChoices


class Verb(TextChoices):
    NO_REMINDERS = "reminders.stopped", "reminders to a customer stopped"
    REMINDERS_AGAIN = "reminders.again", "reminders to a customer again"
    LEAVING_WRITTEN = "leaving.written", "closing letter written"
    LEAVING_MAILED = "leaving.mailed", "closing letter sent by e-mail"
    LEAVING_DELIVERED = "leaving.delivered", "closing letter delivered: our part here ended"
    LEAVING_TAKEN_BACK = "leaving.taken-back", "closing letter taken back"
    CAME_BACK = "leaving.came-back", "came back to us"
    REMINDING_SET = "reminders.set", "how people are reminded set"
    IN_HAND = "due.in-hand", "has it in hand"
    GIVEN_BACK = "due.given-back", "gave it back"
