"""JSON under ``/api``, one module per subject; each asks a lookup and shapes its answer.

- ``fit``: does this part fit
- ``engines``: engines, their needs, limits, fasteners, and what else would do
- ``parts``: one part
- ``health``: whether the service can answer
"""
