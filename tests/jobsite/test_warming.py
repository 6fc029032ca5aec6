"""Threads of a web server do what they are told to before they take requests, each of them once, and begin whatever happens."""

import threading
from concurrent.futures import ThreadPoolExecutor
from types import SimpleNamespace

import pytest

from jobsite.warming import warm_up
from jobsite.web_threads import post_worker_init

WARMED: list[int] = []


def note_the_thread() -> None:
    WARMED.append(threading.get_ident())


def fail() -> None:
    raise RuntimeError("The database is away.")


@pytest.fixture(autouse=True)
def nothing_yet(settings):
    WARMED.clear()
    settings.BEFORE_REQUESTS = [f"{__name__}.note_the_thread"]


@pytest.mark.parametrize("threads", [2, 4])
def test_each_thread_is_warmed_up_once(threads) -> None:
    with ThreadPoolExecutor(threads) as pool:
        post_worker_init(SimpleNamespace(cfg=SimpleNamespace(threads=threads), tpool=pool))
    assert len(set(WARMED)) == len(WARMED) == threads
    assert threading.get_ident() not in WARMED


def test_a_process_with_one_thread_warms_up_itself() -> None:
    post_worker_init(SimpleNamespace(cfg=SimpleNamespace(threads=1)))
    assert [threading.get_ident()] == WARMED


def test_what_fails_is_logged_and_the_rest_is_done(settings, caplog) -> None:
    settings.BEFORE_REQUESTS = [f"{__name__}.fail", f"{__name__}.note_the_thread"]
    warm_up()
    assert f"begins without {__name__}.fail" in caplog.text
    assert "The database is away." in caplog.text
    assert len(WARMED) == 1
