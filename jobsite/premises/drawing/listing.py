"""The supply graph as a nested HTML list."""

from collections.abc import Iterable

from django.utils.safestring import SafeString

from jobsite.premises.graph import Marks, SupplyGraph
from jobsite.premises.supply_words import Item, as_list

from .overlay import NOTHING, Overlay
from .text import safe


def drawing_list(graph: SupplyGraph, marks: Marks | None = None, over: Overlay = NOTHING) -> SafeString:
    """The facts of the drawing for screen readers and narrow screens."""
    return nested(as_list(graph, marks, over.said_of))


def nested(items: Iterable[Item]) -> SafeString:
    """`items` as a list of lists; no depth of feeds exhausts the stack."""
    out = ['<ul class="supply-list">']
    waiting: list[Item | str] = [*reversed(tuple(items))]
    while waiting:
        item = waiting.pop()
        if isinstance(item, str):
            out.append(item)
            continue
        out.append(f"<li>{_words(item)}")
        waiting.append("</ul></li>" if item.below else "</li>")
        if item.below:
            out.append("<ul>")
            waiting += reversed(item.below)
    out.append("</ul>")
    return SafeString("".join(out))


def _words(item: Item) -> str:
    name = safe(item.name)
    head = f'<a href="{safe(item.href)}">{name}</a>' if item.href else f"<strong>{name}</strong>"
    return head + "".join(f"; {safe(fact)}" for fact in item.facts)
