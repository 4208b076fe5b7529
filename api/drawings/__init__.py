"""Numbers turned into lines and arcs; templates render them. No database, no web, no files.

- ``picture``: a picture as strokes and labels in millimetres
- ``belt_drive``: the belt needed and the belt asked about in the pulleys of an engine
"""
