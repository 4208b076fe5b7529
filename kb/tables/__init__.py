"""The stored tables (SQLModel).

- ``columns``: checks, references and constraint names shared by all tables; a table by its name
- ``schema``: all of them at once, where the schema must be complete
- ``sources``: sources, import batches, what a batch changed
- ``engines``: families, engines, features, vehicles, drives
- ``needs``: belts, rollers, springs, bearings and seals, wear limits, fasteners that engines ask for
- ``parts``: makers, parts, what each source says of a part, fit records, replacements, trade names
- ``stock``: suppliers, offers, places, stock ledger, demand
- ``orders``: orders to suppliers, parts set aside for a machine, requests answered already
- ``look_up``: the look-up's index: tokens, keys, vocabulary
- ``access``: access keys and sign-ins
- ``demand_rows``: the rows that demand by month is the sum of
- ``bench``: machines of customers, and what was measured on them over time
- ``service``: jobs, steps, tools, symptoms and their causes

Every fact row points at its source and at the import batch that wrote it. A value that another source
states differently is another row: nothing overwrites silently.
"""
