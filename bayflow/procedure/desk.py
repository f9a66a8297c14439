"""What the writers of a sheet share: the tasks, the texts said so far, the products and readings used, the faults."""

from collections.abc import Iterable
from typing import Any

from bayflow.procedure.draft import Draft, Drafts
from bayflow.procedure.faults import Fault, nearest, quoted
from bayflow.procedure.library import Library
from bayflow.procedure.meeting import Card
from bayflow.procedure.merge import merge
from bayflow.procedure.model import Procedure, Ref, Text
from bayflow.procedure.page import Page
from bayflow.procedure.places import Places
from bayflow.procedure.shelf import Body, Product
from bayflow.procedure.signing import Groups
from bayflow.procedure.told import Told

Json = dict[str, Any]


class Desk:
    """One sheet while it is being written."""

    def __init__(
        self, library: Library, procedures: list[Procedure], body: Body, told: tuple[Told, ...] | None = None,
        card: Card | None = None,
    ) -> None:  # fmt: skip
        """*told* is what the surfaces of a car, its *card*, did to the procedures; None where no car was asked."""
        self.told, self.card = told, card or {}
        self.library, self.procedures, self.body = library, procedures, body
        self.kinds = library.kinds()
        self.pages = {procedure.id: Page(procedure.source.path) for procedure in procedures}
        self.texts: dict[str, Text] = {}
        self.products: dict[str, Product] = {}
        self.readings: set[str] = set()
        self.pictures: set[str] = set()
        anywhere = (place for one in library.bodies.values() for place in Places(one).atoms)
        self.merged = merge(procedures)
        self.drafts = Drafts(procedures, body, self.pages, anywhere, merged=self.merged)
        self.groups = Groups(self.drafts)

    def say(self, key: str, text: Text | None) -> str | None:
        """Keep *text* under *key* and return the key; None for no text."""
        if text is None:
            return None
        self.texts[key] = text
        return key

    def say_all(self, key: str, texts: Iterable[Text]) -> list[str | None]:
        """Keys of several texts, numbered from 1."""
        return [self.say(f"{key}.{n}", text) for n, text in enumerate(texts, 1)]

    def picture(self, name: str | None) -> str | None:
        """Keep the drawing of this name for the sheet and return the name; None for no drawing."""
        if name is not None:
            self.pictures.add(name)
        return name

    def fault(self, draft: Draft, line: int, what: str, right: str) -> None:
        """Note a fault in the file of *draft*."""
        self.pages[draft.procedure.id].fault(line, what, right)

    def product(self, draft: Draft, ref: Ref) -> Product | None:
        """The product that *ref* names, from now on one of the sheet's; None and a fault if there is no such sheet."""
        product = self.library.products.get(ref.name)
        if product is None:
            known = nearest(ref.name, set(self.library.products))
            self.fault(draft, ref.line, f"there is no product sheet {quoted(ref.name)}", known)
        else:
            self.products[product.id] = product
            self.readings.update(product.cure.readings if product.cure else ())
        return product

    def where(self) -> dict[str, tuple[str, int]]:
        """File and line of every task, and of every hold under `task id!hold id`."""
        found: dict[str, tuple[str, int]] = {}
        for draft in self.drafts.all:
            path = draft.procedure.source.path
            found[draft.id] = (path, draft.step.line)
            found.update({f"{draft.id}!{hold.id}": (path, hold.line) for hold in draft.step.holds})
        return found

    def faults(self) -> set[Fault]:
        """All faults of all files so far."""
        return {fault for page in self.pages.values() for fault in page.faults}
