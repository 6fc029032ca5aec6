"""How long a sign-in lasts and how often one may be tried: the figures, each with its reason.

NIST SP 800-63B-4, sections 2.2.3 and 5.2, asks at its second level for another sign-in after a day at most and after an hour
without use. We are longer on purpose and say why: people of the office would type their password all day, and an engineer in
a cellar without signal who is signed out cannot send what the phone keeps. What weighs against it: the device's own lock,
tokens that work from a browser only, the list of one's sessions, and that anybody can be signed out everywhere at once.
"""

from dataclasses import dataclass
from datetime import timedelta


@dataclass(frozen=True)
class Lasts:
    """How long a sign-in lasts: `idle` without any request, `altogether` however much it is used."""

    idle: timedelta
    altogether: timedelta


# Whoever has the office's or a manager's role sees prices, people and all customers: a lunch and a long meeting, no night.
DESK = Lasts(timedelta(hours=12), timedelta(days=7))
# Who is only an engineer: a weekend and a few days off the grid; the phone is in their pocket and locks itself.
HANDS = Lasts(timedelta(days=7), timedelta(days=30))
LASTS = {"desk": DESK, "hands": HANDS}
# A request within so long of the last one that was noted writes nothing.
SEEN_EVERY = timedelta(minutes=5)

# How many sign-ins one person has side by side: as many as devices they use. None is ended for another, since that would
# sign out the phone in the cellar; each is on the person's own list and on the manager's, and every new one is written down.

RESET_LINK = timedelta(hours=1)
INVITATION = timedelta(days=3)  # somebody who starts on Monday is invited on Friday

# Wrong passwords. Of somebody on a device that never signed in as them: allauth's limits in the settings, five in five
# minutes for one account and ten a minute from one address. On a device that did (`tries`), this, which strangers cannot
# reach: so no one can lock a person, or the firm, out of the devices that they use.
KNOWN_DEVICE = "10/300s/key"
DEVICE_KNOWN_FOR = timedelta(days=180)
EVENTS_KEPT = timedelta(days=400)  # who signed in when: long enough to look back on a year
