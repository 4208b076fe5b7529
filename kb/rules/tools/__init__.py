"""Which tool does the job, how to set it, and what to be careful of: pure decisions on plain values.

The maker's manual for the machine overrides everything here.

- ``owned_tool``: a tool of the shop; metric and inch sizes told apart
- ``inch_for_metric``: may this inch tool stand in for the metric one
- ``fit_tools``: which owned tool fits a fastener, or what may stand in
- ``torque_band``: a stored torque with what was printed and nothing invented
- ``torque_wrench``: which torque wrench, set to what
- ``torque_limiting_bar``: may a torque-limiting bar be used before the torque wrench
- ``crowfoot``: setting of the wrench with an offset adapter
- ``lubrication``: a dry torque on an oiled thread
- ``torque_sanity``: is a stored torque plausible for its thread
- ``hand``: direction of a thread; unknown prints a caution
- ``cautions``: the closed catalogue of cautions
"""
