"""Client links: what was changed, is over, is of another job, or was guessed is refused, whatever it is."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from itsdangerous import URLSafeSerializer
from tests.book_places import FILES

from slabwright.book import open_book
from slabwright.findings import SlabwrightError
from slabwright.web.security.client_links import LONGEST_DAYS, ClientLinks


class _Clock:
    def __init__(self) -> None:
        self.now = 1_800_000_000.0

    def __call__(self) -> float:
        return self.now


OLD_KEY = b"k" * 32
JOBS = 3


@pytest.fixture(scope="module")
def made() -> Iterator[tuple[ClientLinks, _Clock]]:
    with tempfile.TemporaryDirectory() as folder, open_book(Path(folder) / "book.sqlite") as book:
        for _ in range(JOBS):
            book.add(FILES, "test", "")
        clock = _Clock()
        yield ClientLinks(book.links, OLD_KEY, clock), clock


def key_of(links: ClientLinks, nonce: str) -> bytes:
    """The key that only the book knows."""
    row = links._links.of(nonce)
    assert row is not None
    return bytes.fromhex(row.key)


@given(job=st.integers(1, JOBS), days=st.integers(1, LONGEST_DAYS), late=st.floats(0, 1e7))
def test_a_link_is_good_until_its_day_and_not_after(
    made: tuple[ClientLinks, _Clock], job: int, days: int, late: float
) -> None:
    links, clock = made
    token, link = links.give(job, days)
    found = links.of(token)
    assert found == link
    assert found is not None and found.job == job
    before, clock.now = clock.now, link.until + late
    try:
        assert links.of(token) is None
    finally:
        clock.now = before
    assert links.take_back(job, link.nonce) and not links.take_back(job, link.nonce)
    assert links.of(token) is None


@given(data=st.data())
def test_a_token_with_any_letter_changed_is_refused(made: tuple[ClientLinks, _Clock], data: st.DataObject) -> None:
    links, _ = made
    token, link = links.give(2, 5)
    at = data.draw(st.integers(0, len(token) - 1))
    letter = data.draw(st.sampled_from("ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_."))
    changed = token[:at] + letter + token[at + 1 :]
    assume(changed != token)
    found = links.of(changed)
    # The last letter of base64 carries spare bits: such a spelling says the same, and opens the same job only.
    assert found is None or (found == link and at == len(token) - 1)
    links.take_back(2, link.nonce)


@given(text=st.text(max_size=200))
def test_a_guessed_token_is_refused(made: tuple[ClientLinks, _Clock], text: str) -> None:
    links, _ = made
    assert links.of(text) is None


@given(
    content=st.one_of(
        st.tuples(st.text(max_size=30), st.integers(), st.integers()), st.lists(st.integers()), st.none(), st.text()
    )
)
def test_what_our_key_signed_but_nobody_gave_out_is_refused(made: tuple[ClientLinks, _Clock], content: object) -> None:
    links, _ = made
    _, link = links.give(1, 3)
    for key in (OLD_KEY, key_of(links, link.nonce)):
        for salt in ("slabwright-client", "slabwright-session"):
            assert links.of(str(URLSafeSerializer(key, salt=salt).dumps(content))) is None
    links.take_back(1, link.nonce)


@given(job=st.integers(1, JOBS), other=st.integers(1, JOBS), key=st.sampled_from(["old", "own", "another's"]))
def test_a_link_cannot_be_replayed_on_another_job(
    made: tuple[ClientLinks, _Clock], job: int, other: int, key: str
) -> None:
    links, _ = made
    _, link = links.give(job, 3)
    _, another = links.give(other, 3)
    signed = {"old": OLD_KEY, "own": key_of(links, link.nonce), "another's": key_of(links, another.nonce)}[key]
    signing = URLSafeSerializer(signed, salt="slabwright-client")
    if job != other:
        assert links.of(str(signing.dumps([link.nonce, other, link.until]))) is None
    assert links.of(str(signing.dumps([link.nonce, job, link.until + 1]))) is None
    if key != "own":
        assert links.of(str(signing.dumps([link.nonce, job, link.until]))) is None, "each link has a key of its own"
    for one in (link, another):
        links.take_back(one.job, one.nonce)


def test_another_book_does_not_know_the_link(made: tuple[ClientLinks, _Clock], tmp_path: Path) -> None:
    with open_book(tmp_path / "book.sqlite") as book:
        book.add(FILES, "test", "")
        assert ClientLinks(book.links, OLD_KEY, _Clock()).of(made[0].give(1, 3)[0]) is None


@given(days=st.one_of(st.integers(max_value=0), st.integers(min_value=LONGEST_DAYS + 1)))
def test_no_link_is_good_for_no_day_or_for_ever(made: tuple[ClientLinks, _Clock], days: int) -> None:
    with pytest.raises(SlabwrightError):
        made[0].give(1, days)
