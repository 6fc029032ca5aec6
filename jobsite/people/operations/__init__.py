"""Changes to people, their competence, the instruments and the private links."""

from jobsite.people.operations.accounts import (
    edit_person,
    invite_again,
    invite_person,
    password_link,
    person_left,
    person_returned,
    start_firm,
)
from jobsite.people.operations.competence import end_competence, record_competence
from jobsite.people.operations.instruments import (
    add_instrument,
    archive_instrument,
    check_instrument,
    find_instrument_wrong,
)
from jobsite.people.operations.links import (
    count_use,
    end_links_of_party,
    keep_links_to_unit,
    link_going_out,
    make_link,
    move_links,
    renew_token,
    withdraw_link,
    withdraw_links_of,
)
from jobsite.people.operations.planning import (
    end_skill,
    record_leave,
    record_skill,
    set_working_week,
    withdraw_leave,
)
from jobsite.people.operations.signin import (
    ask_second_step,
    clear_tries,
    end_everybodys_sessions,
    end_one_session,
    end_sessions,
    note_at_the_door,
    note_means_changed,
    session_moved,
    take_second_step_away,
)
from jobsite.people.operations.tokens import end_token, make_token

__all__ = [
    "add_instrument",
    "archive_instrument",
    "ask_second_step",
    "check_instrument",
    "clear_tries",
    "count_use",
    "edit_person",
    "end_competence",
    "end_everybodys_sessions",
    "end_links_of_party",
    "end_one_session",
    "end_sessions",
    "end_skill",
    "end_token",
    "find_instrument_wrong",
    "invite_again",
    "invite_person",
    "keep_links_to_unit",
    "link_going_out",
    "make_link",
    "make_token",
    "move_links",
    "note_at_the_door",
    "note_means_changed",
    "password_link",
    "person_left",
    "person_returned",
    "record_competence",
    "record_leave",
    "record_skill",
    "renew_token",
    "session_moved",
    "set_working_week",
    "start_firm",
    "take_second_step_away",
    "withdraw_leave",
    "withdraw_link",
    "withdraw_links_of",
]
