"""The knowledge of the parts counter: what is known, what follows from it, and how it is kept.

Reading order, from what knows nothing to what knows all:

- ``terms``: the closed word lists (outcome, position, part type ...)
- ``errors``: what can go wrong, in sentences for people
- ``units``: conversions, exact
- ``standards/``: published tables as data, each row with its source
- ``notation/``: one module per written form of a size or code
- ``mechanics/``: physics of the belt drive, plain functions on plain numbers
- ``rules/``: decisions on plain values: fit, wear, tools, reorder, match
- ``tables/``: the stored tables
- ``migrations/``, ``database``, ``migrate``: the schema's history and the connection
- ``entries``: parts and engines as the look-up's index reads them, for writing and for verifying alike
- ``lookups/``: questions to the database
- ``edits/``: the only code that writes
- ``backup/``: verified copies of a database, and putting one back
"""
