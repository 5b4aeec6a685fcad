"""What commands do beyond parsing and printing: build, record, changes, what-if, compare, orders, new shops."""
