"""Published tables of the trade as data: each row keeps its own source, "from memory" where it is so.

Each table is a CSV file beside its module, read once when first asked for; this is the only room of the
knowledge base that reads files. A ``find_`` that lacks a row says None: nothing is filled in.

- ``package_csv``: rows of a table of this package
- ``hex_across_flats``: hexagons of nuts and heads by thread and standard
- ``hex_tolerances``: how far a hexagon may be below its nominal size
- ``socket_head_keys``: keys of socket screws
- ``inch_hexes``: inch tools, in millimetres, and their openings
- ``wrench_openings``: openings of metric tools
- ``proof_loads``: strength of screws by thread and property class
- ``generic_torques``: what a plain steel screw would bear; never the torque of a job
- ``threads``: metric threads, their listed pitches and stress areas
- ``bearings``: envelopes behind bearing codes
- ``o_rings``: inside diameter and section behind coded O-ring sizes
- ``heading_words``: what price lists and stock counts put above their columns
- ``trade_words``: what people at the counter call an article, by part type
"""
