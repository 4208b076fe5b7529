"""JSON under ``/api``, one module per subject; each asks a lookup and shapes its answer.

- ``fit``: does this part fit
- ``engines``: engines, their needs, limits, fasteners, and what else would do
- ``parts``: one part
- ``card``, ``gauge``, ``tell_apart``, ``trace``, ``readings``: the mechanic's bench
- ``health``: whether the service can answer
- ``stock``, ``orders``, ``suppliers``, ``jobs``: what lies where and what is low; orders to suppliers and
  their terms; parts set aside
"""
