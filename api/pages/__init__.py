"""Pages for people; each asks the same lookup as its JSON twin. Templates loop and branch, no more.

- ``templates``: the template environment, words for outcomes, and the page for errors
- ``counter``: the counter page: what is in your hand, and does it fit
- ``engines``: the list of engines, and the sheet of one
- ``parts``: the sheet of one part
- ``sizes``: fields of a size put together to one written size
- ``count``: counting stock with a scanner
- ``imports``, ``import_columns``: a file step by step: columns, preview, loading
- ``import_batches``: an import that was made: taking it back, remembering its columns
- ``bench``: what the pages of the bench share, and their start page
- ``card``, ``gauge``, ``tell_apart``, ``trace``, ``readings``: the mechanic's bench
- ``stock``, ``part_stock``, ``stock_figures``, ``orders``, ``suppliers``, ``jobs``, ``labels``: the shelf,
  with every figure explained; ``decisions``: levels by hand, demand left out
"""
