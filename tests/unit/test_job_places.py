from __future__ import annotations

import tomllib

from slabwright.job.places import headers, places, written

TEXT = '''# a remark with [brackets] and = signs
top = 1
[job]
title = "a # in a \\" text ]"   # [remark]
date = 2024-01-01 10:00:00

"quoted key".'other' = 3
[slab]
moisture.core = [
  1, # ]
  2,
]
note = """two
lines = 3
[not a table]"""
[[slab.defects]]
kind = 'knot'
at = [ 1, 2 ]
[[slab.defects]]
kind = { a = 1, b = [ { c = 2 } ] }
[slab.defects.more]
z = +inf
'''


def test_every_key_has_its_line() -> None:
    found = {written(key): line for key, line in places(TEXT).items()}
    assert found["top"] == 2
    assert found["job"] == 3
    assert found["job.title"] == 4
    assert found["job.quoted key.other"] == 7
    assert found["slab.moisture.core[1]"] == 11
    assert found["slab.note"] == 13
    assert found["slab.defects[0].at[1]"] == 18
    assert found["slab.defects[1].kind.b[0].c"] == 20
    assert found["slab.defects[1].more.z"] == 22


def test_keys_are_those_that_the_toml_reader_finds() -> None:
    def keys(value: object, way: tuple[str | int, ...] = ()) -> set[tuple[str | int, ...]]:
        inner = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
        return {way} | {key for name, item in inner for key in keys(item, (*way, name))}

    assert set(places(TEXT)) | {()} == keys(tomllib.loads(TEXT))


def test_headers_know_where_their_last_value_ends() -> None:
    ends = {(header.line, header.last) for header in headers(TEXT)}
    assert ends == {(0, 2), (3, 7), (8, 15), (16, 18), (19, 20), (21, 22)}
