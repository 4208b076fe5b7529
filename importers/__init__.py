"""From files to the database: reading, checking, reporting, loading all or nothing.

Catalogue folders and what all loading shares:

- ``limits``, ``row_groups``: sizes above which nothing is read; rows on their way, many at a time
- ``csv_records``, ``files``: text files of cells; CSV read strictly, with the line numbers an editor shows
- ``columns``: what a cell may hold, and the sentence that says what is wrong with it
- ``rows``: one line of a file turned into checked values
- ``sheets/``: the kinds of sheets, declared
- ``report``: what an import did, file by file
- ``run``: sheets from anywhere into the database in one piece
- ``load``: the door: a catalogue folder into a database

Single files as shops and suppliers have them:

- ``table_form``: encoding, cell separator, decimal sign, order of dates
- ``text_rows``, ``workbook_rows``, ``table``: rows of CSV and TSV, of XLSX and ODS, of either
- ``workbook_check``, ``workbook_child``, ``number_mark``: workbooks checked, then read in a process apart
- ``cell_marks``, ``plain_marks``, ``workbook_marks``, ``ods_marks``, ``number_formats``: formulas, zeros,
  currencies of single cells
- ``layout``: where the heading stands; what is no row of the table
- ``headings``: which column a heading stands for, with a certainty
- ``mapping``: what the columns of a supplier's file mean, kept as TOML
- ``next_file``: what of a mapping holds for the next file, and how its heading line differs
- ``plan``: how a file is going to be read, and what has to be asked before
- ``local_numbers``, ``local_money``, ``local_cells``: numbers, prices, dates as the file writes them
- ``described``: sizes and part types read out of descriptions
- ``adapted_sheet``, ``mapped_rows``: a kind of sheet and the rows of a file, brought together
- ``sheet_file``: the door: look at a file, load it, hand back what was refused

The write itself is done by ``kb.edits``.
"""
