"""Does this part fit at this position: judged by size or geometry, weighed against fit records.

- ``values``: what goes in (asked size, needs, records) and comes out (reasons, consequences, verdict)
- ``settings``: every limit, with its default
- ``reasons``: the closed list of reason codes
- ``measuring``: how to measure what is missing
- ``findings``: what one judgement found, and how it is said
- ``belt``, ``belt_wording``, ``belt_consequences``: belts, by size and through the drive
- ``rollers``, ``springs``, ``fastener``, ``envelope``: the other judged positions
- ``judge``: which rule decides at which position
- ``weigh``: records against size and geometry
- ``verdict``: needs, drive and records of one place put together
- ``rank``: alternatives, best first
- ``reading_size``: from a reading of a written size to numbers and positions
- ``sentence``: the verdict said in plain words
- ``shape``: the verdict as JSON answers show it
"""
