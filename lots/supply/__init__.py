"""What is there and what will come: the one answer, by variety and pot size.

Here now are the finished pots that lots hold. To come are the pots that are not finished yet and
are expected to be (`ToCome`): those that grow, and, told apart, those to be made of what stands in
cells. These go into the size that such lots went into before, or have no size yet. Both follow
every record at once; only the bands are as old as the newest fit.

`stock` reads it, `weeks` counts it by ISO week, `listing` by variety and size, `targets` serves
from it what is wanted; `need` says how many units to stick for what is wanted.
"""

from lots.stockplants.pieces import Gift
from lots.supply.listing import SupplyLine, lines
from lots.supply.need import CONFIDENCE, Answer, Asked, Price, how_many, prices
from lots.supply.offer import Offer, mondays, offers
from lots.supply.stock import OfLot, finished, of_lot
from lots.supply.targets import Served, close, served
from lots.supply.wanted import next_wanted, over, usual_confidence
from lots.supply.weeks import Outlook, Week, ahead, lots_of, monday_of, weeks

__all__ = [
    "CONFIDENCE",
    "Answer",
    "Asked",
    "Gift",
    "OfLot",
    "Offer",
    "Outlook",
    "Price",
    "Served",
    "SupplyLine",
    "Week",
    "ahead",
    "close",
    "finished",
    "how_many",
    "lines",
    "lots_of",
    "monday_of",
    "mondays",
    "next_wanted",
    "of_lot",
    "offers",
    "over",
    "prices",
    "served",
    "usual_confidence",
    "weeks",
]
