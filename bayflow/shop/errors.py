"""What a use case refuses, each with a sentence that a person can act on. `web.errors` maps them to statuses."""


class ShopError(Exception):
    """A use case said no; the message says what is wrong and what would be right."""


class NotFound(ShopError):
    """There is no such job, vehicle, person, phone, sheet or photo."""


class Invalid(ShopError):
    """What was sent cannot be used; `faults` lists every reason."""

    def __init__(self, *faults: str) -> None:
        super().__init__("; ".join(faults))
        self.faults = list(faults)


class Refused(ShopError):
    """Sound, but not now: the state of things stands against it; `reasons` lists every one."""

    def __init__(self, *reasons: str) -> None:
        super().__init__("; ".join(reasons))
        self.reasons = list(reasons)


class Conflict(ShopError):
    """The same id was used before for something else."""


class NotAllowed(ShopError):
    """This person may not do this; the message names the role that may."""


class NotPaired(ShopError):
    """The device is not, or no longer, paired with this shop."""


class NoPin(NotAllowed):
    """This person has no PIN yet; the message says who sets one."""


class WrongPin(ShopError):
    """The PIN does not fit; so many tries are `left`."""

    def __init__(self, message: str, left: int) -> None:
        super().__init__(message)
        self.left = left


class LockedOut(ShopError):
    """Too many wrong PINs; `until` is the moment (ms UTC) from which trying is possible again."""

    def __init__(self, message: str, until: int) -> None:
        super().__init__(message)
        self.until = until


class TooLarge(ShopError):
    """More bytes than are taken; the message names the limit."""
