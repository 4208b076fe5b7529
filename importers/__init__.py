"""From files to the database: reading, checking, reporting, loading all or nothing.

- ``files``: CSV files read strictly, row by row, with the line numbers that an editor shows
- ``columns``: what a cell may hold, and the sentence that says what is wrong with it
- ``rows``: one line of a file turned into checked values
- ``sheets/``: the kinds of sheets, declared
- ``report``: what an import did, file by file
- ``run``: sheets from anywhere into the database in one piece
- ``load``: the door: a catalogue folder into a database

The write itself is done by ``kb.edits``.
"""
