"""What a person tells: typed answers and lines read into events, and what is offered.

Here: the table of what may be told now, and readers of typed text. Not here: widgets,
and what an event does (bridge.session).
"""
