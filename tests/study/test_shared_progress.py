"""Progress of a study told as one: never back, and at its end when the study is."""

from __future__ import annotations

from growsim.run.progress import SharedProgress


def told(shared: SharedProgress, seen: list[tuple[int, int]], *rounds: int) -> list[tuple[int, int]]:
    """What is told while these rounds are lived through, one rehearsal after the other."""
    begin = len(seen)
    for number in rounds:
        tell = shared.more(number)
        for done in range(1, number + 1):
            tell(done, number)
    return seen[begin:]


def test_rounds_follow_one_another() -> None:
    """Rehearsals of a later round are counted on from those before; what is spared is taken off the whole."""
    seen: list[tuple[int, int]] = []
    shared = SharedProgress(lambda done, total: seen.append((done, total)), 6)

    assert told(shared, seen, 2) == [(1, 6), (2, 6)]
    shared.spare(2)
    assert told(shared, seen, 2) == [(3, 4), (4, 4)]


def test_the_end_is_not_told_before_what_comes_last() -> None:
    """Ten in all, of which four come last for certain; a search of ten instead of six does not end at ten of ten."""
    seen: list[tuple[int, int]] = []
    shared = SharedProgress(lambda done, total: seen.append((done, total)), 10, sure=4)

    search = told(shared, seen, 5, 5)
    assert max(done / total for done, total in search) < 1.0
    assert search[-1] == (10, 14)
    shared.then(0)
    assert told(shared, seen, 4)[-1] == (14, 14)


def test_the_share_told_never_falls() -> None:
    """Nor where a round is larger than all that was thought to come, or fewer are needed after all."""
    seen: list[tuple[int, int]] = []
    shared = SharedProgress(lambda done, total: seen.append((done, total)), 20, sure=5)

    told(shared, seen, 12, 40, 1)
    shared.then(30)
    told(shared, seen, 3)
    shared.then(2)
    told(shared, seen, 5)
    shared.then(0)
    assert told(shared, seen, 2)[-1] == (63, 63)
    shares = [done / total for done, total in seen]
    assert shares == sorted(shares)
    assert shares.index(1.0) == len(shares) - 1
