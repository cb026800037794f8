"""The phone page: one page on the local network that follows the job and takes marks.

Off unless asked for. The server runs in a thread and loop of its own (server); what it
shows comes from the newest snapshot (hub, message); who may ask is decided by
request_filter, pairing, limits and connections; what may be marked, by the table of
inputs (tui.inputs).
"""
