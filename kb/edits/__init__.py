"""The only code that writes to the database. Callers hand over a writer session and commit.

- ``problem``: one thing wrong in a file, as data
- ``target``: how rows of a kind of sheet land in a table
- ``names``: ids of rows that are known by one name
- ``part_index``: ids of parts by maker and part number
- ``batches``: an import batch and its journal
- ``bulk``: many rows inserted at once
- ``catalogue``: rows of any kind of sheet compared with what is stored, then added or changed
- ``parts``, ``offers``, ``replacements``, ``demand``: what is particular to those sheets
- ``money``: minor units of currencies
- ``stock``: the stock ledger: counted quantities booked as movements
- ``undo``, ``undone_batch``, ``removal``: one import batch taken back
"""
