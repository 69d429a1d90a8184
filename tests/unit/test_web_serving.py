"""What who starts the pages for the house is told: where other devices find them."""

from __future__ import annotations

import socket

import pytest

from slabwright.web import serving


def test_the_addresses_of_the_house_are_told(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(serving, "addresses", lambda port: [f"http://192.168.1.20:{port}/"])
    said: list[str] = []
    serving._open_to_others(8400, said.append)
    assert said == ["  from other devices in the house: http://192.168.1.20:8400/"]


def test_a_machine_whose_name_leads_to_itself_is_still_found(monkeypatch: pytest.MonkeyPatch) -> None:
    class Asked(socket.socket):
        def connect(self, address: object) -> None:
            return None

        def getsockname(self) -> tuple[str, int]:
            return ("192.168.1.20", 40000)

    monkeypatch.setattr(socket, "socket", Asked)
    monkeypatch.setattr(socket, "getaddrinfo", lambda *asked: [(0, 0, 0, "", ("127.0.1.1", 0))])
    assert serving.addresses(8400) == ["http://192.168.1.20:8400/"]


def test_a_machine_that_knows_none_says_where_to_look(monkeypatch: pytest.MonkeyPatch) -> None:
    def no_way(*asked: object) -> None:
        raise OSError("network is unreachable")

    monkeypatch.setattr(socket.socket, "connect", no_way)
    monkeypatch.setattr(socket, "getaddrinfo", no_way)
    assert serving.addresses(8400) == []
    said: list[str] = []
    serving._open_to_others(8400, said.append)
    assert "network settings" in said[0] and ":8400/" in said[0]
