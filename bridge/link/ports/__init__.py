"""Where bytes come in and go out: serial and TCP ports, speeds, the wire log."""
