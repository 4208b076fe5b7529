"""Questions to the database; each answers with plain values, never with live rows.

- ``engines``: engines by code, nearest names, what is recorded of one
- ``needs``: what an engine needs at a position, and its drive
- ``parts``: parts by number, maker, GTIN; sizes as sources state them
- ``asked``: what a person's text means: a part, or a size
- ``fit``: does this part fit this engine
- ``alternatives``: what else would do
- ``replacements``: what replaced a part number
- ``shelf``: pieces on hand and prices of many parts at once
- ``scanned``: what a scanner read
- ``count_differences``: a count against the ledger
- ``engine_sheet``, ``part_sheet``: everything recorded of one engine, of one part
- ``vehicles``: the vehicles that engines sit in
- ``belt_drive``: where the belt needed and the belt asked about run, for drawing them
- ``card``, ``jobs``, ``ready_parts``: the bench card, jobs and shop tools, parts to have ready
- ``gauge``, ``roller_set``: may this worn part go back, may these odd rollers go in
- ``readings``: the bench book of a machine
- ``tell_apart``, ``trace``: which engine is it; what the rider says
- ``imports``, ``column_maps``: imports that were made; what the columns of lists mean, as remembered
- ``access``: who holds a key or a sign-in
- ``locations``: places that keep stock
- ``stock``: pieces by place, the ledger of a part, the value of the stock
- ``low_stock``: what to order and whom to ask; ``doubtful_groups`` finds the few parts worth judging;
  ``shelf_demand``, ``demand_history``, ``stocked_parts``, ``stock_outs`` and ``supplier_offers`` read what
  it needs
- ``order_draft``, ``orders``: what to order from each supplier; orders as they stand
- ``suppliers``: suppliers with their terms, those of a sheet and those written down
- ``judgement``: levels by hand and demand left out, with who and why
- ``machine_jobs``: jobs on machines, with the parts set aside
- ``backtest``: what the method would have done on the shop's own past
"""
