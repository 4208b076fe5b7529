"""From files to the database: reading, checking, reporting, loading all or nothing.

See the module list in this folder's docstrings; the write itself is done by ``kb.edits``.
"""
