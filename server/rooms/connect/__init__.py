"""Connect: the addresses of this server with a code to scan, and the devices that are in."""
