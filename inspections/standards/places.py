"""Nations and tenures, as far as the law on rented homes tells them apart.

The values are those that premises are stored with, so that `Nation(unit.nation)` works.
"""

from enum import StrEnum


class Nation(StrEnum):
    ENGLAND = "england"
    WALES = "wales"
    SCOTLAND = "scotland"
    NORTHERN_IRELAND = "northern-ireland"


class Tenure(StrEnum):
    OWNER_OCCUPIED = "owner-occupied"
    PRIVATE_RENTED = "private-rented"
    SOCIAL_RENTED = "social-rented"
    NOT_A_HOME = "not-a-home"

    @property
    def rented_home(self) -> bool:
        return self in (Tenure.PRIVATE_RENTED, Tenure.SOCIAL_RENTED)
