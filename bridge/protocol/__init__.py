"""Bytes to values and back: requests, frames, replies, codes. No I/O, no clock."""
