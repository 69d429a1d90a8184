"""The shop's own file among a job's files: where it comes from, and what goes with it."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping

from slabwright.job.load import SHOP_FILE, general_shop_file


def shop_text(files: Mapping[str, bytes]) -> tuple[bytes, bool]:
    """The shop file that holds for a job, and whether it is the general one of the config folder; empty where there is none.

    Args:
        files: of the job
    """
    if SHOP_FILE in files:
        return files[SHOP_FILE], False
    general = general_shop_file()
    return (general.read_bytes(), True) if general.is_file() else (b"", False)


def shop_files(files: Mapping[str, bytes]) -> dict[str, bytes]:
    """A job's own shop file and the list of earlier hours that it names; nothing where the job has no shop file.

    Args:
        files: of the job
    """
    if SHOP_FILE not in files:
        return {}
    stated = tomllib.loads(files[SHOP_FILE].decode("utf-8-sig").replace("\r\n", "\n"))
    hours = stated.get("history", {}).get("file")
    return {name: files[name] for name in (SHOP_FILE, hours) if name in files}
