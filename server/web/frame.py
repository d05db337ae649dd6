"""What every page shows around its work: the place, running timers, the way to other places."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Literal, Protocol

from starlette.requests import Request

Place = Literal[
    "pieces",
    "drawing-board",
    "lumber-rack",
    "saw-bench",
    "glue-bench",
    "lathe",
    "journal",
    "office",
    "",
]
NAMES: dict[str, str] = {
    "pieces": "Pieces",
    "drawing-board": "Drawing board",
    "lumber-rack": "Lumber rack",
    "saw-bench": "Saw bench",
    "glue-bench": "Glue bench",
    "lathe": "Lathe",
    "journal": "Journal",
    "office": "Office",
}
_IN_THE_ROW = tuple(name for name in NAMES if name != "office")
_OF_A_PIECE = ("drawing-board", "saw-bench", "glue-bench", "lathe", "journal")
THEMES = ("light", "dark", "sun")
SIZES = ("100", "150", "200")
THEME_COOKIE = "ringwright_theme"
SIZE_COOKIE = "ringwright_size"


class PieceLike(Protocol):
    """What the frame wants to know of a piece; `store.pieces.PieceRecord` fits."""

    @property
    def id(self) -> str:
        """Its id, as in addresses."""
        ...

    @property
    def name(self) -> str:
        """Its name."""
        ...

    @property
    def revision(self) -> int:
        """The number of the drawing."""
        ...


@dataclass(frozen=True, slots=True)
class HeadTimer:
    """A running timer as the head shows it; `deadline` aware, `kind` press, halves, rest or cure.

    `heard` is true when its alarm was quieted; `piece` and `subject` say what it is about. `ring`
    is its number where the faceplate's letter alone would not tell it from another.
    """

    id: str
    letter: str
    title: str
    deadline: datetime
    kind: str
    href: str
    now: datetime
    heard: bool = False
    piece: str = ""
    subject: str = ""
    ring: str = ""

    @property
    def over(self) -> bool:
        """Past its time: it counts up, and ticks nothing."""
        return self.now >= self.deadline

    @property
    def left(self) -> str:
        """What is left, or with + how long it is over: 4:02, 17 h."""
        seconds = round(abs((self.deadline - self.now).total_seconds()))
        minutes, second = divmod(seconds, 60)
        text = f"{minutes}:{second:02d}" if minutes < 100 else f"{round(minutes / 60)} h"
        return f"+{text}" if self.over and seconds else text

    @property
    def until(self) -> str:
        """The end in words: until 16:40, since 16:40."""
        return f"{'since' if self.over else 'until'} {self.end}"

    @property
    def end(self) -> str:
        """The end on the clock, with the day when it is not today."""
        end = self.deadline.astimezone(self.now.tzinfo)
        day = "" if end.date() == self.now.date() else f"{end:%a} "
        return f"{day}{end:%H:%M}"


@dataclass(frozen=True, slots=True)
class NextLine:
    """The thing to do now, in one line; `piece` is its id, `of` its name, `href` leads there."""

    do: str
    of: str
    letter: str
    href: str
    piece: str


@dataclass(frozen=True, slots=True)
class Link:
    """One place in the title block."""

    name: str
    href: str
    here: bool


@dataclass(frozen=True, slots=True)
class Cell:
    """One cell of the title block: `Drawing` / `14`."""

    label: str
    value: str


@dataclass(frozen=True, slots=True)
class Notice:
    """What the server must say about itself; `label` names a button that posts to `address`."""

    words: str
    label: str = ""
    address: str = ""


@dataclass(frozen=True, slots=True)
class Frame:
    """The context `frame` of every page."""

    place: str
    heading: str
    subtitle: str
    places: tuple[Link, ...]
    timers: tuple[HeadTimer, ...]
    cells: tuple[Cell, ...]
    theme: str
    size: str
    now: datetime
    seq: int
    piece_id: str | None
    next: NextLine | None = None
    warnings: tuple[Notice, ...] = ()

    @property
    def clock(self) -> str:
        """The time of day at the server."""
        return f"{self.now:%H:%M}"

    @property
    def day(self) -> str:
        """The day of the week, short."""
        return f"{self.now:%a}"

    @property
    def now_ms(self) -> int:
        """The server's clock in ms since 1970, for the device's offset."""
        return round(self.now.timestamp() * 1000)


def server_now(request: Request) -> datetime:
    """The server's clock in its own zone; `app.state.clock` overrides it in tests."""
    clock: Callable[[], datetime] | None = getattr(request.app.state, "clock", None)
    return (clock() if clock else datetime.now().astimezone()).astimezone()


def _places(place: str, piece: PieceLike | None) -> tuple[Link, ...]:
    def href(name: str) -> str:
        return f"/pieces/{piece.id}/{name}" if piece and name in _OF_A_PIECE else f"/{name}"

    return tuple(Link(NAMES[name], href(name), name == place) for name in _IN_THE_ROW)


def _subtitle(piece: PieceLike | None) -> str:
    return f"{piece.name}, drawing {piece.revision}" if piece else ""


def running_timers(request: Request, now: datetime) -> tuple[HeadTimer, ...]:
    """From `app.state.head_timers`, a function of now; the app sets it to the floor's fold."""
    running: Callable[[datetime], Sequence[HeadTimer]] | None = getattr(
        request.app.state, "head_timers", None
    )
    return tuple(sorted(running(now), key=lambda t: t.deadline)) if running else ()


def next_line(request: Request, piece: str | None, now: datetime) -> NextLine | None:
    """From `app.state.next_line`, a function of piece and now; None asks for the last worked on."""
    look: Callable[[str | None, datetime], NextLine | None] | None = getattr(
        request.app.state, "next_line", None
    )
    return look(piece, now) if look else None


def _last_seq(request: Request) -> int:
    """The newest entry of the ledger, from `app.state.last_seq`; the device catches up from it."""
    last: Callable[[], int] | None = getattr(request.app.state, "last_seq", None)
    return last() if last else 0


def _warnings(request: Request, place: Place) -> tuple[Notice, ...]:
    """What the server must say about itself, from `app.state.warnings`, a function of the place."""
    told: Callable[[str], Sequence[Notice]] | None = getattr(request.app.state, "warnings", None)
    return tuple(told(place)) if told else ()


def _kept(request: Request, cookie: str, allowed: Sequence[str], default: str) -> str:
    value = request.cookies.get(cookie, default)
    return value if value in allowed else default


def frame(
    request: Request,
    *,
    place: Place,
    piece: PieceLike | None = None,
    heading: str | None = None,
    subtitle: str | None = None,
    cells: Sequence[Cell] = (),
) -> Frame:
    """The frame of a page; `heading` and `subtitle` override what place and piece say."""
    now = server_now(request)
    return Frame(
        place=place,
        heading=heading or NAMES.get(place, "Ringwright"),
        subtitle=_subtitle(piece) if subtitle is None else subtitle,
        places=_places(place, piece),
        timers=running_timers(request, now),
        cells=tuple(cells),
        theme=_kept(request, THEME_COOKIE, THEMES, ""),
        size=_kept(request, SIZE_COOKIE, SIZES, "100"),
        now=now,
        seq=_last_seq(request),
        piece_id=piece.id if piece else None,
        next=next_line(request, piece.id if piece else None, now),
        warnings=_warnings(request, place),
    )


def bare_frame(request: Request, heading: str, subtitle: str = "") -> Frame:
    """A frame that asks nothing of store or floor: for errors, whatever has failed."""
    return Frame(
        place="",
        heading=heading,
        subtitle=subtitle,
        places=_places("", None),
        timers=(),
        cells=(),
        theme=_kept(request, THEME_COOKIE, THEMES, ""),
        size=_kept(request, SIZE_COOKIE, SIZES, "100"),
        now=server_now(request),
        seq=0,
        piece_id=None,
    )
