"""The genus of each kind of plant that the handbook knows."""

# By the kinds of the handbook (from memory).
GENERA = {
    **{
        f"{kind} begonia": "Begonia"
        for kind in ("rex", "rhizomatous", "cane", "shrub", "tuberous", "wax", "winter")
    },
    "african violet": "Streptocarpus",
    "pothos": "Epipremnum",
    "sansevieria": "Dracaena",
    **{
        kind: kind.capitalize()
        for kind in (
            *("coleus", "fuchsia", "gynura", "hoya", "impatiens", "kalanchoe", "pelargonium"),
            *("peperomia", "philodendron", "plectranthus", "sedum", "streptocarpus"),
            "tradescantia",
        )
    },
}


def genus_of(kind: str) -> str:
    """The genus of a kind of the handbook, where its name tells."""
    return GENERA.get(kind, "")
