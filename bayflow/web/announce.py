"""
The shop's host name, told to the local network by multicast DNS (RFC 6762), so that no router need know it.

Only names under `.local` can be told. Where multicast isn't possible the shop is served all the same, with a
sentence that says what to set in the router.
"""

import ipaddress
import socket
from collections.abc import Callable

from zeroconf import Error, IPVersion, ServiceInfo, Zeroconf

from bayflow.web.authority import Address

_GROUP = "224.0.0.251"  # RFC 6762 section 3


class Announcer:
    """
    Tells the network which address *host* has, from `start` until `stop`.

    *addresses* gives this computer's addresses now; `refresh` tells them anew if they have changed. *interfaces* are
    the addresses to speak on, by default the same ones.
    """

    def __init__(self, host: str, port: int, addresses: Callable[[], list[Address]], *, on: list[str] | None = None):
        self.host, self.port = host, port
        self._addresses, self._on = addresses, on
        self._told: list[Address] = []
        self._network: Zeroconf | None = None

    def start(self) -> str | None:
        """Begin to tell; None, or why not and what to do instead as a sentence. Never raises."""
        if not self.host.endswith(".local"):
            return f"set {self.host} in your router to this computer's address ({self._known()})"
        self._told = self._addresses()
        wanted = self._on or [str(one) for one in self._told if one.version == 4]
        if not wanted:
            return f"{self.host} will be announced as soon as this computer is on a network: it has no IPv4 address yet"
        try:
            self._network = Zeroconf(interfaces=_with_multicast(wanted), ip_version=IPVersion.V4Only)
            self._network.register_service(self._service(), allow_name_change=True)
        except (OSError, RuntimeError, ValueError, Error) as failed:
            self.stop()
            return (
                f"{self.host} can't be announced on this network ({str(failed) or type(failed).__name__}); "
                f"set it in your router to this computer's address ({self._known()})"
            )
        return None

    def refresh(self) -> str | None:
        """Tell the network of changed addresses; see `start`."""
        if self._addresses() == self._told:
            return None
        self.stop()
        return self.start()

    def stop(self) -> None:
        """Say good-bye and close the sockets."""
        network, self._network = self._network, None
        if network:
            network.close()

    def _service(self) -> ServiceInfo:
        return ServiceInfo(
            "_https._tcp.local.",
            f"{self.host.removesuffix('.local')}._https._tcp.local.",
            port=self.port,
            addresses=[one.packed for one in self._told if isinstance(one, ipaddress.IPv4Address)],
            server=self.host + ".",
            properties={"path": "/app/"},
        )

    def _known(self) -> str:
        return ", ".join(str(one) for one in self._addresses() if one.version == 4) or "it has none yet"


def _with_multicast(addresses: list[str]) -> list[str]:
    """
    The addresses whose interface takes multicast, tried here because Zeroconf would leave its socket open.

    Raises OSError if there is none.
    """
    speaking, fault = [], OSError("no interface")
    for address in addresses:
        with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
            try:
                member = socket.inet_aton(_GROUP) + socket.inet_aton(address)
                probe.setsockopt(socket.IPPROTO_IP, socket.IP_ADD_MEMBERSHIP, member)
                speaking.append(address)
            except OSError as failed:
                fault = failed
    if not speaking:
        raise fault
    return speaking
