"""The form of one entry of a lay-up record: added, changed, with what was typed kept where something is wrong."""

from collections.abc import Mapping
from dataclasses import dataclass

from fastapi import APIRouter, Request
from fastapi.concurrency import run_in_threadpool
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from monitor.model.vessel import Vessel
from monitor.model.views import StoredRecord
from monitor.web.clock import YardClock
from monitor.web.deps import Deps
from monitor.web.form_fields import FEW, FormField, fields_of, part_words
from monitor.web.form_ids import with_id
from monitor.web.form_lay_up import lay_up_wrong
from monitor.web.form_links import linked_choices
from monitor.web.form_mistakes import WHOLE
from monitor.web.form_parts import NEW, OPEN_ITEMS, PARTS, SENSORS, TAKEN_WORDS, Entry, Part, find
from monitor.web.form_read import MOST_ROWS, read, wrong_words
from monitor.web.form_show import MINUS, SPARE_ROWS, rows_shown, texts_of
from monitor.web.form_typed import Typed
from monitor.web.problems import ProblemError
from monitor.web.record_form_heard import heard_by
from monitor.web.record_form_kept import half_closed, kept_values, same_times
from monitor.web.record_form_save import save_entry, stored_record
from monitor.web.record_form_words import article, title_of
from monitor.web.sight import Asking, Viewer
from monitor.web.templates import render

router = APIRouter()


@dataclass(frozen=True, slots=True)
class Place:
    """Which entry a form is of: ``key`` is None for one that is not there yet."""

    stored: StoredRecord
    part: Part
    key: str | None

    @property
    def record(self) -> Vessel:
        """The record as it stands."""
        return self.stored.vessel

    @property
    def address(self) -> str:
        """The form's own address."""
        tail = f"/{NEW}" if self.part.many and self.key is None else f"/{self.key}" if self.part.many else ""
        return f"/vessels/{self.record.id}/record/{self.part.slug}{tail}"


@router.get("/vessels/{vessel_id}/record/{part}", response_model=None)
def show_single(request: Request, viewer: Asking, vessel_id: str, part: str) -> Response:
    """Show the form of a part that is there once; of another part its entries, on the record's page."""
    place = _place(request, viewer, vessel_id, part, "")
    if place.part.many:
        return RedirectResponse(f"/vessels/{vessel_id}/record#part-{part}", 303)
    return _form(request, place, _texts(request, place))


@router.post("/vessels/{vessel_id}/record/{part}")
async def save_single(request: Request, viewer: Asking, vessel_id: str, part: str) -> Response:
    """Save a part that is there once."""
    return await _save(request, viewer, await run_in_threadpool(_place, request, viewer, vessel_id, part, ""))


@router.get("/vessels/{vessel_id}/record/{part}/{entry}")
def show(request: Request, viewer: Asking, vessel_id: str, part: str, entry: str) -> HTMLResponse:
    """Show the form of an entry, or the empty one of a new entry."""
    place = _place(request, viewer, vessel_id, part, entry)
    return _form(request, place, _texts(request, place))


@router.post("/vessels/{vessel_id}/record/{part}/{entry}")
async def save(request: Request, viewer: Asking, vessel_id: str, part: str, entry: str) -> Response:
    """Save an entry; shown again with what is wrong, where it cannot be."""
    place = await run_in_threadpool(_place, request, viewer, vessel_id, part, entry, may_be_gone=True)
    return await _save(request, viewer, place)


def _place(
    request: Request, viewer: Viewer, vessel_id: str, slug: str, entry: str, *, may_be_gone: bool = False
) -> Place:
    """Find what a form is of; where it is sent, somebody may have taken it out meanwhile.

    Raises:
        ProblemError: 404 where there is no such vessel, part or entry.
    """
    stored = stored_record(request.app.state.deps, viewer, vessel_id)
    part = PARTS.get(slug)
    if part is None or (entry and not part.many):
        raise ProblemError(404, f"A record has no part called {slug!r}.")
    held = [stored, *(request.app.state.deps.records.versions(vessel_id) if may_be_gone else ())]
    if entry and entry != NEW and not any(find(version.vessel, part, entry) for version in held):
        raise ProblemError(404, f"There is nothing called {entry!r} under {part_words(part)['title']} of her record.")
    return Place(stored, part, None if entry in {"", NEW} else entry)


def _texts(request: Request, place: Place) -> dict[str, str]:
    deps: Deps = request.app.state.deps
    entry = find(place.record, place.part, place.key or "")
    texts = texts_of(fields_of(place.part), entry, deps.zone)
    if place.part is OPEN_ITEMS and entry is None:
        texts["tag"] = str(max((item.tag for item in place.record.open_items), default=0) + 1)
    return texts


class _NotSavedError(Exception):
    """Why an entry was not saved: what is wrong by field, and who changed it meanwhile."""

    def __init__(self, wrong: Mapping[str, str], theirs: StoredRecord | None = None, status: int = 422) -> None:
        super().__init__(", ".join(wrong.values()))
        self.wrong = wrong
        self.theirs = theirs
        self.status = status


async def _save(request: Request, viewer: Viewer, place: Place) -> Response:
    part, key = place.part, place.key
    typed = Typed.of(await request.form())
    name = typed.carried.get("name", "")
    if "more" in typed.carried:  # more empty rows, and nothing saved
        return await run_in_threadpool(_form, request, place, typed.texts, more=1, name=name)
    texts = with_id(place.record, part, typed.texts) if key is None else typed.texts
    try:
        saved = await _saved(request.app.state.deps, viewer, place, Typed(texts, typed.carried))
    except _NotSavedError as error:
        gone = error.theirs is not None and find(error.theirs.vessel, part, key or "") is None
        fresh = Place(error.theirs or place.stored, part, None if gone else key)
        texts = {**texts, part.key: key} if gone and part.many and part.key and key else texts
        return await run_in_threadpool(
            _form, request, fresh, texts, error.wrong, theirs=error.theirs, name=name, status=error.status
        )
    if part is SENSORS and key is None:
        return RedirectResponse(f"/vessels/{place.record.id}/record/sensors/{saved}?added=yes#heard", 303)
    return RedirectResponse(f"/vessels/{place.record.id}/record#part-{part.slug}", 303)


async def _saved(deps: Deps, viewer: Viewer, place: Place, typed: Typed) -> str:
    """Save an entry, and give what it is called by.

    Raises:
        _NotSavedError: where something is wrong, or somebody else changed it meanwhile.
    """
    part, key = place.part, place.key
    found = await run_in_threadpool(read, _asked(part, key), typed.texts, deps.zone)
    by, no_name = typed.by(viewer)
    wrong = found.wrong | no_name | lay_up_wrong(found.values, deps.now_ms())
    if part.many and key is None and typed.texts.get(part.key) in TAKEN_WORDS:
        wrong[part.key] = wrong_words("word_new", typed=typed.texts[part.key])
    if wrong:
        raise _NotSavedError(wrong)
    base = find(place.record, part, key or "")
    values = kept_values(
        fields_of(part), base, found.values | same_times(fields_of(part), base, typed.texts, deps.zone)
    )
    if part is OPEN_ITEMS and (wrong := half_closed(base, values)):
        raise _NotSavedError(wrong)
    entry_key = key if part.many else ""
    replaced = typed.carried.get("replaced") == "yes"
    version = typed.number("version")
    try:
        changed = await save_entry(
            deps, viewer, place.record.id, part, entry_key, values, version, by, replaced=replaced
        )
    except ProblemError as error:
        if error.status in {403, 404}:
            raise
        raise _NotSavedError({WHOLE: error.detail}, status=error.status) from error
    if changed.record is None:
        raise _NotSavedError(changed.wrong, changed.theirs)
    return changed.key


def _asked(part: Part, key: str | None) -> tuple[FormField, ...]:
    """Give the fields that are typed: what an entry is called by stays, once it is there."""
    return tuple(one for one in fields_of(part) if key is None or not one.words.get("fixed"))


def _form(
    request: Request,
    place: Place,
    texts: Mapping[str, str],
    wrong: Mapping[str, str] | None = None,
    *,
    theirs: StoredRecord | None = None,
    name: str = "",
    more: int = 0,
    status: int = 422,
) -> HTMLResponse:
    deps: Deps = request.app.state.deps
    record, part = place.record, place.part
    entry = find(record, part, place.key or "")
    fields = fields_of(part)
    now = texts_of(fields, entry, deps.zone)
    clock = YardClock(deps.zone, deps.now_ms())
    page = render(
        request,
        "record_entry.html",
        clock=clock,
        record=record,
        place=place,
        part=part,
        told=part_words(part),
        entry=entry,
        title=_title(place, entry, clock),
        fields=_asked(part, place.key),
        texts=texts,
        choices={one.name: linked_choices(record, one, place.key) for one in fields if one.is_linked},
        rows={one.name: rows_shown(one, dict(texts)) + more * SPARE_ROWS for one in fields if one.columns},
        more=more,
        wrong=dict(wrong or {}),
        theirs=theirs,
        differ=_differ(_asked(part, place.key), texts, now) if theirs is not None and entry is not None else [],
        labels=_labels(fields),
        few=FEW,
        texts_name=name,
        whole=WHOLE,
        version=place.stored.version,
        heard=heard_by(deps, record, place.key) if part is SENSORS and place.key is not None else None,
        added="added" in request.query_params,
    )
    page.status_code = 409 if theirs is not None else status if wrong else 200
    return page


def _title(place: Place, entry: Entry | None, clock: YardClock) -> str:
    if entry is not None:
        return title_of(place.part, entry, clock)
    one = part_words(place.part)["one"]
    return f"Add {article(place.part, one)} {one}"


def _labels(fields: tuple[FormField, ...]) -> dict[str, str]:
    return {one.name: one.label for one in fields} | {"your-name": "Your name"}


def _differ(
    fields: tuple[FormField, ...], texts: Mapping[str, str], now: Mapping[str, str]
) -> list[tuple[str, str, str]]:
    """Give label, what was typed and what stands there now, for each field where they are not alike."""
    labels = _labels(fields)
    labels |= {
        f"{o.name}.{n}.{c.name}": f"{c.label} {n + 1}" for o in fields for c in o.columns for n in range(MOST_ROWS)
    }
    keys = [key for key in labels if key in texts or key in now]
    pairs = [(labels[key], texts.get(key, ""), now.get(key, "")) for key in keys]
    return [(label, mine, theirs) for label, mine, theirs in pairs if _plain(mine) != _plain(theirs)]


def _plain(text: str) -> str:
    return "" if text == "no" else text.replace("\r\n", "\n").replace(MINUS, "-").strip()
