"""Which addresses this computer has on the shop's network, and whether a port is free."""

import ipaddress
import socket

import ifaddr

from bayflow.web.authority import Address, is_local

# Bridges and tunnels of virtual machines and private networks: phones can't reach them (common practice, no source).
_VIRTUAL = ("docker", "br-", "veth", "virbr", "vmnet", "vbox", "tun", "tap", "wg", "lo")


def lan_addresses() -> list[Address]:
    """This computer's private addresses on real network interfaces, loopback and link-local ones left out."""
    found: set[Address] = set()
    for adapter in ifaddr.get_adapters():
        if not adapter.nice_name.lower().startswith(_VIRTUAL):
            found |= {ipaddress.ip_address(ip.ip if isinstance(ip.ip, str) else ip.ip[0]) for ip in adapter.ips}
    return sorted((one for one in found if is_local(one) and not one.is_loopback and not one.is_link_local), key=str)


def port_fault(address: str, port: int) -> str | None:
    """Why nothing can listen on this address and port, as a sentence; None if it is free."""
    family = socket.AF_INET6 if ":" in address else socket.AF_INET
    with socket.socket(family, socket.SOCK_STREAM) as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)  # else a server just stopped would still count
        try:
            probe.bind((address, port))
        except (OSError, OverflowError) as failed:
            reason = getattr(failed, "strerror", None) or str(failed)
            return f"can't listen on port {port} of {address} ({reason}): stop what uses it, or choose another port"
    return None
