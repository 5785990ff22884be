"""The textbook formulas that growsim's processes are held against, held against printed values themselves."""

from __future__ import annotations

import pytest
from checks_table import PublishedChecks
from theory.formulas import Queue, erlang_b, load_at_blocking, machine_repair, mg1, mmc, saturated_line

BRONSON = "Bronson 1982, prob. {}, via IST Lisbon"
ANDERSON = "Anderson, Sweeney & Williams, prob. 29"


def figures(queue: Queue, *names: str) -> list[float]:
    """Some figures of a queue."""
    return [getattr(queue, name) for name in names]


@pytest.mark.parametrize(
    ("problem", "arrival_rate", "service_rate", "servers", "names", "printed", "within"),
    [
        ("23.3", 24.0, 30.0, 1, ("l", "w", "p0"), (4.0, 1 / 6, 0.2), 1e-4),
        ("23.14", 0.5, 1 / 1.5, 1, ("lq", "wq", "p0"), (2.25, 4.5, 0.25), 1e-4),
        ("23.16", 1.0, 1 / 0.75, 1, ("lq", "wq", "w"), (2.25, 2.25, 3.0), 1e-4),
        ("24.6", 0.3, 0.1825, 3, ("lq", "l", "wq", "w", "p0"), (0.352, 1.996, 1.175, 6.654, 0.17754), 5e-4),
    ],
)
def test_waiting_lines_of_a_problem_book(
    published_check: PublishedChecks,
    problem: str,
    arrival_rate: float,
    service_rate: float,
    servers: int,
    names: tuple[str, ...],
    printed: tuple[float, ...],
    within: float,
) -> None:
    """M/M/1 and M/M/3, as printed (24.6 with its years counted in thousandths: 300 and 182.5 a year)."""
    ours = figures(mmc(arrival_rate, service_rate, servers), *names)

    published_check.table(
        f"M/M/{servers} formula: {', '.join(names)}", BRONSON.format(problem), printed, ours,
        checks=mmc, within=within,
    )  # fmt: skip


def test_a_figure_that_problem_23_16_calls_by_the_wrong_name(published_check: PublishedChecks) -> None:
    """The page gives p0 = 0.178; an M/M/1 at 75 % is empty a quarter of the time. 0.178 is P(six or more)."""
    queue = mmc(1.0, 1 / 0.75, 1)

    published_check.differs(
        "M/M/1 formula: chance of nobody there", BRONSON.format("23.16"), 0.178, queue.p0, checks=mmc, by=0.07,
        why="0.178 is 0.75⁶, the chance of six or more",
    )  # fmt: skip
    assert round(0.75**6, 3) == 0.178


def test_a_calculator_handbooks_three_servers(published_check: PublishedChecks) -> None:
    """1.2 and 0.5 a minute: Wq 2.16, W 4.16, Lq 2.59, L 4.99, as printed; then to 1e-4 as computed elsewhere."""
    queue = mmc(1.2, 0.5, 3)

    published_check.table(
        "M/M/3 formula: Wq, W, Lq, L", "Trueman 1977 p. 512, via a calculator handbook", (2.16, 4.16, 2.59, 4.99),
        figures(queue, "wq", "w", "lq", "l"), checks=mmc, within=5e-3,
    )  # fmt: skip
    assert figures(queue, "wq", "w", "lq", "l", "chance_of_waiting") == pytest.approx(
        [2.1573, 4.1573, 2.5888, 4.9888, 0.6472], abs=1e-4
    )


def test_one_clerk_or_two_at_a_tool_crib(published_check: PublishedChecks) -> None:
    """1/4 and 1/3: L 3 with one clerk, 0.8727 with two (empty 0.4545); cost 10 a clerk and 15 a person who waits."""
    one, two = mmc(1 / 4, 1 / 3, 1), mmc(1 / 4, 1 / 3, 2)

    published_check.table(
        "M/M/1 against M/M/2: L, L, p0, cost, cost", "Georgia Tech ISyE 3044, homework 3, 2009",
        (3.0, 0.8727, 0.4545, 55.0, 33.09), (one.l, two.l, two.p0, 10 + 15 * one.l, 20 + 15 * two.l),
        checks=mmc, within=5e-3,
    )  # fmt: skip
    assert (two.l, two.p0) == pytest.approx((0.8727, 0.4545), abs=1e-4)


def test_two_servers_of_another_textbook(published_check: PublishedChecks) -> None:
    """20 and 30 an hour, two servers: empty half the time, 0.75 in the system."""
    queue = mmc(20.0, 30.0, 2)

    published_check.table(
        "M/M/2 formula: p0, L", "Render et al., alternative example 14.3", (0.5, 0.75), figures(queue, "p0", "l"),
        checks=mmc, within=1e-4,
    )  # fmt: skip


@pytest.mark.parametrize(("servers", "wq", "chance"), [(1, 9.0, 0.9), (2, 4.26316, 0.85263), (5, 1.52499, 0.76249)])
def test_busy_queues(servers: int, wq: float, chance: float) -> None:
    """Nine tenths busy, service 1. Computed apart from this code; no publication."""
    queue = mmc(0.9 * servers, 1.0, servers)

    assert (queue.wq, queue.chance_of_waiting) == pytest.approx((wq, chance), abs=1e-4)


def test_service_that_is_not_exponential(published_check: PublishedChecks) -> None:
    """0.375 an hour, mean 2 h: sd 1.5 h gives Lq 1.7578 and L 2.5078; sd 0 gives Lq 1.125 (Pollaczek-Khinchine)."""
    spread, fixed = mg1(0.375, 2.0, 1.5), mg1(0.375, 2.0, 0.0)

    published_check.table(
        "M/G/1 and M/D/1 formulas: Lq, L, Lq", ANDERSON, (1.7578, 2.5078, 1.125), (spread.lq, spread.l, fixed.lq),
        checks=mg1, within=1e-4,
    )  # fmt: skip
    assert mg1(0.8, 1.0, 0.0).wq == pytest.approx(mmc(0.8, 1.0, 1).wq / 2)


def test_erlang_b_table(published_check: PublishedChecks) -> None:
    """Load at which 1, 2 and 5 % are blocked, for 1 to 15 servers (one decimal is printed there)."""
    table = {
        1: (0.010, 0.020, 0.053), 2: (0.153, 0.223, 0.381), 3: (0.455, 0.602, 0.899),
        5: (1.361, 1.657, 2.218), 10: (4.461, 5.084, 6.216), 15: (8.108, 9.010, 10.633),
    }  # fmt: skip
    printed = [round(load, 1) for loads in table.values() for load in loads]
    ours = [load_at_blocking(share, n) for n in table for share in (0.01, 0.02, 0.05)]

    published_check.table(
        "Erlang B table (erlangs at 1, 2, 5 % blocking)", "*Carrier Grade Voice over IP*, app. A", printed, ours,
        checks=erlang_b, within=0.05,
    )  # fmt: skip
    assert ours == pytest.approx([load for loads in table.values() for load in loads], abs=6e-4)
    assert erlang_b(2.218, 5) == pytest.approx(0.05, abs=1e-4)


def test_machines_that_wait_for_a_repairer() -> None:
    """Six machines up 20 h, repaired in 2 h by one: computed apart from this code (inputs: Anderson et al., p. 497)."""
    found = machine_repair(6, 20.0, 2.0, 1)

    assert (found.p0, found.lq, found.l, found.wq, found.w) == pytest.approx(
        (0.48451, 0.32966, 0.84515, 1.27904, 3.27904), abs=1e-4
    )


@pytest.mark.parametrize(("repairers", "p0", "down", "w"), [(1, 0.3383, 1.3832, 4.181), (2, 0.4566, 0.7860, 2.179)])
def test_eight_machines(repairers: int, p0: float, down: float, w: float) -> None:
    """Eight of the same machines (inputs: the same book's exercise; answers computed apart from this code)."""
    found = machine_repair(8, 20.0, 2.0, repairers)

    assert (found.p0, found.l) == pytest.approx((p0, down), abs=1e-4)
    assert found.w == pytest.approx(w, abs=5e-4)


def test_a_web_solution_that_forgets_how_few_machines_there_are(published_check: PublishedChecks) -> None:
    """A page solves the eight machines as if new ones kept coming (M/M/1: L 4): with eight, 1.38 are down."""
    published_check.differs(
        "machines down of 8, one repairer", "brainmass.com/230350", 4.0, machine_repair(8, 20.0, 2.0, 1).l,
        "machines", checks=machine_repair, by=2.0, why="the page takes an infinite source of machines",
    )  # fmt: skip


def test_ten_machines_and_two_operators() -> None:
    """Run 86 min, adjusted in 14: computed apart from this code (inputs: an exercise of Stevenson's textbook)."""
    found = machine_repair(10, 86.0, 14.0, 2)

    assert (found.l, found.lq, found.availability) == pytest.approx((1.8564, 0.5307, 0.8144), abs=1e-4)


def test_a_line_without_room_between_stations() -> None:
    """2/3, 22/39, 0.5148, 0.4858 of the service rate. Hunt 1956, *Operations Research* 4 (from memory)."""
    assert [saturated_line(n) for n in (2, 3, 4, 5)] == pytest.approx([2 / 3, 22 / 39, 0.5148, 0.4858], abs=1e-4)


def test_a_queue_that_grows_for_ever_is_refused() -> None:
    """Two servers cannot serve two erlangs."""
    with pytest.raises(ValueError, match="outrun"):
        mmc(2.0, 1.0, 2)
