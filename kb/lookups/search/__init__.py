"""Look-up of parts, engines and vehicles by number, size and wording, over SQLite or PostgreSQL.

- ``find``: the question and its answer
- ``read_as``: how a question was understood, in words and as fields
- ``rows``: what is shown of the rows found
- ``analyser``: the analyser of a process with the vocabulary of now
- ``store``: what both databases have in common
- ``store_sqlite``, ``store_postgres``: candidates by full text and by keys
- ``ahead_postgres``: one statement for what a question is likely to ask of PostgreSQL
- ``token_counts``: how common tokens are, so that a search starts at the rarest
- ``verify``: whether the index says what the rows say
- ``for_engine``: parts listed for the engine or vehicle that a question names
- ``worth_a_look``: parts that may do, by description and size, where only fit records decide
"""
