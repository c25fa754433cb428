"""Delimited text with a heading line → rooms, with what is wrong at its line and column."""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from methods.floorplans import faults, rectangle
from methods.floorplans.room_lists.cells import WrongCell, number, outline, words
from methods.quantities.digits import as_entered, in_digits

MOST_BYTES, MOST_ROOMS, MOST_PROBLEMS = 500_000, 1000, 50
DELIMITERS = ";\t|,"
DIFFERS = 0.05  # share of the typed area by which width × length may differ before it is worth a word

#: What a column may be headed with, once signs, brackets and what is in them are gone.
HEADINGS: dict[str, tuple[str, ...]] = {
    "name": ("room", "name", "room name", "room no", "number"),
    "zone": ("zone", "zone name"),
    "area": ("area", "floor area", "area m2", "m2"),
    "height": ("height", "room height", "height m"),
    "width": ("width", "width m"),
    "length": ("length", "depth", "length m", "depth m"),
    "x": ("x", "x m"),
    "y": ("y", "y m"),
    "outline": ("outline", "corners", "polygon"),
}
COLUMNS = "room, zone, area, height, width, length, x, y, outline"


@dataclass(frozen=True)
class ListedRoom:
    """One line. Lengths in metres, areas in m²; outline: corners where the list says where the room lies.

    width_m and length_m without an outline: a rectangle of which nobody said where it is.
    """

    line: int
    name: str
    zone: str
    area_m2: float | None = None
    height_m: float | None = None
    width_m: float | None = None
    length_m: float | None = None
    outline: list[tuple[float, float]] | None = None


@dataclass(frozen=True)
class RoomListProblem:
    line: int
    column: str
    message: str


@dataclass
class RoomList:
    """delimiter and columns say how the list was understood."""

    rooms: list[ListedRoom] = field(default_factory=list)
    problems: list[RoomListProblem] = field(default_factory=list)
    notes: list[RoomListProblem] = field(default_factory=list)
    delimiter: str = ""
    columns: list[str] = field(default_factory=list)


def decoded(content: bytes) -> str:
    """The text of a file: UTF-8, UTF-16 with its mark, or Windows-1252. Raises ValueError when it is no text."""
    if content.startswith((b"\xff\xfe", b"\xfe\xff")):
        text = content.decode("utf-16")
    else:
        try:
            text = content.decode("utf-8-sig")
        except UnicodeDecodeError:
            text = content.decode("cp1252")
    if "\x00" in text:
        raise ValueError("This is not a text file. Save the list as CSV.")
    return text


def read(text: str) -> RoomList:
    """The rooms in ``text``. A line with a problem gives no room; the others are read all the same."""
    room_list = RoomList(delimiter=_delimiter(text))
    lines = _lines(text, room_list.delimiter)
    heading = next(lines, None)
    if heading is None:
        room_list.problems.append(RoomListProblem(1, "", "There is nothing here."))
        return room_list
    places = _places(heading[1], room_list, heading[0])
    if room_list.problems:
        return room_list
    seen: dict[tuple[str, str], int] = {}
    for count, (line, cells) in enumerate(lines, start=1):
        if count > MOST_ROOMS:
            room_list.problems.append(RoomListProblem(line, "", f"At most {MOST_ROOMS} rooms can be added at once."))
            break
        _take(room_list, line, {name: cells[at].strip() for name, at in places.items() if at < len(cells)}, seen)
        if len(room_list.problems) > MOST_PROBLEMS:
            break
    if not room_list.rooms and not room_list.problems:
        room_list.problems.append(RoomListProblem(heading[0] + 1, "", "There are columns but no rooms."))
    return room_list


def _take(room_list: RoomList, line: int, cells: Mapping[str, str], seen: dict[tuple[str, str], int]) -> None:
    try:
        room = _room(line, cells)
    except WrongCell as wrong:
        room_list.problems.append(RoomListProblem(line, wrong.column, str(wrong)))
        return
    earlier = seen.setdefault((room.zone.casefold(), room.name.casefold()), line)
    if earlier != line:
        room_list.problems.append(RoomListProblem(line, "name", f"“{room.name}” is already on line {earlier}."))
        return
    room_list.rooms.append(room)
    if room.area_m2 and room.width_m and room.length_m:
        product = room.width_m * room.length_m
        if abs(product - room.area_m2) > DIFFERS * room.area_m2:
            listed, worked_out = as_entered(room.area_m2), in_digits(product, 4)
            said = f"The list says {listed} m², width × length is {worked_out} m². The listed area is kept."
            room_list.notes.append(RoomListProblem(line, "area", said))


def _room(line: int, cells: Mapping[str, str]) -> ListedRoom:
    sizes = {name: number(name, cells.get(name, "")) for name in ("area", "height", "width", "length")}
    width, length = sizes["width"], sizes["length"]
    if (width is None) != (length is None):
        raise WrongCell("width" if width is None else "length", "Width and length come together.")
    drawn = outline(cells.get("outline", ""))
    x, y = number("x", cells.get("x", ""), signed=True), number("y", cells.get("y", ""), signed=True)
    if (x is None) != (y is None):
        raise WrongCell("x" if x is None else "y", "x and y come together.")
    if drawn is None and x is not None and y is not None:
        if width is None or length is None:
            raise WrongCell("x", "x and y say where a rectangle lies: give its width and length as well.")
        drawn = rectangle(x, y, width, length)
    if drawn is not None and (wrong := faults(drawn)):
        raise WrongCell("outline", wrong[0])
    name = words("name", cells.get("name", ""))
    if not name:
        raise WrongCell("name", "The room has no name.")
    return ListedRoom(
        line, name, words("zone", cells.get("zone", "")), sizes["area"], sizes["height"], width, length, drawn
    )


def _places(cells: Sequence[str], room_list: RoomList, line: int) -> dict[str, int]:
    """Column → its place in the line."""
    places: dict[str, int] = {}
    for at, cell in enumerate(cells):
        plain = _plain(cell)
        name = next((name for name, known in HEADINGS.items() if plain in known), None)
        if name is None:
            if plain:
                room_list.notes.append(RoomListProblem(line, cell.strip(), "This column is not read."))
        elif name in places:
            room_list.problems.append(RoomListProblem(line, cell.strip(), "There are two columns of this kind."))
        else:
            places[name] = at
    if "name" not in places:
        room_list.problems.append(
            RoomListProblem(line, "", f"The first line names the columns, “room” among them: {COLUMNS}.")
        )
    room_list.columns = list(places)
    return places


def _plain(cell: str) -> str:
    inside = re.sub(r"[\[(].*?[\])]", " ", cell.casefold().replace("²", "2"))
    return " ".join(re.sub(r"[^a-z0-9]+", " ", inside).split())


def _lines(text: str, delimiter: str) -> Iterator[tuple[int, list[str]]]:
    """Lines that are not empty, with the number of the line in the file on which each ends."""
    reader = csv.reader(text.splitlines(), delimiter=delimiter, skipinitialspace=True)
    try:
        for cells in reader:
            if any(cell.strip() for cell in cells):
                yield reader.line_num, cells
    except csv.Error:
        return


def _delimiter(text: str) -> str:
    """The sign that cuts the heading line into most columns; csv.Sniffer is led astray by decimal commas."""
    heading = next((line for line in text.splitlines() if line.strip()), "")
    return max(DELIMITERS, key=lambda sign: (heading.count(sign), -DELIMITERS.index(sign)))
