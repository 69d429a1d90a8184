"""The client: links given out, what was signed; and the client's own page, which shows that job and nothing else."""

from __future__ import annotations

import ipaddress
from datetime import UTC, datetime
from typing import Annotated, Literal

from fastapi import APIRouter, Form, Request
from fastapi import Path as InPath
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from pydantic import Field

from slabwright.book.rows import SignOff
from slabwright.web.client_hears import heard, opened_again
from slabwright.web.client_word import ClientWord, asked_of, finish_of, matter_of, told
from slabwright.web.desk import Desk, DeskOf, SessionOf, device
from slabwright.web.editions import edition_of
from slabwright.web.models import ERRORS, GREATEST, JobId, JobView, Model, Saved
from slabwright.web.page import Page, Standing, job_page
from slabwright.web.security.client_links import LONGEST_DAYS, ClientLink
from slabwright.web.security.gate import DRAWING_POLICY
from slabwright.web.store import Behind, NotThere, Now

router = APIRouter()
Token = Annotated[str, InPath(max_length=300, description="of the link that was given out")]
_SVG = {"content-security-policy": DRAWING_POLICY}


class SignOffView(Model):
    """What a client said."""

    what: str = Field(description="they looked at")
    revision: int = Field(description="that it showed")
    name: str
    at: datetime
    verdict: Literal["approved", "asked"]
    words: str
    last: bool = Field(description="whether it is the last word on what they looked at")
    changed: str = Field(description="what of that is different by now, in words; nothing: it still stands")


class LinkView(Model):
    """A client's link that is still good."""

    nonce: str = Field(description="its name, to take it back by")
    to: str = Field(description="whom it was given to")
    given: datetime
    until: datetime


class ClientSideView(JobView):
    """The links of a job that are good, and what was signed."""

    links: list[LinkView] = Field(description="newest first")
    sign_offs: list[SignOffView] = Field(description="newest first")


class NewLink(Model):
    """For whom, and for how long."""

    to: str = Field("", max_length=100, description="whom it is given to, in your words")
    days: int = Field(14, ge=1, le=LONGEST_DAYS, description="it is good for")


class Given(LinkView):
    """A link that was just given out; its address is told this once."""

    address: str
    reach: str = Field(description="who cannot open it, in words; nothing where it may be opened from anywhere")


class TakenBack(Model):
    """A link that is worth nothing any more."""

    nonce: str


class Shown(Model):
    """A photo or a drawing on the client's page."""

    address: str
    words: str


class Made(Model):
    """One thing that was agreed on."""

    name: str
    value: str


class ClientView(Model):
    """What the client sees: progress, drawings, and what is to be signed."""

    title: str
    client: str
    revision: int
    until: datetime = Field(description="the link is good until then")
    made: list[Made] = Field(description="what is made: sizes, wood, finish, the day that was promised")
    photos: list[Shown]
    drawings: list[Shown]
    asked: list[str] = Field(description="what may be approved or asked about")
    sign_offs: list[SignOffView] = Field(description="newest first")


class AskAgain(Model):
    """What is to be signed anew."""

    what: str = Field(min_length=1, max_length=60, description="as it was signed")


class Says(Model):
    """What the client says."""

    what: str = Field(min_length=1, max_length=60, description="one of what is asked")
    revision: int = Field(ge=1, le=GREATEST, description="that was looked at")
    name: str = Field(min_length=1, max_length=80, description="who says it")
    verdict: Literal["approved", "asked"]
    words: str = Field("", max_length=2000, description="wanted where a change is asked for")


def _time(seconds: int) -> datetime:
    return datetime.fromtimestamp(seconds, UTC)


def _link_view(link: ClientLink) -> LinkView:
    return LinkView(nonce=link.nonce, to=link.to, given=_time(link.given), until=_time(link.until))


def _sign_offs(desk: Desk, now: Now) -> list[SignOffView]:
    last = {word.signed.id: word for word in now.words}
    return [_signed_view(s, last.get(s.id)) for s in reversed(desk.store.book.sign_offs(now.row.id))]


def _signed_view(s: SignOff, word: ClientWord | None) -> SignOffView:
    return SignOffView(
        what=s.what,
        revision=s.revision,
        name=s.name,
        at=s.at,
        verdict=s.verdict,
        words=s.words,
        last=word is not None,
        changed=told(word.changed) if word is not None else "",
    )


def _view(desk: Desk, now: Now) -> ClientSideView:
    return ClientSideView(
        head=desk.head(now),
        links=[_link_view(link) for link in desk.links.given(now.row.id)],
        sign_offs=_sign_offs(desk, now),
    )


@router.post("/api/jobs/{job}/client-links", responses=ERRORS, tags=["client"], status_code=201)
def give_link(request: Request, job: JobId, wanted: NewLink, desk: DeskOf) -> Given:
    """Give a link out; its address is told this once."""
    desk.store.row(job)
    to = "".join(letter for letter in " ".join(wanted.to.split()) if letter.isprintable())
    token, link = desk.links.give(job, wanted.days, to)
    host = request.headers.get("host", "")
    address = f"{request.url.scheme}://{host}/client/{token}"
    return Given(address=address, reach=reach_of(request.url.hostname or ""), **dict(_link_view(link)))


def reach_of(host: str) -> str:
    """Who cannot open a link at a host, in words; nothing where it may be opened from anywhere.

    Args:
        host: name or address under which the pages were asked, without port
    """
    try:
        address = ipaddress.ip_address(host.strip("[]"))
    except ValueError:
        alone, inside = False, "." not in host or host.endswith((".local", ".lan", ".home", ".internal"))
    else:
        alone, inside = address.is_loopback, address.is_private or address.is_link_local
    if host == "localhost" or host.endswith(".localhost") or alone:
        return (
            "No client can open it: it leads to the machine that it is opened on. Start the pages with slabwright serve --lan,"
            " open them at the address that is told then, and give the link from there."
        )
    if inside:
        return (
            "It opens in your house's own network alone: show it there, on the client's phone or yours. From elsewhere it wants"
            " an address that is known outside, such as that of your own web server in front of these pages."
        )
    return ""


@router.delete("/api/jobs/{job}/client-links/{nonce}", responses=ERRORS, tags=["client"])
def take_link_back(job: JobId, nonce: Annotated[str, InPath(max_length=60)], desk: DeskOf) -> TakenBack:
    """Make a link worthless."""
    desk.store.row(job)
    if not desk.links.take_back(job, nonce):
        raise NotThere(f"job {job} has no such link; it is over, or was taken back already")
    return TakenBack(nonce=nonce)


def _link(desk: Desk, token: str) -> ClientLink:
    link = desk.links.of(token)
    if link is None:
        raise NotThere("this link is not good, or not any more; ask the maker for a new one")
    return link


def _made(now: Now) -> list[Made]:
    """What is made, as the quote describes it; the price of a quote that has a number and lacks nothing."""
    from slabwright.sheets.shop_files import promised_thickness
    from slabwright.shop.money import format_amount
    from slabwright.shop.quote import described

    plan = now.planned.result
    if plan is None:
        return []
    head, quote = plan.job.stated.job, plan.job.stated.quote
    finish = finish_of(plan)
    told = described(plan.job, promised_thickness(plan), plan.top.width if plan.top is not None else None)
    found = [Made(name=name, value=value) for name, value in told if name != "Finish of the wood"]
    if finish:
        found.append(Made(name="Finish of the wood", value=finish))
    if head.promised is not None:
        found.append(Made(name="Ready", value=f"by {head.promised.day} {head.promised:%B %Y}"))
    price = plan.shop.price if plan.shop is not None else None
    if price is not None and quote is not None and quote.number and not price.not_priced:
        words = f"{format_amount(price.total, price.currency)} (quote No. {quote.number})"
        found.append(Made(name="To pay, all in", value=words))
    return found


def _client_view(desk: Desk, token: str, link: ClientLink, now: Now) -> ClientView:
    photos = [
        Shown(address=f"/client/{token}/photos/{photo.id}", words=photo.note or "Progress")
        for photo in reversed(desk.store.book.photos(link.job))
    ]
    drawings = [
        Shown(address=f"/client/{token}/drawings/{drawing.name}", words=drawing.title)
        for drawing in desk.drawer.there(now.planned, for_client=True)
    ]
    return ClientView(
        title=now.row.title,
        client=now.row.client,
        revision=now.revision.number,
        until=_time(link.until),
        made=_made(now),
        photos=photos,
        drawings=drawings,
        asked=[what for _, what in asked_of(now.planned.result)],
        sign_offs=_sign_offs(desk, now),
    )


@router.get("/api/client/{token}", responses=ERRORS, tags=["client"])
def client_view(token: Token, desk: DeskOf) -> ClientView:
    """What the client's page shows."""
    link = _link(desk, token)
    return _client_view(desk, token, link, desk.store.now(link.job))


def _said(desk: Desk, link: ClientLink, says: Says) -> SignOffView:
    """Keep what the client says, if it is about what stands now, and let the plan know of it.

    Raises:
        NotThere: nothing of the kind is asked.
        Behind: what was looked at is another by now.
    """
    now = desk.store.now(link.job)
    matter = next((matter for matter, what in asked_of(now.planned.result) if what == says.what), None)
    if matter is None:
        raise NotThere("nothing of the kind is to be signed; load the page again")
    newest = now.revision.number
    if says.revision > newest or not desk.store.still_shown(link.job, says.revision, newest, matter):
        raise Behind(newest)
    s = desk.store.book.sign_off(link.job, says.what, says.revision, says.name, None, says.verdict, says.words)
    heard(desk.store, matter, s)
    return _signed_view(s, ClientWord(matter, s, ()))


@router.post("/api/jobs/{job}/client/ask-again", responses=ERRORS, tags=["client"])
def ask_again(job: JobId, wanted: AskAgain, desk: DeskOf, session: SessionOf) -> Saved:
    """Open a sign-off again, because what was approved no longer stands: the plan waits for the client once more."""
    matter = matter_of(wanted.what)
    if matter is None or not desk.store.book.sign_offs(job):
        raise NotThere("nothing of the kind was approved")
    opened_again(desk.store, job, matter, session.name, "what was approved is another by now", device=device(session))
    now = desk.store.revision(job)
    return Saved(job=job, revision=now.number, who=now.who, when=now.when, why=now.why)


@router.post("/api/client/{token}/sign-offs", responses=ERRORS, tags=["client"], status_code=201)
def client_says(token: Token, says: Says, desk: DeskOf) -> SignOffView:
    """Approve, or ask for a change: kept with name, time and the revision that was shown."""
    return _said(desk, _link(desk, token), says)


def _page(request: Request, desk: Desk, token: str, said: str = "", wrong: str = "", status: int = 200) -> HTMLResponse:
    link = _link(desk, token)
    view = _client_view(desk, token, link, desk.store.now(link.job))
    context = {"view": view, "link": token, "said": said, "wrong": wrong}
    return desk.html(request, "client_own.html", context, status=status)


@router.get("/client/{token}", response_class=HTMLResponse, include_in_schema=False)
def client_html(request: Request, token: Token, desk: DeskOf, said: str = "") -> HTMLResponse:
    """The client's page."""
    return _page(request, desk, token, said="It is kept. Thank you." if said == "yes" else "")


@router.post("/client/{token}", response_class=HTMLResponse, include_in_schema=False)
def client_form(
    request: Request,
    token: Token,
    desk: DeskOf,
    session: SessionOf,
    revision: Annotated[int, Form(ge=1, le=GREATEST)],
    verdict: Annotated[Literal["approved", "asked"], Form()],
    what: Annotated[str, Form(max_length=60)],
    name: Annotated[str, Form(max_length=80)] = "",
    words: Annotated[str, Form(max_length=2000)] = "",
    page_token: Annotated[str, Form(alias="token", max_length=400)] = "",
) -> Response:
    """What the client says, from the page's own form."""
    link = _link(desk, token)
    if not desk.sessions.brings(session, page_token):
        return _page(request, desk, token, wrong="The page had grown old; say it once more.", status=403)
    if not name.strip():
        return _page(request, desk, token, wrong="Please write your name.", status=422)
    if verdict == "asked" and not words.strip():
        return _page(request, desk, token, wrong="Please write what should be different.", status=422)
    try:
        _said(desk, link, Says(what=what, revision=revision, name=name.strip(), verdict=verdict, words=words.strip()))
    except Behind:
        return _page(request, desk, token, wrong="Something was changed since; please look again first.", status=409)
    return RedirectResponse(f"/client/{token}?said=yes", status_code=303)


@router.get("/client/{token}/photos/{photo}", include_in_schema=False)
def client_photo(token: Token, photo: Annotated[int, InPath(ge=1, le=GREATEST)], desk: DeskOf) -> Response:
    """A photo of this job."""
    link = _link(desk, token)
    if photo not in {row.id for row in desk.store.book.photos(link.job)}:
        raise NotThere("there is no such photo")
    return Response(desk.store.book.photo(photo).data, media_type="image/jpeg")


@router.get("/client/{token}/drawings/{name}", include_in_schema=False)
def client_drawing(token: Token, name: str, desk: DeskOf) -> Response:
    """A drawing of this job."""
    link = _link(desk, token)
    now = desk.store.now(link.job)
    if name not in {drawing.name for drawing in desk.drawer.there(now.planned, for_client=True)}:
        raise NotThere("there is no such drawing")
    drawn = desk.drawer.draw(now.planned, edition_of(now.revision), name)
    return Response(drawn, media_type="image/svg+xml", headers=_SVG)


@router.get("/client/{token}/drawings/{name}/large", response_class=HTMLResponse, include_in_schema=False)
def client_drawing_large(request: Request, token: Token, name: str, desk: DeskOf) -> HTMLResponse:
    """A drawing at a size at which its words can be read on a phone, to be moved about."""
    link = _link(desk, token)
    now = desk.store.now(link.job)
    titles = {drawing.name: drawing.title for drawing in desk.drawer.there(now.planned, for_client=True)}
    if name not in titles:
        raise NotThere("there is no such drawing")
    context = {
        "title": titles[name],
        "job": now.row.title,
        "back": f"/client/{token}",
        "drawing": f"/client/{token}/drawings/{name}",
    }
    return desk.html(request, "client_drawing.html", context)


def _standing(now: Now) -> Standing:
    if not now.words:
        return Standing("ready", "nothing is signed yet")
    wanted = [word for word in now.words if word.signed.verdict == "asked"]
    if wanted:
        matter = wanted[0].signed.what.partition(":")[0]
        return Standing(
            "decide", f"asks for a change: {matter}" if wanted[0].stands else f"changed: ask again, {matter}"
        )
    fell = [word for word in now.words if not word.stands]
    if fell:
        return Standing("decide", f"changed since: {fell[0].signed.what.partition(':')[0]}")
    signed = {word.matter for word in now.words}
    left = [matter.what for matter, _ in asked_of(now.planned.result) if matter not in signed]
    return Standing("ready", f"not signed: {left[0]}") if left else Standing("done", "approved")


job_page(router, "client", ClientSideView, _view, script="client.js")

PAGE = Page("client", "Client", router, _standing)
