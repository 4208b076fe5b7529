"""Copies of a database that are verified before they count, and putting one back.

- ``sealed_file``: one file that holds a copy, its manifest and the digest of both
- ``sqlite_copy``: a consistent copy of a SQLite database in use, and its place taken by another
- ``postgres_dump``: the same for PostgreSQL, by its own programs
- ``contents``: rows by table, and whether all holds that must
- ``make``: a backup, from copy to sealed file
- ``restore``: a sealed file back to a database
"""
