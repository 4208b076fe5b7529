"""The only code that writes to the database. Callers hand over a writer session and commit.

- ``problem``: one thing wrong in a file, as data
- ``target``: how rows of a kind of sheet land in a table
- ``names``: ids of rows that are known by one name
- ``part_index``: ids of parts by maker and part number
- ``batches``: an import batch and its journal
- ``bulk``: many rows inserted at once
- ``catalogue``: rows of any kind of sheet compared with what is stored, then added or changed
- ``parts``, ``offers``, ``replacements``, ``demand``: what is particular to those sheets
- ``listed_parts``, ``listed_fits``: single lists: duplicates are asked for, better-founded values stay
- ``notices``: what an import tells besides problems, and its first changes
- ``readings``: machines of customers and lines of the bench book
- ``fasteners``: torques that do not suit their thread are told of
- ``money``: minor units of currencies
- ``stock``: the stock ledger: counted quantities booked as movements
- ``ledger``: receive, issue, return, move, count, write off; guarded by one conditional update
- ``set_aside``: parts set aside for a job on a machine
- ``count_batch``: many counted parts booked together
- ``receipt_batch``: a delivery of many parts booked together, with an order or without
- ``orders``: orders to suppliers, from draft to received
- ``supplier_terms``: what the shop writes down of a supplier's terms
- ``judgement``: what a person decides against the figures, with who and why
- ``demand_months``, ``stock_outs``: what the forecast needs, kept beside the ledger
- ``column_maps``: what the columns of somebody's lists mean, remembered for the next one
- ``idempotency``: postings that were answered already
- ``upsert``: INSERT for rows that may be there already
- ``undo``, ``undone_batch``, ``removal``: one import batch taken back
- ``access``: access keys and sign-ins
"""
