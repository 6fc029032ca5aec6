"""Every operation is reached by a verb of the API, or it is said here why not."""

import ast
from collections import Counter
from importlib import import_module
from pathlib import Path
from types import FunctionType, ModuleType
from typing import Any

from tests.readme import TOP

API = TOP / "remedials" / "desk" / "api"
FLOORS = ("jobsite", "inspections", "remedials")
EVERYTHING = "all that the firm owns leaves only by a person who has just shown once more who they are"
# Operations that no person asks for by the API, each with the reason.
BY_LINK = "only whoever has the private link says it: the office records what it heard by another verb"
A_PERSON_AGAIN = (
    "changes how somebody signs in: the page asks the password or second step again, which no token can give"
)
NOT_BY_API: dict[str, str] = {
    "leave_to_decide": "done on the server after a restore (manage.py restore), by no person of the firm",
    "link_going_out": "part of sending a message that holds a private link",
    "make_link": "its address is told once and kept nowhere; an answer to a key is kept: send_link mails it instead",
    "make_token": "made only on its page, after the password was asked again; nothing but its hash is kept",
    "renew_token": "done by the worker that sends, for an address which surely never left the house",
    "start_firm": "done on the server, in a database without people (manage.py start_firm)",
    "add_list": "part of taking in a list of boards (take_in), which reads and checks it first",
    "end_observation": "part of closing a remedial, of work done by others and of declining: nobody ends one by itself",
    "note_observations": "part of taking in a file; one at a time they are noted by note_observation",
    "grant_access": "part of booking a visit, whose own entry tells of it",
    "take_access_back": "part of calling off or moving a visit, whose own entry tells of it",
    "answer_and_ask": BY_LINK,
    "ask_further": BY_LINK,
    "ask_question": BY_LINK,
    "make_quote_link": "its address is a secret shown once: an answer of the API is kept, to be told again",
    "pass_on": BY_LINK,
    "keep_document": "a part of the verbs that make a document",
    "reckon_anew": "a part of sending a quote",
    "settle_carried": "the worker that sends messages says how it ended",
    "shed": "the clockwork erases what is past its time",
    "take_returned": "a mail server's report, read by a command of the server",
    "answer_by_link": "only the customer does it, behind the private link that was sent to them",
    "choose_time": "only the customer does it, behind the private link that was sent to them",
    "none_suits": "only the customer does it, behind the private link that was sent to them",
    "look_at_code": "an alarm code must not leave by a token: an engineer who is booked there looks at it on its page",
    "keep_code": "a code is short: the fingerprint that is kept of every request sent with a key would give it away",
    "make_feed": "its answer is a secret address, told once: answers are kept for who asks again, and this one must not be",
    "make_times_link": "its answer is a secret address, told once; send_times e-mails the link instead",
    "approve_by_answer": "part of taking in, or taking back, a customer's answer to a quote",
    "decline_by_answer": "part of taking in, or taking back, a customer's answer to a quote",
    "unanswer": "part of taking in, or taking back, a customer's answer to a quote",
    "mark_booked": "part of booking and moving a visit",
    "mark_unbooked": "part of cancelling a visit, and of nobody letting us in",
    "mark_quoted": "part of sending a quote",
    "mark_to_price_again": "part of withdrawing or revising a quote",
    "say_what_it_takes": "part of pricing a remedial",
    "note_means_changed": "part of what somebody does to their own password, app or passkey on the pages of signing in",
    "ask_second_step": A_PERSON_AGAIN,
    "clear_tries": A_PERSON_AGAIN,
    "end_everybodys_sessions": A_PERSON_AGAIN,
    "end_one_session": A_PERSON_AGAIN,
    "end_sessions": A_PERSON_AGAIN,
    "take_second_step_away": A_PERSON_AGAIN,
    "ask_for_take_out": EVERYTHING,
    "carry_away": EVERYTHING,
    "remove_take_out": EVERYTHING,
    "note_taken_out": "the command on the server alone does it",
}


def dotted(file: Path) -> str:
    """What a file of the program is called where it is imported."""
    return ".".join(file.relative_to(TOP).with_suffix("").parts).removesuffix(".__init__")


def operations() -> dict[Any, str]:
    """Every function that is marked as an operation, with its name, but for those of a module's own.

    Two rooms may call theirs alike: each is one of its own here.
    """
    found = {}
    for floor in FLOORS:
        for file in (TOP / floor).rglob("*.py"):
            for node in ast.parse(file.read_text()).body:
                if isinstance(node, ast.FunctionDef) and "operation" in {ast.unparse(d) for d in node.decorator_list}:
                    found[getattr(import_module(dotted(file)), node.name)] = node.name
    return {one: name for one, name in found.items() if not name.startswith("_")}


def reached(folder: Path) -> set[Any]:
    """Every function that the modules below `folder` name, by itself or in a module that they import."""
    found = set()
    for file in folder.rglob("*.py"):
        there = vars(import_module(dotted(file)))
        for node in ast.walk(ast.parse(file.read_text())):
            one = _named(node, there)
            found |= {one} if isinstance(one, FunctionType) else set()
    return found


def _named(node: ast.AST, there: dict[str, Any]) -> Any:
    """What a name, or the name of something in a module, stands for; None for anything else."""
    if isinstance(node, ast.Name):
        return there.get(node.id)
    if isinstance(node, ast.Attribute):
        of = _named(node.value, there)
        return getattr(of, node.attr, None) if isinstance(of, ModuleType) else None
    return None


def test_every_operation_is_reached_or_it_is_said_why_not() -> None:
    by_api = reached(API)
    left = {name for one, name in operations().items() if one not in by_api}
    assert sorted(left - set(NOT_BY_API)) == []


def test_no_reason_outlives_its_operation() -> None:
    there, by_api = operations(), reached(API)  # read once: each of them walks through all of the program
    still = {name for one, name in there.items() if one not in by_api}
    assert sorted(set(NOT_BY_API) - still) == []


def test_operations_that_are_called_alike_each_have_a_verb() -> None:
    """What a list of names would not tell: it takes one for the other."""
    alike = [name for name, times in Counter(operations().values()).items() if times > 1]
    by_api = reached(API)
    assert {"take_back_answer", "take_on"} <= set(alike)
    assert [name for one, name in operations().items() if name in alike and one not in by_api] == []
