"""Who may speak to this server: hosts, origins, paired devices, and what pages may load."""
