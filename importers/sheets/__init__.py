"""The kinds of sheets, declared: columns, what they may hold, references, where rows land.

- ``sheet``: what a kind of sheet is, and columns shared by several
- ``sources``: where values came from
- ``engines``: engines, features, vehicles, drives
- ``needs``: belts, rollers, springs, sizes, wear limits, fasteners
- ``parts``: parts, fits, replacements, trade names
- ``stock``: suppliers, offers, stock, demand
- ``service``: jobs, job steps, tools, symptoms and their causes
- ``catalogue``: all sheets of a catalogue folder in the order in which they are loaded
"""
