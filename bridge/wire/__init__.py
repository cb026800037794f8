"""Bytes to and from the adapter: port, exchange, link, poller."""
