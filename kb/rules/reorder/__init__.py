"""When to order what, and how much: decisions on plain numbers, no clock, no database.

Reading order:

- ``negative_binomial``: how probable a demand is; quantile and expected shortage
- ``season``: the riding season as twelve factors; months of exposure ahead
- ``demand_rate``: pieces a month of a part, pulled towards its part type
- ``demand_class``: smooth, erratic, intermittent or lumpy
- ``level``: protection time, stock level, reorder point, fill rate
- ``lot_size``: economic quantity, price breaks, minimum quantity, packs, caps
- ``joint_replenishment``: how often to order parts that share an order
- ``equivalents``: parts that stand in for each other; supersession one way
- ``offer_choice``: which supplier's offer to order by, and a quicker one
- ``supplier_minimum``: wait for free freight or not; topping an order up
- ``smallest_order``: below a supplier's smallest order nothing goes out
- ``stock_group``: everything known of a part and its equivalents at a location
- ``stock_line``: the shape of a line of the low-stock list; reasons and warnings as closed lists
- ``stock_sentence``: the same line as a sentence for people
- ``group_figures``: the figures of a group: stock, level, cover, quantity
- ``quick_look``: puts parts aside that surely have enough
- ``low_stock``: makes the line of a group, and ranks lines
- ``backtest``: what the levels would have done in the past, against simple rules
- ``equal_service``: what other rules would have to hold to serve as much
"""
