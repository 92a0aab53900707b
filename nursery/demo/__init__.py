"""The demo nursery: invented from end to end, the same for a given seed and day.

`catalogue` is what the nursery grows, `methods` how it cuts, `life` how a lot fares, `bench` the
stock plants and the sessions, `load` writes the book.
"""
