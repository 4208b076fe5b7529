"""The bench card of one engine and one job, put together from plain values.

- ``values``: what goes in (steps, stated fasteners, tools) and what comes out (the card)
- ``fasteners``: fasteners in the order of the job, every source that says something else, torque checked
- ``tools``: sockets, keys, torque wrenches, holders and the tools that steps name, against the shop's own
- ``steps``: steps with their cautions, and the figures that stand behind the cautions
- ``missing``: what is not known or not there, so that no job is started half-equipped
"""
