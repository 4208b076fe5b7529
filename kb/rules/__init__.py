"""Decisions on plain values: no database, no clock, no files. Today is an argument.

- ``access``: what a role opens, and until when a key holds
- ``source``: where a value came from and how sources rank
- ``fit/``: does this part fit at this position, what changes, how sure is that
- ``gauge``: may this worn part go back; ``gauge_meaning``: what is felt inside the limit
- ``said_figures``: numbers in sentences, with no more figures than stand behind them
- ``wear_series``: readings over time, remaining distance
- ``tell_apart``: which of these look-alike engines is it, and what to measure next
- ``card/``: the bench card put together
- ``roller_set``: odd rollers, their order and balance
- ``reading_value``, ``machine_label``, ``vehicle_match``, ``tell_apart_facts``: what people type, made ready
- ``trace``: from what the rider says to likely causes
- ``tools/``: sockets, torque wrenches, stand-ins, cautions
- ``currency``: decimals of currencies
- ``word_list``: several names in one phrase
- ``match/``: finding the row that a question describes
- ``reorder/``: what to order, how much, why
"""
