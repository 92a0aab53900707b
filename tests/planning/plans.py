"""Small plans by chance, and what is wrong with a plan: worked out from the words of the rules,
with nothing of the solver."""

import numpy as np

from lots.planning.problem import Choice, Plants, Problem, Want


def random_problem(
    seed: int, wants: int = 2, weeks: int = 3, most: int = 3, kinds: int = 1, groups: int = 2
) -> Problem:
    """Wants of a few units, few plants, little room."""
    rng = np.random.default_rng(seed)
    made = []
    for _want in range(wants):
        best = int(rng.integers(0, weeks))
        units = int(rng.integers(1, most + 1))
        choices = tuple(
            Choice(
                week,
                units + (week > best and units < most),
                week + int(rng.integers(0, 2)),
                (week + 1, week + 2),
                float(rng.choice([0.01, 0.02])),
                float(week - best),
            )
            for week in range(weeks)
            if rng.random() < 0.8
        )
        made.append(
            Want(
                int(rng.integers(1, 9)),
                int(rng.integers(kinds)),
                int(rng.integers(1, 3)),
                float(rng.choice([10.0, 15.0])),
                choices,
            )
        )
    plants = []
    for _group in range(groups):
        count, first = int(rng.integers(1, 3)), int(rng.integers(0, 2))
        ready = np.where(np.arange(weeks) < first, 0, count)
        plants.append(
            Plants(
                int(rng.integers(kinds)),
                int(rng.integers(1, 5)),
                int(rng.integers(1, 4)),
                bool(rng.random() < 0.3),
                ready,
                ready,
            )
        )
    room = {
        "flats": rng.choice([0.0, 1.0, 2.0, np.inf], weeks),
        "minutes": rng.choice([0.0, 20.0, 45.0, np.inf], weeks),
        "pot_area": rng.choice([0.03, 0.1, np.inf], weeks),
    }
    return Problem(made, plants, room, np.full(weeks, 2), rng.choice([0.0, 30.0], weeks))


def wrong(problem: Problem, units: dict, cuts: dict) -> list[str]:
    """What a plan breaks of the rules, in words; nothing where it keeps them."""
    says = []
    weeks = len(problem.cells)
    flats, minutes, area = np.zeros(weeks), np.zeros(weeks), np.zeros(weeks)
    pieces: dict[tuple[int, int], int] = {}
    for (n, week), count in units.items():
        want = problem.wants[n]
        [choice] = [each for each in want.choices if each.week == week]
        if count < 0 or count > choice.units:
            says.append(f"want {n}: {count} units in week {week}")
        if week in want.barred and count:
            says.append(f"want {n} is barred in week {week}")
        whole = int(np.ceil(count / problem.cells[week]))
        for on in range(week, min(choice.bench, weeks - 1) + 1):
            flats[on] += whole
        for on in range(choice.grows[0], min(choice.grows[1], weeks - 1) + 1):
            area[on] += choice.area * count
        minutes[week] += want.minutes * count
        pieces[want.kind, week] = pieces.get((want.kind, week), 0) + want.pieces * count
    for name, used in (("flats", flats), ("minutes", minutes), ("pot_area", area)):
        for week in np.flatnonzero(used > np.maximum(problem.room[name], 0) + 1e-6):
            says.append(f"{name} of week {week}: {used[week]} of {problem.room[name][week]}")
    for n, want in enumerate(problem.wants):
        for week, count in want.fixed.items():
            if units.get((n, week), 0) != count:
                says.append(f"want {n}: not the {count} that are settled in week {week}")
    given: dict[tuple[int, int], int] = {}
    for g, group in enumerate(problem.plants):
        own = {week: count for (of, week), count in cuts.items() if of == g}
        for week, count in own.items():
            if count > group.may[week]:
                says.append(f"plants {g}: {count} cut in week {week}")
            given[group.kind, week] = given.get((group.kind, week), 0) + group.pieces * count
        for week in range(weeks):
            resting = sum(own.get(cut, 0) for cut in range(week - group.rest + 1, week + 1))
            if resting > group.ready[week] and resting:
                says.append(f"plants {g}: {resting} cut or at rest in week {week}")
    for key, needed in pieces.items():
        if needed > given.get(key, 0):
            says.append(f"kind and week {key}: {needed} pieces of {given.get(key, 0)}")
    return says


def spent(problem: Problem, units: dict, cuts: dict, watched: bool = True) -> float:
    """What a plan costs, from the words of `lots.planning.problem`: in pots; or without what it
    costs that pieces come of plants on watch."""
    total, minutes = 0.0, np.array(problem.already, dtype=float)
    for n, want in enumerate(problem.wants):
        share = 0.0
        for choice in want.choices:
            count = units.get((n, choice.week), 0)
            share += count / choice.units
            pots = want.pots * count / choice.units
            total += pots * (choice.off if choice.off > 0 else -0.02 * choice.off)
            if want.before and choice.week not in want.before:
                total += 0.005 * pots
            if choice.bench >= choice.week:
                total += 0.2 * int(np.ceil(count / problem.cells[choice.week]))
            minutes[choice.week] += want.minutes * count
        total += 100 * want.pots * max(1 - share, 0)
    total += 0.001 * sum(cuts.values())
    for kind in {want.kind for want in problem.wants} if watched else ():
        wants = [want for want in problem.wants if want.kind == kind]
        a_piece = [w.pots / (c.units * w.pieces) for w in wants for c in w.choices]
        for week in range(len(minutes)):
            needed = sum(
                problem.wants[n].pieces * count
                for (n, at), count in units.items()
                if at == week and problem.wants[n].kind == kind
            )
            sound = sum(
                problem.plants[g].pieces * count
                for (g, at), count in cuts.items()
                if at == week and problem.plants[g].kind == kind and not problem.plants[g].watch
            )
            total += 30 * max(needed - sound, 0) * min(a_piece, default=0)
    for week in range(1, len(minutes)):
        total += 0.02 / 60 * abs(minutes[week] - minutes[week - 1])
    return total
