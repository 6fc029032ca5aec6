"""What to switch off for a piece of work, what should go dead by the record, what may stay live, who must be warned.

`isolate` is a pure function over the supply graph. It says "should, by the record": the record can be wrong, and nothing
here says that anything is dead. How it finds the points stands in `choosing`, what it takes for joined in `network`.
"""

from .answer import Caution, Isolation, Point, StaysLive, Sure, Work
from .finding import isolate
from .network import Network, Spot, Switch

__all__ = ["Caution", "Isolation", "Network", "Point", "Spot", "StaysLive", "Sure", "Switch", "Work", "isolate"]
