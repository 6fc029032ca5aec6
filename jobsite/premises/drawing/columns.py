"""Where columns and the channels between them stand from left to right, once it is known what they must hold."""

from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence

from .boxes import Box, Line
from .routing import Edge, Net
from .symbols import ORIGIN_OUT

MARGIN = 16
TRACK = 10  # between neighbouring tracks of a channel
STUB = 10  # from a column to the first track, and least from the labels to the next column
LABEL_GAP = 6  # from the last track to the labels
LABEL_MOST = 170
SAID_MOST = 300  # where a label says what an isolation is about
CONTACT = 26  # length of the open contact at the end of an alternative feed


class Columns:
    """Distances in pixels from the left edge of the drawing."""

    def __init__(self, boxes: Collection[Box], edges: Sequence[Edge], nets: Mapping[int, Sequence[Net]]) -> None:
        widths: dict[int, int] = defaultdict(int)
        for box in boxes:
            widths[box.column] = max(widths[box.column], box.width)
        self.label_room = _label_room(edges)
        contacts = {edge.dst.column - 1 for edge in edges if edge.alternative}
        self.left: dict[int, int] = {}
        self.first_track: dict[int, int] = {}
        self.first_label: dict[int, int] = {}
        x = MARGIN
        for column in range(max(widths, default=0) + 1):
            self.left[column] = x
            x += widths[column]
            self.width = x + MARGIN
            self.first_track[column] = x + STUB
            count = max((net.track + 1 for net in nets.get(column, ())), default=0)
            self.first_label[column] = x + STUB + TRACK * max(count - 1, 0) + LABEL_GAP
            if count:
                self.width = max(self.width, self.first_label[column] + MARGIN)
                x = self.first_label[column] + self.label_room[column] + STUB + CONTACT * (column in contacts)
            elif widths[column]:
                x += 2 * STUB

    def out_x(self, box: Box) -> int:
        """Where lines leave a box."""
        return self.left[box.column] + (ORIGIN_OUT if box.kind == "origin" else box.width)

    def track_x(self, net: Net) -> int:
        """Where a net runs up and down."""
        return self.first_track[net.channel] + TRACK * net.track


def _label_room(edges: Sequence[Edge]) -> dict[int, int]:
    """For each channel, what the labels of the lines that end behind it need, up to a limit."""
    room: dict[int, int] = defaultdict(int)
    for edge in edges:
        channel = edge.dst.column - 1
        most = SAID_MOST if edge.off or edge.state == "live" else LABEL_MOST
        needed = round(Line(edge.label, bold=most == SAID_MOST).width()) + 1
        room[channel] = max(room[channel], min(most, needed))
    return room
