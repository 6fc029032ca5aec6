"""The words of the closing letter. Plain, our own, and without a claim of law. Pure.

What is advised for a code is common practice; where a danger notice advised something, that stands instead.
"""

ADVICE = {
    "C1": "Keep away from it and keep others away, leave it switched off, and have it put right at once by a competent person.",
    "C2": "Have it put right without delay by a competent person.",
    "FI": "Have it investigated without delay by a competent person: it may hide a danger.",
}
RANK = ("C1", "C2", "FI", "C3")
DANGEROUS = ("C1", "C2", "FI")

HOW = {"email": "by e-mail", "hand": "handed over", "post": "posted", "refused": "offered in person and refused"}

OPENING = {
    "left": "We understand that we are no longer to look after the electrical installation at {place}.",
    "sold": "We understand that {place} has a new owner, and that we are not to look after its electrical installation.",
    "died": "We are sorry to learn that {customer} has died. We looked after the electrical installation at {place}.",
    "silent": "We have written to you about the electrical installation at {place} and have had no answer.",
}
ENDS = "Our part there ends when this letter is delivered. It lists all that our record shows as open, the dangers first, for whoever sees to it from now on."
HANDED_ON = (
    "Please give a copy to whoever is responsible for the premises, and to everybody who works on the installation."
)
NOTHING_OPEN = "No open item is on our record. That says nothing of what was not inspected."

NO_LONGER = (
    "watch when the next inspection or a paper is due, and remind you of it;",
    "look again at what was made safe, which is temporary and holds only as long as nobody changes it;",
    "ask others for what we were waiting for;",
    "do or offer the work named in this letter, unless you ask us to again.",
)
QUOTES_END = "Quotes of ours that were not accepted are withdrawn: {numbers}."
LINKS_END = "Private links that we gave to pages about the premises no longer open."
CAUTION = (
    "This letter says what was on our record on {day}. It is no report on the installation: what was not inspected is not "
    "known. Whoever is responsible for the premises decides what is done, and checks which duties the current law sets. "
    "Work on an installation is for competent people."
)


def opening(why: str, *, place: str, customer: str) -> list[str]:
    """What the letter says before it lists what is open. `why`: a value of Leaving.Why. Raises KeyError for another."""
    return [OPENING[why].format(place=place, customer=customer), ENDS, HANDED_ON]


def no_longer(quotes: list[int]) -> list[str]:
    """What the firm does no more; `quotes` are the numbers of those that end."""
    ended = [QUOTES_END.format(numbers=", ".join(map(str, quotes)))] if quotes else []
    return [*NO_LONGER, *ended, LINKS_END]


def worst_first(code: str) -> int:
    """The place of an item in the list, by its code: the most dangerous first, one without a code before all."""
    return RANK.index(code) if code in RANK else -1
