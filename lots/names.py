"""Plant names as the cultivated-plant code writes them: genus and epithet in italics, the
cultivar upright in single quotes, × for hybrids, a trade designation upright without quotes."""

type Runs = tuple[tuple[str, bool], ...]


def runs(
    genus: str, species: str = "", hybrid: bool = False, cultivar: str = "", trade_name: str = ""
) -> Runs:
    """The name as pieces of text, each with whether it is set in italics."""
    pieces: list[tuple[str, bool]] = [(genus, True)]
    if hybrid:
        pieces.append((" × " if species else " ×", False))
        if species:
            pieces.append((species, True))
    elif species:
        pieces[0] = (f"{genus} {species}", True)
    if cultivar:
        pieces.append((f" ‘{cultivar}’", False))
    if trade_name:
        pieces.append((f" {trade_name}", False))
    return tuple(pieces)


def plain(name: Runs) -> str:
    return "".join(text for text, _ in name)
