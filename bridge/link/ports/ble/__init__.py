"""Bluetooth Low Energy: who is heard, which of its services is a line, the port."""
