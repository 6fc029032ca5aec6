"""What came of a visit, from its lines alone: closing a remedial never touches its visit."""

NO_ACCESS, FINISHED, PART_DONE = "no access", "finished", "part done"


def outcome(*, kept: int, done: int, shut_out: bool, over: bool) -> str:
    """In words; "" for a visit that is to come. `kept`: how many lines are on it, `done`: of these, how many are done."""
    if shut_out:
        return NO_ACCESS
    if kept and done == kept:
        return FINISHED
    if done:
        return f"{PART_DONE}: {done} of {kept}"
    if over:
        return "nothing closed yet" if kept else "nothing was left to do"
    return ""
