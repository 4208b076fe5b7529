"""The complete schema: importing this module defines every table.

Needed where tables are made, compared or walked through; a question that names its tables gets them one by
one from ``kb.tables.columns.get_table``, which keeps short commands quick.
"""

from kb.tables import access, bench, engines, look_up, needs, orders, parts, service, sources, stock

__all__ = ["access", "bench", "engines", "look_up", "needs", "orders", "parts", "service", "sources", "stock"]
