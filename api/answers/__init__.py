"""The shapes of JSON answers, with examples out of the demo catalogue. Fields may be added to any answer.

- ``shape``: what all answers share
- ``problem``: errors
- ``fit``: verdicts and alternatives
- ``engines``: engines, and everything recorded of one
- ``parts``: everything recorded of one part
- ``stock``, ``backtest``: stock, orders, the reorder method on the past
"""
