"""Physics of the rubber belt drive: pure functions on plain numbers, no stored data, no clock.

- ``plausible_input``: refusal of numbers that cannot be measured
- ``belt_length``: length of an open belt, its inverses, wrap angles, outside/pitch/inside length
- ``wedge``: how gap, width and angle move a belt in its groove
- ``drive_range``: lowest and highest ratio of a belt in given pulleys, with every limit state
- ``lost_gap``: top speed after worn width or a restrictor washer
- ``fit_class``: the four classes of a size comparison
- ``belt_code_comparison``: two belts compared by their sizes alone
- ``belt_geometry_comparison``: two belts compared in the same pulleys
- ``shift_force``: axial forces in the drive and the engine speed that holds a position
- ``rollers``: mean mass, balance and best arrangement of a roller set
- ``clutch``: centrifugal clutch: engagement, torque, lock-up, springs
- ``contra_spring``: rate, force, preload loss and coil bind
- ``road_speed``: tyre diameter, rolling circumference, road speed
- ``normal_scatter``: quantiles of the normal and of Student's t distribution
- ``wear_reading``: readings of a part and the shape of a projection
- ``wear_line``, ``wear_robust``, ``wear_bounds``: remaining distance from readings, three ways
- ``wear``: which of them suits the readings at hand
"""
