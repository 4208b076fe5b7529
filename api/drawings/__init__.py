"""Numbers turned into lines and arcs; templates render them. No database, no web, no files.

- ``picture``: a picture as strokes and labels in millimetres
- ``belt_drive``: the belt needed and the belt asked about in the pulleys of an engine
- ``ride``: where a worn belt now rides in its groove
- ``roller_circle``: rollers in their best order
- ``wear_plot``: readings over distance with limit, forecast and band
"""
