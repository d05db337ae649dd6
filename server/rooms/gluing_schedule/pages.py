"""The gluing schedule: which ring when, in the hours that the person is there."""

import re
from collections.abc import Mapping
from datetime import datetime
from typing import Any

from fastapi import APIRouter, Request, Response
from pydantic import ValidationError

from server.craft.document.assembly import Stack
from server.craft.document.kept_shop import GluingHabits, shop_of
from server.craft.errors import FieldError
from server.craft.glue.learned import SuggestedTimes
from server.craft.glue.schedule import GluingSchedule
from server.craft.glue.timing import is_too_cold
from server.craft.lathe.steps import Work
from server.craft.planned import Planned
from server.exports.gluing import Gluing, glue_of, stacks_to_glue
from server.exports.ics import calendar_of
from server.rooms.gluing_schedule.planning import Asked, hours_from
from server.rooms.gluing_schedule.plans import plans_of
from server.rooms.gluing_schedule.views import (
    DAYS,
    ScheduleView,
    Words,
    day_forms,
    finish_words,
    learned_view,
    moved_words,
    ready_view,
    stays_view,
)
from server.store import shop
from server.web.fields import Fields, FormText
from server.web.floors import FloorBook, floors_of, piece_of, planned_of
from server.web.frame import frame, server_now
from server.web.kept import kept
from server.web.orders import orders_of
from server.web.replies import go_to
from server.web.state import device_of, now_of, store_of
from server.web.templates import render

router = APIRouter(include_in_schema=False)

_TIME = re.compile(r"([01]\d|2[0-3]):[0-5]\d")
Pace = tuple[tuple[str, tuple[float, float, float]], ...]


@router.get("/pieces/{piece_id}/gluing-schedule")
def schedule(request: Request, piece_id: str, times: str = "") -> Response:
    """The schedule from now on; `times=log` reckons with what the log says presses take."""
    return _page(request, _Room(request, piece_id, times == "log"))


@router.post("/pieces/{piece_id}/gluing-schedule")
def save_hours(request: Request, piece_id: str, form: FormText, times: str = "") -> Response:
    """Keep the shop's hours, presses and turning time; the plan goes on with the same times."""
    fields = Fields(form)
    habits = _habits(fields)
    if not fields.ok or habits is None:
        return _page(request, _Room(request, piece_id, times == "log"), fields, 422)
    with store_of(request).write() as session:
        document = shop.shop_document(session) | {"gluing": habits}
        shop.save_shop(session, document, now_of(request), None, device_of(request))
    query = "?times=log" if times == "log" else ""
    return go_to(request, f"/pieces/{piece_id}/gluing-schedule{query}")


@router.get("/pieces/{piece_id}/gluing-schedule.ics")
def calendar(request: Request, piece_id: str, times: str = "") -> Response:
    """The next moments as a calendar file, each with its alarm."""
    room = _Room(request, piece_id, times == "log")
    plan = room.plan()
    stacks = {stack.id: stack for stack in stacks_to_glue(room.planned)}
    gluing = Gluing(
        schedule=plan,
        stacks=stacks,
        glues={name: glue_of(room.planned, stack) for name, stack in stacks.items()},
        rest_minutes={},
        cold=frozenset(room.cold()),
        joins=_joins(room.planned),
    )
    content = calendar_of(
        room.planned, gluing, room.now, piece=piece_id, revision=room.record.revision
    )
    return Response(
        content,
        media_type="text/calendar; charset=utf-8",
        headers={"content-disposition": 'attachment; filename="gluing.ics"'},
    )


class _Room:
    """What a handler loads: the drawing, its ledger, the shop's habits, the log of all pieces."""

    def __init__(self, request: Request, piece_id: str, by_log: bool) -> None:
        self.now, self.by_log = server_now(request), by_log
        self.record = record = piece_of(request, piece_id)
        document = kept(request, shop.shop_document)
        book = floors_of(request)
        self.entries = tuple(book.lines(piece_id))
        self.floor = book.floor(piece_id, self.now)
        self.habits = _kept_habits(document)
        self.planned = planned_of(request, record)
        self.piece = self.planned.piece
        self.log = self._log(book)
        self._plans = plans_of(request)

    def _log(self, book: FloorBook) -> dict[str, SuggestedTimes]:
        reading = self.floor.latest("temperature_c")
        degrees = reading.value if reading else self.piece.room.temperature_c
        glues = {stack.id: glue_of(self.planned, stack).id for stack in self.piece.stacks}
        known = {glue: book.suggested_times(glue, degrees) for glue in {*glues.values()}}
        found = {name: known[glue] for name, glue in glues.items()}
        return {name: said for name, said in found.items() if said is not None}

    def cold(self) -> list[str]:
        """Stacks whose glue does not harden in the shop as it is."""
        return [stack.id for stack in self.piece.stacks if self._is_cold(stack)]

    def _is_cold(self, stack: Stack) -> bool:
        reading = self.floor.latest("temperature_c")
        degrees = reading.value if reading else self.piece.room.temperature_c
        return is_too_cold(glue_of(self.planned, stack), degrees)

    def label_pace(self) -> dict[str, tuple[float, float, float]]:
        """What the labels say, at the shop's temperature."""
        return {
            order.id: (order.press_minutes, order.rest_minutes, order.cure_hours)
            for order in orders_of(self.piece)
        }

    def pace(self) -> Pace:
        """The log's times where asked for and known; cure is never less than the label's."""
        if not self.by_log:
            return ()
        label = self.label_pace()
        return tuple(
            (
                name,
                (
                    said.press_minutes,
                    label[name][1] if said.rest_minutes is None else said.rest_minutes,
                    max(label[name][2], said.cure_hours or 0.0),
                ),
            )
            for name, said in self.log.items()
        )

    def plan(self) -> GluingSchedule:
        """The schedule. Raises FieldError where there is none."""
        asked = Asked(self.planned, self.entries, self.habits, self.now, self.pace())
        return self._plans.plan((self.record.id, self.record.revision), asked, _local)


def _local(moment: datetime) -> datetime:
    """A time of the shop's clock with the offset that holds on that day."""
    return moment.astimezone()


def _kept_habits(document: dict[str, Any]) -> GluingHabits:
    try:
        return shop_of({"gluing": document.get("gluing") or {}}).gluing
    except ValidationError:
        return GluingHabits()


def _page(
    request: Request, room: _Room, fields: Fields | None = None, status: int = 200
) -> Response:
    context = {
        "view": _view(room, fields),
        "address": f"/pieces/{room.record.id}/gluing-schedule",
        "frame": frame(request, place="glue-bench", piece=room.record, heading="Gluing schedule"),
    }
    return render(request, "gluing_schedule/page.html", context, status)


def _view(room: _Room, fields: Fields | None) -> ScheduleView:
    trouble, plan = "", None
    try:
        plan = room.plan()
    except FieldError as error:
        trouble = error.message
    joins = _joins(room.planned)
    words = Words(room.piece, room.planned, joins)
    morning = room.now.replace(hour=0, minute=0, second=0, microsecond=0)
    hours = hours_from(room.habits, morning, _local)
    finish, status = finish_words(plan, room.now, always=hours is None) if plan else ("", "")
    habits = room.habits
    return ScheduleView(
        trouble=trouble,
        stays=stays_view(plan, words, hours, habits.presses, room.now) if plan else (),
        ready=ready_view(plan, words, _joined(joins), room.now) if plan else (),
        finish=finish,
        status=status,
        moved=moved_words(plan) if plan else "",
        learned=learned_view(room.piece, room.label_pace(), room.log),
        by_log=room.by_log,
        days=day_forms(habits),
        presses=str(habits.presses),
        turning=f"{habits.turning_minutes:g}",
        form=fields,
        left=len(plan.steps) if plan else 0,
        cold=", ".join(words.titles[stack] for stack in room.cold()),
    )


def _joins(planned: Planned) -> dict[str, str]:
    """Where stacks are glued to one another at the lathe, in words."""
    return {step.id: step.title for step in planned.usual_steps if step.work is Work.JOIN}


def _joined(joins: Mapping[str, str]) -> dict[str, str]:
    """The stacks that a join takes, with its id."""
    return {name: join for join in joins for name in join.split(":")[1].split("+")}


def _habits(fields: Fields) -> dict[str, Any] | None:
    presses = fields.whole("presses", low=1, high=20)
    turning = fields.number("turning_minutes", low=0, high=10_000)
    stays = []
    for day in range(len(DAYS)):
        starts, ends = (fields.typed.get(f"{end}-{day}", "").strip() for end in ("from", "to"))
        if not starts and not ends:
            continue
        for name, value in ((f"from-{day}", starts), (f"to-{day}", ends)):
            if not _TIME.fullmatch(value):
                fields.wrong(name, "A time of day like 19:00.")
        if fields.ok and ends <= starts:
            fields.wrong(f"to-{day}", "This is before you come.")
        stays.append({"day": day, "starts": starts, "ends": ends})
    if presses is None or turning is None:
        return None
    return {"presses": presses, "turning_minutes": turning, "stays": stays}
