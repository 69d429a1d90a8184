"""Write what is published about the job file: both schemas and the page of keys. For those who change the models."""

from __future__ import annotations

import sys
from pathlib import Path

from slabwright.job.keys_page import keys_page
from slabwright.job.schema import job_schema, schema_text, shop_schema


def published() -> dict[str, str]:
    """Text of each published file, by its path in the repository."""
    return {
        "schema/job.schema.json": schema_text(job_schema()),
        "schema/shop.schema.json": schema_text(shop_schema()),
        "docs/job-file.md": keys_page(),
    }


def main(root: Path) -> None:
    """Write the published files below the repository's root."""
    for name, text in published().items():
        (root / name).parent.mkdir(exist_ok=True)
        (root / name).write_text(text, encoding="utf-8")


if __name__ == "__main__":
    main(Path(sys.argv[1] if len(sys.argv) > 1 else "."))
