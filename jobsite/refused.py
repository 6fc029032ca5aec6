"""What a person can put right: raised by operations, shown where the person stands."""


class Refused(Exception):
    """A change that cannot be made as asked.

    `sentence` is written for the person who asked; `field` names the form field it belongs to, if any.
    Pages answer 422 with it, the API answers 409 with a problem document (RFC 9457).
    """

    def __init__(self, sentence: str, *, field: str | None = None) -> None:
        super().__init__(sentence)
        self.sentence = sentence
        self.field = field


class NotAllowed(Refused):
    """Refused because this person may not do it: pages and API answer 403."""


class ChangedMeanwhile(Refused):
    """Somebody else changed the same thing; `theirs` is the row as it is now."""

    def __init__(self, sentence: str, *, theirs: object) -> None:
        super().__init__(sentence)
        self.theirs = theirs
