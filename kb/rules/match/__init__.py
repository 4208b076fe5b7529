"""Look-up of parts by number, size and wording: the pure half, without a database.

Rows and questions are turned into the same typed tokens; a store fetches rows by exact tokens; the
score here decides the order and how sure the answer is. "Sure" means that the row is the one the
question describes. It never means that the part fits an engine.

- ``normal``: one spelling of any text: case, accents, dashes, decimal commas
- ``numbers``: sizes with their units as number tokens, inch marks included
- ``spoken``: numbers said in words
- ``phrases``: what an article is called: phrase table and concept codes
- ``spelling``: shortened, misspelt, misheard, joined and split words
- ``part_number``: keys of part numbers, and the search for one wrong character
- ``tokens``: the shapes that pass between the modules
- ``rows``: a catalogue row as index keys
- ``question``: a question as weighted groups of tokens
- ``store``: what a database has to offer
- ``score``: score, order and certainty of the rows found
- ``explain``: why a row was found, in words
- ``near``: rows of nearly the asked size, kept apart from the answers
- ``places``: a row that says another place, or a left-hand thread that was not asked for
- ``threads``: the thread of a nut that is asked for without its M
- ``look_up``: the whole procedure
- ``trade``: the analyser with this trade's words
- ``items``: several articles asked for in one question
- ``note``, ``note_codes``: all the codes that a pasted note holds

Source of weights and limits: measured on generated catalogues (judgement of this project).
"""
