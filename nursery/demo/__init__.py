"""The demo nursery: invented from end to end, the same for a given seed and day.

`catalogue` is what the nursery grows; `outcome` is what becomes of a lot,
`history` what the staff do and write down about it; `bench` has the stock plants, `writer` the
sessions, `trials` the side-by-side trials in them; `basics` and `load` write it all, and `book`
tells a demo book from a real one; `pictures` draws its photos.
"""
