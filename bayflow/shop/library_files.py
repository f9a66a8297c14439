"""Writing a file of the shop's own library: whole or not at all, on disk when it is said to be."""

import os

from bayflow.shop.context import Shop


def put(shop: Shop, path: str, data: bytes) -> None:
    """Keep *data* as the file *path* (relative, inside the library); what was there is replaced in one move."""
    target = shop.library / path
    target.parent.mkdir(parents=True, exist_ok=True)
    scratch = target.with_name(f".{target.name}.new")
    with scratch.open("wb") as file:
        file.write(data)
        file.flush()
        os.fsync(file.fileno())
    scratch.replace(target)
