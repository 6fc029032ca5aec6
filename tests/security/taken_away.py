"""Takes each defence away and runs the test that stands for it, which must fail then: `make taken-away`.

Not a part of the test run. A pytest plugin: each test that `defences.py` names is run once for each way of taking its defence
away, in one process, with the defence back in its place afterwards. A test that still passes guards nothing, and its row in
ASVS.md would have to say 'not held'. Before that each is run as it is, and must pass: one that always fails proves nothing.

How a defence is taken away:

    setting(NAME=value)              a setting says something else
    code("module:function", a, b)    the text `a` of the function's source is `b` instead
    thing("module.name", value)      something of a module is another thing
    text("file", a, b)               the file says `b` where it says `a`, to whoever reads it as text (templates too)
    trigger("app.Model:name")        a trigger of the database is passed over
    constraint("name")               a constraint of the database is taken out
"""

# ruff: noqa: T201  what it prints is its result

import importlib
import inspect
import linecache
import sys
import textwrap
import types
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any
from unittest.mock import patch

import pytest

TOP = Path(__file__).resolve().parents[2]
Way = Callable[[], Any]


# --- ways -------------------------------------------------------------------------------------------------------------


class NotThere(Exception):
    """What was to be taken away is not there, or not once: the list of defences is out of date."""


def once(source: str, a: str, where: str) -> None:
    """Raises NotThere unless `a` stands in `source` exactly once."""
    if source.count(a) != 1:
        raise NotThere(f"{where} says {source.count(a)} times: {a}")


class setting:  # noqa: N801
    """A setting with another value."""

    def __init__(self, **values: Any) -> None:
        self.values = values

    def check(self) -> None:
        from django.conf import settings

        for name in self.values:
            if not hasattr(settings, name) and not name.startswith(
                "WHITENOISE_"
            ):  # the library's own have no default there
                raise NotThere(name)

    @contextmanager
    def away(self) -> Iterator[None]:
        from django.test import override_settings

        with override_settings(**self.values):
            yield

    def __str__(self) -> str:
        return ", ".join(f"{name}={value!r:.60}" for name, value in self.values.items())


class thing:  # noqa: N801
    """`name` of a module, or of a class in it, replaced by `value`."""

    def __init__(self, name: str, value: Any) -> None:
        self.name, self.value = name, value

    def check(self) -> None:
        with self.away():
            pass

    def away(self) -> Any:
        return patch(self.name, self.value)

    def __str__(self) -> str:
        return f"{self.name} = {self.value!r:.60}"


class code:  # noqa: N801
    """The function `where` ("module:name" or "module:Class.name"), its source saying `b` in the place of `a`."""

    def __init__(self, where: str, a: str, b: str) -> None:
        self.where, self.a, self.b = where, a, b

    def function(self) -> Any:
        module, _, names = self.where.partition(":")
        found: Any = importlib.import_module(module)
        for name in names.split("."):
            found = inspect.getattr_static(found, name) if inspect.isclass(found) else getattr(found, name)
        if isinstance(found, property):
            found = found.fget
        found = getattr(found, "__func__", found)
        if hasattr(found, "func") and not inspect.isfunction(found):  # a cached_property
            found = found.func
        return inspect.unwrap(found)

    def check(self) -> None:
        once(textwrap.dedent(inspect.getsource(self.function())), self.a, self.where)

    @contextmanager
    def away(self) -> Iterator[None]:
        function = self.function()
        before = function.__code__
        function.__code__ = self._made(function)
        try:
            yield
        finally:
            function.__code__ = before

    def _made(self, function: Any) -> types.CodeType:
        source = textwrap.dedent(inspect.getsource(function)).replace(self.a, self.b)
        while source.startswith("@"):
            source = (
                source[source.index("\n") + 1 :] if not source.startswith("@extend") else source[source.index("def ") :]
            )
        free = function.__code__.co_freevars
        head = f"def outer({', '.join(free)}):\n" if free else "if True:\n"
        whole = compile(head + textwrap.indent(source, "    "), f"<taken away: {self.where}>", "exec")
        return next(c for c in _codes(whole) if c.co_name == function.__name__)

    def __str__(self) -> str:
        return f"{self.where}: {' '.join(self.a.split())[:60]}  ->  {' '.join(self.b.split())[:60]}"


def _codes(made: types.CodeType) -> Iterator[types.CodeType]:
    for const in made.co_consts:
        if isinstance(const, types.CodeType):
            yield const
            yield from _codes(const)


class text:  # noqa: N801
    """A file as it is read in this process, saying `b` in the place of `a`; with an empty `a`, `b` is put at its end."""

    def __init__(self, file: str, a: str, b: str) -> None:
        self.file, self.a, self.b = file, a, b

    def check(self) -> None:
        said = (TOP / self.file).read_text()
        if self.a:
            once(said, self.a, self.file)

    @contextmanager
    def away(self) -> Iterator[None]:
        path, read, read_bytes = (TOP / self.file).resolve(), Path.read_text, Path.read_bytes

        def changed(said: str) -> str:
            return said.replace(self.a, self.b) if self.a else said + self.b

        def read_text(this: Path, *args: Any, **more: Any) -> str:
            said = read(this, *args, **more)
            return changed(said) if this.resolve() == path else said

        def as_bytes(this: Path) -> bytes:
            said = read_bytes(this)
            return changed(said.decode()).encode() if this.resolve() == path else said

        with (
            patch.object(Path, "read_text", read_text),
            patch.object(Path, "read_bytes", as_bytes),
            self._template(changed),
        ):
            yield

    @contextmanager
    def _template(self, changed: Callable[[str], str]) -> Iterator[None]:
        from django.template.autoreload import reset_loaders
        from django.template.loaders.filesystem import Loader

        path, contents = str((TOP / self.file).resolve()), Loader.get_contents

        def get_contents(this: Any, origin: Any) -> str:
            said: str = contents(this, origin)
            return changed(said) if str(Path(origin.name).resolve()) == path else said

        reset_loaders()
        with patch.object(Loader, "get_contents", get_contents):
            yield
        reset_loaders()

    def __str__(self) -> str:
        return f"{self.file}: {' '.join(self.a.split())[:60] or '(at its end)'}  ->  {' '.join(self.b.split())[:60]}"


class trigger:  # noqa: N801
    """A trigger of the database, by pgtrigger's name for it, passed over."""

    def __init__(self, *names: str) -> None:
        self.names = names

    def check(self) -> None:
        import pgtrigger

        known = {
            trigger.get_pgid(model): f"{model._meta.label}:{trigger.name}" for model, trigger in pgtrigger.registered()
        }
        for name in self.names:
            if name not in known.values():
                raise NotThere(name)

    def away(self) -> Any:
        import pgtrigger

        return pgtrigger.ignore(*self.names)

    def __str__(self) -> str:
        return f"trigger {', '.join(self.names)}"


class constraint:  # noqa: N801
    """A constraint of the database, taken out and put back."""

    def __init__(self, name: str) -> None:
        self.name = name

    def check(self) -> None:
        from django.apps import apps

        if self.name not in {one.name for model in apps.get_models() for one in model._meta.constraints}:
            raise NotThere(self.name)

    @contextmanager
    def away(self) -> Iterator[None]:
        import psycopg
        from django.db import connection

        known = ("host", "port", "user", "password", "dbname")
        where = {key: value for key, value in connection.get_connection_params().items() if key in known and value}
        with psycopg.connect(**where, autocommit=True) as server:
            asked = "SELECT conrelid::regclass::text, pg_get_constraintdef(oid) FROM pg_constraint WHERE conname = %s"
            table, definition = server.execute(asked, [self.name]).fetchone()
            server.execute(f'ALTER TABLE {table} DROP CONSTRAINT "{self.name}"')
            try:
                yield
            finally:
                server.execute(f'ALTER TABLE {table} ADD CONSTRAINT "{self.name}" {definition}')

    def __str__(self) -> str:
        return f"constraint {self.name}"


# --- the run ----------------------------------------------------------------------------------------------------------


# What a text that was put into a function says by mistake; a test that fails of that has not missed the defence.
SLIPS = tuple(
    f"E {name}" for name in ("NameError", "UnboundLocalError", "SyntaxError", "ImportError", "ModuleNotFound")
)


class Plugin:
    """Runs the named tests, each with its defence away."""

    def __init__(self, only: str) -> None:
        from tests.security.defences import DEFENCES

        self.wanted = [(test, way) for test, way in DEFENCES if only in test or only in str(way)]
        self.held: dict[int, bool] = {}
        self.broken: dict[str, str] = {}

    @pytest.hookimpl(trylast=True)
    def pytest_collection_modifyitems(self, items: list[pytest.Item]) -> None:
        items[:] = [item for item in items if self.of(item)]

    def of(self, item: pytest.Item) -> list[int]:
        """Which defences this test, or the test of which it is one case, stands for."""
        return [
            n for n, (test, _) in enumerate(self.wanted) if item.nodeid == test or item.nodeid.startswith(f"{test}[")
        ]

    @pytest.hookimpl(tryfirst=True)
    def pytest_runtest_protocol(self, item: pytest.Item, nextitem: pytest.Item | None) -> bool:
        if why := _failed(item, nextitem):
            self.broken[item.nodeid] = why
        for n in self.of(item):
            if self.held.get(n):
                continue
            try:
                with self.wanted[n][1].away():
                    why = _failed(item, nextitem, "call")
            except Exception as error:  # noqa: BLE001  the others go on
                self.broken[f"taking away {self.wanted[n][1]}"] = repr(error)
                continue
            if why.startswith(SLIPS):
                self.broken[f"taking away {self.wanted[n][1]}"] = (
                    f"it makes a slip of its own, which misses nothing: {why}"
                )
                continue
            self.held[n] = bool(why)
            print(
                f"{'fails' if why else 'PASSES':7} {item.nodeid}\n        without {self.wanted[n][1]}\n        {why[:150]}",
                flush=True,
            )
        return True

    def verdict(self) -> int:
        """How it went, in words; 0 where every named test failed."""
        idle = [f"{test}  without  {way}" for n, (test, way) in enumerate(self.wanted) if not self.held.get(n)]
        tests = len({test for test, _ in self.wanted})
        print(
            f"\n{len(self.wanted)} defences were taken away; {len(self.wanted) - len(idle)} were missed by one of {tests} tests."
        )
        for line in idle:
            print(f"NOT MISSED: {line}")
        for name, why in self.broken.items():
            print(f"FAILS AS IT IS: {name}: {why[:300]}")
        return 1 if idle or self.broken else 0


def _failed(item: pytest.Item, nextitem: pytest.Item | None, *parts: str) -> str:
    """Why the test fails, or ""; where `parts` are named only in those: what breaks in setting up misses no defence."""
    from _pytest.runner import runtestprotocol

    item._initrequest() if hasattr(item, "_initrequest") else None
    reports = runtestprotocol(item, nextitem=nextitem, log=False)
    for report in reports:
        if report.failed and (not parts or report.when in parts):
            lines = [line for line in report.longreprtext.splitlines() if line.startswith("E  ")]
            return " ".join((lines or [report.longreprtext[-200:]])[0].split())
    return ""


def main() -> int:
    """Take all away, or those whose test or words hold the argument."""
    plugin = Plugin(sys.argv[1] if len(sys.argv) > 1 else "")
    files = sorted({test.partition("::")[0] for test, _ in plugin.wanted})
    sys.argv = sys.argv[:1]
    pytest.main(["-q", "-p", "no:cacheprovider", "-p", "no:xdist", "--no-summary", *files], plugins=[plugin])
    linecache.clearcache()
    return plugin.verdict()


if __name__ == "__main__":
    sys.exit(main())
