"""Written sizes and codes of the trade, one module per notation: ``parse_`` text to value, ``format_`` back.

A parser gives a frozen reading or raises ``BadNotation`` with one reason of ``kb.terms.Refusal``; it
raises nothing else, whatever the text. What is not written stays None.

- ``reading``: what all readings share: flags, the raw text, how numbers are written, how refusals are worded
- ``cleanup``: look-alike characters, decimal commas, misread digits
- ``belt``: belt sizes such as 788-17-28
- ``belt_wide``: wide V-belts such as W25-800
- ``belt_inch``: inch variable-speed belts such as 1922V282
- ``roller``: roller sizes such as 16x13 6.5g
- ``thread``: metric threads such as M10x1.25
- ``engine``: stamped engine designations such as 139QMB
- ``tyre``: tyre sizes such as 120/70-12 51L
- ``gtin``: article numbers with a check digit, and what a scanner sends
- ``torque``: torques such as 8-12 N.m
- ``bearing``: bearing codes such as 6202-2RS C3
- ``seal``: oil seals such as TC 20x35x7
- ``o_ring``: O-rings such as 15x2 or AS568-013
- ``spring``: clutch springs such as 3 x 1500 rpm, contra springs such as L0=90 d=4 D=50 n=6
- ``part_number``: part numbers compared without their punctuation
- ``maker``: maker names compared without case and punctuation
- ``read``: any of these by kind, or by form when the kind is not given
"""
