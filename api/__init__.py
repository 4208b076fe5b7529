"""The doors: command line, HTTP API and pages over the same lookups.

- ``app``: the one place that wires the web service together
- ``cli`` and ``commands/``: the command line
- ``settings``: what the environment says
- ``dependencies``: database sessions and checked texts for endpoints
- ``marks``: places in a list, as ``after`` hands them out
- ``access``, ``roles``, ``who_asks``, ``throttle``, ``cross_site``: who may do what
- ``middleware``: what every request passes: host, size of body, security headers, entity tags
- ``problems``: errors as problem details (RFC 9457)
- ``once``: postings under an ``Idempotency-Key``: done once, answered the same way each time
- ``postings``, ``receiving``, ``order_keeping``, ``supplier_keeping``, ``job_keeping``, ``decisions``: what
  somebody wrote by names, booked or kept
- ``scan_list``: what a scanner does to a list under way, for counting and receiving
- ``backtests``: a backtest over the web, bounded and one at a time
- ``waiting_room``, ``count_sheet``, ``count_rest``: what waits on the server between two pages
- ``waiting_import``: an uploaded sheet that waits, its look, its preview and its loading
- ``import_job``, ``import_process``, ``import_runner``, ``import_watch``: an import in a process of its own,
  followed and stopped
- ``remembered``: columns that were remembered, offered for the next file
- ``answers/``: the shapes of JSON answers, with examples
- ``routes/``: JSON under ``/api``
- ``pages/``, ``templates/``, ``static/``: pages for people
- ``drawings/``: numbers turned into lines and arcs to draw
"""
