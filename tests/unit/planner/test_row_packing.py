"""Fewest rows: against brute force, with proof, and without growing with the count."""

from functools import lru_cache

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lampwright.errors import OutOfRangeError
from lampwright.planner.packing import pack


def fewest_by_trying(sizes, counts, capacity):
    """Return the fewest rows by trying every way to fill a row with the first light left in it."""

    @lru_cache(None)
    def rows(left):
        first = next((at for at, have in enumerate(left) if have), None)
        if first is None:
            return 0
        best = sum(left)

        def fill(at, room, row):
            nonlocal best
            if at == len(left):
                rest = tuple(have - takes for have, takes in zip(left, row, strict=True))
                best = min(best, 1 + rows(rest))
                return
            for amount in range(min(left[at], room // sizes[at]), 0 if at == first else -1, -1):
                fill(at + 1, room - amount * sizes[at], (*row, amount))

        fill(first, capacity, (0,) * first)
        return best

    return rows(tuple(counts))


def held(packing, kinds):
    return [sum(pattern[kind] * times for pattern, times in packing.patterns) for kind in range(kinds)]


SMALL = st.integers(1, 4).flatmap(
    lambda kinds: st.tuples(
        st.lists(st.integers(1500, 3600), min_size=kinds, max_size=kinds),
        st.lists(st.integers(0, 5), min_size=kinds, max_size=kinds),
        st.integers(3600, 12000),
    )
)


@settings(max_examples=150, deadline=None)
@given(SMALL)
def test_small_cases_are_the_fewest_and_proved(case):
    sizes, counts, capacity = case
    packing = pack(sizes, counts, capacity)
    assert packing.proved
    assert packing.rows == packing.bound == fewest_by_trying(sizes, counts, capacity)
    assert held(packing, len(sizes)) == counts
    for pattern, times in packing.patterns:
        assert times > 0
        assert sum(size * takes for size, takes in zip(sizes, pattern, strict=True)) <= capacity


MANY = st.integers(2, 6).flatmap(
    lambda kinds: st.tuples(
        st.lists(st.integers(1700, 3500), min_size=kinds, max_size=kinds, unique=True),
        st.lists(st.integers(1, 3000), min_size=kinds, max_size=kinds),
        st.sampled_from([4500, 7000, 9600, 20000]),
    )
)


@settings(max_examples=60, deadline=None)
@given(MANY)
def test_many_lights_are_all_held_within_bounds(case):
    sizes, counts, capacity = case
    packing = pack(sizes, counts, capacity)
    assert held(packing, len(sizes)) == counts
    assert packing.bound <= packing.rows == sum(times for _, times in packing.patterns)
    total = sum(size * count for size, count in zip(sizes, counts, strict=True))
    assert packing.rows >= -(-total // capacity)
    # The answer stays small whatever the count.
    assert len(packing.patterns) < 40


@given(st.integers(1, 3000), st.integers(2, 30000))
def test_one_kind_is_a_division(count, capacity_tenths):
    size = 2000
    capacity = size + capacity_tenths
    packing = pack([size], [count], capacity)
    assert packing.proved
    assert packing.rows == -(-count // (capacity // size))


@given(st.permutations(range(4)))
def test_the_order_of_kinds_changes_nothing(order):
    sizes, counts = [2000, 2100, 3000, 3200], [7, 9, 5, 8]
    packing = pack([sizes[at] for at in order], [counts[at] for at in order], 9600)
    assert packing.rows == pack(sizes, counts, 9600).rows


def test_nothing_to_pack():
    assert pack([2000], [0], 9000).rows == 0


def test_a_light_larger_than_a_row():
    with pytest.raises(OutOfRangeError):
        pack([2000, 9001], [1, 1], 9000)
    assert pack([2000, 9001], [1, 0], 9000).rows == 1


def test_without_effort_the_answer_is_sound_and_says_that_it_is_not_proved():
    sizes, counts = [2503, 2099, 1811, 3307, 2971], [9, 11, 7, 10, 8]
    quick = pack(sizes, counts, 9973, effort=0)
    assert held(quick, 5) == counts
    assert quick.bound <= quick.rows
    assert quick.proved == (quick.bound == quick.rows)
    assert pack(sizes, counts, 9973).proved


def test_equal_questions_get_equal_answers():
    case = ([1700, 2200, 2900, 3300], [123, 45, 678, 90], 11000)
    assert pack(*case) == pack(*case)


# Regression: sizes, counts, capacity and our own earlier rows, each proved by its bound then.
PROVED = [
    ((2626, 3473, 2846), (1957, 1900, 2130), 4500, 5987),
    ((3451, 2902, 2088, 2078, 3346, 2748), (1998, 2629, 2564, 812, 435, 1879), 4500, 8629),
    ((2321, 1990, 1885), (2256, 2890, 2648), 7000, 2598),
    ((1785, 2919, 2511, 2627, 3039, 3213), (2571, 2712, 695, 2602, 111, 2214), 7000, 4636),
    ((1829, 1821, 1773), (829, 1040, 2506), 9600, 875),
    ((1761, 3293, 2650, 2368, 2602, 2910), (850, 2176, 1007, 2672, 1254, 2097), 9600, 2882),
    ((2533, 2828, 3420, 1870, 3149, 2220), (1341, 990, 2150, 1233, 171, 337), 10800, 1618),
    ((2491, 1836, 1734, 3435, 3102, 1701), (924, 909, 264, 1975, 1587, 2953), 20000, 1060),
    ((3294, 3082, 2252, 2389, 1878, 2337), (1412, 112, 1729, 533, 601, 1059), 45000, 306),
]


@pytest.mark.parametrize(("sizes", "counts", "capacity", "rows"), PROVED)
def test_thousands_of_lights_are_packed_with_proof(sizes, counts, capacity, rows):
    packing = pack(sizes, counts, capacity)
    assert packing.rows == rows
    assert packing.proved
    assert held(packing, len(sizes)) == list(counts)


def test_ten_thousand_lights_of_six_kinds_take_little_effort():
    sizes, counts = [1750, 1980, 2150, 2420, 3010, 3240], [1900, 2100, 1500, 1300, 1700, 1500]
    packing = pack(sizes, counts, 9600, effort=20_000)
    assert packing.proved
    assert held(packing, 6) == counts


@pytest.mark.parametrize(
    ("sizes", "counts", "capacity"),
    [
        # Found by trying: here the linear program's bound is a row too low, and searching has to prove it.
        ((57, 37, 22, 33, 52), (1, 5, 5, 3, 5), 106),
        ((41, 15, 43, 24, 32, 38), (4, 5, 3, 5, 1, 3), 76),
    ],
)
def test_a_bound_that_no_packing_meets_is_proved_by_search(sizes, counts, capacity):
    packing = pack(sizes, counts, capacity)
    assert packing.proved
    assert packing.rows == fewest_by_trying(sizes, counts, capacity)
    hasty = pack(sizes, counts, capacity, effort=60)
    assert not hasty.proved
    assert hasty.bound < hasty.rows
