"""Which documents there are. Pure."""

from enum import StrEnum


class Kind(StrEnum):
    """A document that is made of the record; its value stands in addresses, in `Document.kind` and in file names."""

    COMPLETION = "completion"
    STATUS = "status"
    OUTSTANDING = "outstanding"
    NOTICE = "danger-notice"
    NOTICE_COPY = "danger-notice-copy"  # without the names of others, locks and keys: what a link hands out of a notice
    YEAR = "year"

    @property
    def label(self) -> str:
        """What it is called, on its first page and in lists."""
        return LABELS[self]

    @property
    def says(self) -> str:
        """What it is for, in a sentence for whoever has never seen one."""
        return SAYS[self]


LABELS = {
    Kind.COMPLETION: "Completion record",
    Kind.STATUS: "How it stands",
    Kind.OUTSTANDING: "Schedule of outstanding works",
    Kind.NOTICE: "Danger notice",
    Kind.NOTICE_COPY: "Danger notice",
    Kind.YEAR: "The year in summary",
}
SAYS = {
    Kind.COMPLETION: "What was done about each item, by whom and when, with pictures, readings and who reviewed the proof.",
    Kind.STATUS: "What is open, what was done, what no inspection has covered, and what is due next.",
    Kind.OUTSTANDING: "What is still to be done, the most dangerous first, and by when.",
    Kind.NOTICE: "What was said in writing about a danger, as it was given.",
    Kind.NOTICE_COPY: "What was said in writing about a danger, without the names of those concerned.",
    Kind.YEAR: "What was found, put right and left open at all sites in one year.",
}
OF_A_PLACE = (Kind.STATUS, Kind.OUTSTANDING, Kind.COMPLETION)
"""Those that are made of a site or unit, in the order in which they are listed."""
