"""Where bytes come in and go out: serial, TCP, RFCOMM and BLE ports, the wire log."""
