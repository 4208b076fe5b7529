"""One module per command; each holds ``command``.

- ``options``: the options that every command takes, opening the database
- ``printing``: coloured on a terminal, plain in a pipe
- ``fit``, ``alternatives``: fit questions
- ``card``, ``gauge``, ``rollers``, ``tell_apart``, ``trace``, ``readings``: the mechanic's bench
- ``read``: reading one code
- ``import_``: catalogue folders and sheets
- ``serve``, ``demo``: the pages and the API
- ``check``: verifying the database
- ``backup``, ``restore``: copies of the database
- ``key``: access keys
- ``low_stock``, ``order_draft``, ``backtest``: what to reorder and why; the past played again
"""
